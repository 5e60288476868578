"""Small boards with a stepping motor on them, compiled once in a run."""

from functools import lru_cache

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.parts.vocabulary import PartsVocabulary

FOUR = """\
board "four phases"
rail +24 24V
rail +5 5V
offsheet [A-D] drive 74LS
R[1-4] 1k [A-D] B[1-4]
Q[1-4] TIP120 c=P[1-4] b=B[1-4] e=GND
D[1-4] 1N4002 a=P[1-4] k=+24
J1 connector [1-4]=P[1-4] 5=+24
L[1-4] winding 60 inductance=60mH J1/[1-4] J1/5
S1 switch +5 HOME
R5 1k HOME GND
U1 74LS04 1=HOME 2=TOLD
output "home" level TOLD
state rest [A-D]=low S1=open
state one A=high B=low C=low D=low S1=open
state two A=low B=high C=low D=low S1=open
state three A=low B=low C=high D=low S1=open
state four A=low B=low C=low D=high S1=open
state home [A-D]=low S1=closed
"""


@lru_cache(maxsize=4)
def compiled(text: str = FOUR) -> Compiled:
    """The world of a board."""
    return compile_board(read_board(text, PartsVocabulary()))
