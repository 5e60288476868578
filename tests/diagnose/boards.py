"""Small boards for the lessons of the bench, compiled once, and cases told on them."""

from __future__ import annotations

from functools import lru_cache

from tests.build.worlds import world

from halfsplit.checks.catalogue import parse_check
from halfsplit.checks.kind import Limits, Meter
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.session import Session

CHANNEL = """\
board "one channel"
rail +5 5V 5%
rail +24 24V 10% ohms=0.5
U1 7406 1=INA 2=DRA ; socketed ; spare ; price 1
R1 2k2 5% +5 DRA
Q1 2N2222 c=EA b=DRA e=GND ; spare
R2 680 5% +5 EA
Q2 TIP120 c=CA b=EA e=GND ; spare
D1 1N4002 a=CA k=+24
J2 connector 1=CA 2=+24
L1 winding 56 J2/1 J2/2
offsheet INA drive 74LS
output "phase A pulls" current L1 above 150mA
state idle INA=low
state hold INA=high
"""

BUFFER = """\
board "a bus line"
rail +5 5V 5%
U1 74LS125 1=nE 2=IN 3=BUS ; price 1 ; spare
U2 74LS04 1=BUS 2=OUT ; price 1 ; spare
R1 4k7 5% +5 BUS
offsheet nE drive 74LS
offsheet IN drive 74LS
offsheet OUT load 74LS 1
output "line" level OUT
state up IN=high nE=low
state down IN=low nE=low
state released IN=low nE=high
"""

LATCH = """\
board "four phases behind one latch"
rail +5 5V 5%
U1 74LS175 1=RST [4,5,12,13]=P[A-D] 9=CK [2,7,10,15]=Q[A-D] ; price 1
U2 74LS04 1=QA 2=NA 3=QB 4=NB 5=QC 6=NC 9=QD 8=ND ; price 1
R15 4k7 5% +5 RST
C1 electrolytic 22uF RST GND
offsheet P[A-D] drive 74LS
offsheet CK drive 74LS
offsheet N[A-D] load 74LS 1
output "A" level NA
output "B" level NB
output "C" level NC
output "D" level ND
state one P[A-D]=high pulse CK
"""

SUPPLY = """\
board "a rail and its load"
rail RAW 9.5V 15% ohms=0.4
F1 fuse 2A RAW IN ; spare
U1 7805 in=IN gnd=GND out=+5 ; spare ; price 1
C1 tantalum 10uF +5 GND
J1 connector 1=+5 2=GND
R9 12 5% J1/1 J1/2 watts=5
output "+5 present" volts +5 above 4.75
state loaded
state bare J1=out
"""

SENSOR = """\
board "home position"
rail +5 5V 5%
J3 connector 1=LEDA 2=GND 3=SENS
SL1 slotted-sensor a=J3/1 k=J3/2 c=J3/3 e=J3/2
R9 220 5% +5 LEDA
R10 10k 5% +5 SENS
R11 10k 1% +5 REF
R12 10k 1% REF GND
U4 LM393 3=REF 2=SENS 1=HOME ; spare ; price 1
R14 4k7 5% +5 HOME
output "home" level HOME
state clear SL1=clear
state home SL1=blocked
"""


@lru_cache(maxsize=8)
def _catalogue(text: str) -> Catalogue:
    return Catalogue(world(text), Meter())


def case(text: str, *told: tuple[str, str], limits: Limits | None = None) -> Session:
    """The session after some checks, by their ids, and what was typed."""
    catalogue = _catalogue(text)
    session = Session.start(world(text), Meter(), limits, catalogue=catalogue)
    return more(session, *told)


def more(session: Session, *told: tuple[str, str]) -> Session:
    """The session after some more."""
    for name, typed in told:
        check = parse_check(name, session.world)
        reading = session.catalogue.kind(check.kind).read(check, typed, session.world)
        session = session.enter(check, reading)
    return session


def fault_shares(session: Session) -> dict[str, float]:
    """Fault id -> probability; something else last."""
    names = [*(fault.id for fault in session.world.faults), "something-else"]
    return dict(zip(names, session.p.tolist(), strict=True))


def odds(before: Session, after: Session, one: str, other: str) -> float:
    """How many times the odds of one fault against another rose."""
    first, then = fault_shares(before), fault_shares(after)
    return (then[one] / then[other]) / (first[one] / first[other])
