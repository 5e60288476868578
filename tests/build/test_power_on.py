"""What a board stores when it comes up: the reset at power-on, and what stands either way.

Outside: the function table of the 74LS74 data sheet (CLR low makes Q low whatever the clock is;
without clock, set or clear Q stays as it was), and common practice, no source: a resistor to +5
and some microfarads to ground on a CLR pin clear a chip when the supply comes up.
"""

from __future__ import annotations

import numpy as np

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.parts.vocabulary import PartsVocabulary

BOARD = """board "power on"
rail +5 5V 5%
rail +24 24V 10%
R4 1k 5% D GND
R5 1k 5% CK GND
U1 74LS74 1=CLR 2=D 3=CK 4=+5 5=Q 7=GND 14=+5
R1 4k7 5% +5 CLR
C1 electrolytic {farads} volts=16V CLR GND
R2 1k 5% Q BASE
Q1 2N3904 c=OUT b=BASE e=GND
R3 1k 5% +24 OUT
state rest
"""


def world(farads: str = "10uF") -> Compiled:
    return compile_board(read_board(BOARD.format(farads=farads), PartsVocabulary()))


def row(board: Compiled, fault: str) -> int:
    return next(k for k, one in enumerate(board.faults) if one.id == fault)


def test_an_empty_capacitor_clears_what_no_clock_ever_sets() -> None:
    q = world().volts("rest", ["U1.5"])
    assert q.mean[0, 0] < 0.4
    assert np.isnan(q.other[0, 0])


def test_without_the_capacitor_it_may_come_up_either_way() -> None:
    board = world()
    q = board.volts("rest", ["U1.5"])
    at = row(board, "C1 open")
    both = sorted([q.mean[at, 0], q.other[at, 0]])
    assert both[0] < 0.4
    assert both[1] > 2.7  # the least VOH of the data sheet


def test_a_capacitor_that_is_full_before_the_supply_is_up_clears_nothing() -> None:
    q = world("10nF").volts("rest", ["U1.5"])
    assert np.isfinite(q.other[0, 0])


def test_either_way_has_a_spread_of_its_own() -> None:
    """Off, OUT is as uncertain as the rail; on, as a saturated transistor: tenths of a volt."""
    board = world("10nF")
    out = board.volts("rest", ["net OUT"])
    by_volts = sorted(
        [(out.mean[0, 0], out.spread[0, 0]), (out.other[0, 0], out.other_spread[0, 0])]
    )
    (on, narrow), (off, wide) = by_volts
    assert on < 0.4
    assert off > 20.0
    assert narrow < 0.2
    assert wide > 0.5
