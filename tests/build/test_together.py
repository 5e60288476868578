"""Two faults at once, solved with what is known of the good board, against solving from nothing."""

from dataclasses import replace

import numpy as np
from tests.build.worlds import number, world

from halfsplit.build.together import both

BOARD = """
board "X"
rail +5 5V 5%
R1 10k 5% +5 A
R2 10k 5% A GND
R3 2k2 5% +5 B
Q1 2N3904 c=B b=BASE e=GND
R4 22k 5% A BASE
R5 1k 5% B C
R6 4k7 5% C GND
state on
"""


def test_what_is_known_of_the_good_board_changes_nothing() -> None:
    board = world(BOARD)
    pairs = [
        (number(board, one), number(board, other))
        for one, other in (("R1 open", "R6 open"), ("R2 open", "R5 short"))
    ]
    places = ["net A", "net B", "net C"]
    board.volts("on", places)
    kept = both(board, pairs)
    assert kept is not None
    assert both(board, pairs) is kept
    fresh = replace(kept, like=None, _sweep=None, _states={})
    one, other = kept.volts("on", places), fresh.volts("on", places)
    np.testing.assert_array_equal(one.mean, other.mean)
    np.testing.assert_array_equal(one.spread, other.spread)
    assert np.abs(one.mean[1:] - one.mean[0]).max() > 1.0
