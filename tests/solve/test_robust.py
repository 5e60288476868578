"""Every fault of thirteen circuits comes out, and what has no one answer says so.

Drivers, bridges, supplies, comparators with hysteresis, latches, rings, a long TTL chain, CMOS,
a sensor, gates, Schmitt inputs, amplifiers, relays: the boards of this folder. What is expected of
each is any textbook's: a latch of two gates keeps either state, a ring of an odd number of
inverters has no rest.
"""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.edges import ADRIFT
from halfsplit.build.sweep import StateResult
from halfsplit.parts.vocabulary import PartsVocabulary

BOARDS = Path(__file__).parent / "boards"
NAMES = sorted(path.stem for path in BOARDS.glob("*.board"))


@lru_cache
def world(name: str) -> Compiled:
    text = (BOARDS / f"{name}.board").read_text(encoding="utf-8")
    return compile_board(read_board(text, PartsVocabulary()))


def fault(name: str, wanted: str) -> int:
    return [found.id for found in world(name).faults].index(wanted)


def at(name: str, state: str, net: str) -> tuple[StateResult, int]:
    made = world(name)
    return made.result(state), made.assembly.net_node[net]


def test_there_are_boards_of_every_sort() -> None:
    assert len(NAMES) >= 10
    assert {"rings", "latch", "comparators", "chain", "cmos", "regulators", "bridge"} <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_fault_in_every_state_comes_out(name: str) -> None:
    made = world(name)
    assert len(made.faults) > 100
    for state in made.board.states:
        done = made.result(state.name)
        left = [made.faults[k].id for k in np.flatnonzero(~done.resolved)]
        assert left == [], f"unresolved in {state.name}"
        assert np.isfinite(done.nominal).all()
        assert np.isfinite(done.ohms).all()


def test_a_latch_that_was_never_put_has_both_states() -> None:
    done, node = at("latch", "woken", "Q")
    levels = sorted((done.nominal[node, 0], done.other[node, 0]))
    assert levels[0] < 0.5
    assert levels[1] > 2.4
    done, node = at("latch", "cleared", "Q")  # held by its input: one state only
    assert done.nominal[node, 0] < 0.5
    assert np.isnan(done.other[node, 0])


def test_a_comparator_within_its_hysteresis_has_both_answers() -> None:
    """By hand: with 10 kilohm and 10 kilohm from 12 V, and 220 kilohm from an output of 12 V
    behind 4.7 kilohm or of 0.1 V: REF is 6.13 V or 5.87 V, on either side of the 6 V at IN."""
    done, node = at("comparators", "at_edge", "REF")
    levels = sorted((done.nominal[node, 0], done.other[node, 0]))
    assert levels == pytest.approx([5.87, 6.13], abs=0.02)
    for state in ("below", "above"):
        done, node = at("comparators", state, "REF")
        assert np.isnan(done.other[node, 0])


def test_a_ring_is_told_as_one_that_may_oscillate() -> None:
    """Five inverters in a ring: neither level, with a spread that covers both."""
    done, node = at("rings", "ring", "A")
    assert 0.5 < done.nominal[node, 0] < 2.4
    assert done.spread[node, 0] > 0.5
    done, node = at("rings", "held", "A")  # one input of the NAND low: no ring
    assert done.nominal[node, 0] > 2.4
    assert done.spread[node, 0] < 0.5
    # the inverter between stuck: the ring is open
    done, node = at("rings", "ring", "A")
    stuck = fault("rings", "U1 4 stuck low")
    assert done.spread[node, stuck] < 0.5


def test_a_floating_node_is_told() -> None:
    done, node = at("cmos", "both", "FL")
    assert done.ohms[node, fault("cmos", "R1 open")] > ADRIFT
    made = world("cmos")
    numbers = made.volts("both", ["net FL", "net P2"])
    assert numbers.floating[fault("cmos", "R1 open"), 0]
    assert not numbers.floating[0, 1]


def test_a_level_between_is_kept_as_one_and_spreads() -> None:
    """A bridge between a high and a low TTL output settles where neither level holds, below 2 V;
    what comes behind is uncertain, and its spread says so."""
    made = world("chain")
    done, _ = at("chain", "zero", "N1")
    between = [
        k
        for k, found in enumerate(made.faults)
        if found.mode == "bridged"
        and ((done.nominal[:, k] > 0.8) & (done.nominal[:, k] < 2.0)).any()
    ]
    assert between
    behind = done.spread[:, between].max(axis=0)
    assert (behind > done.spread[:, 0].max()).any()


@pytest.mark.parametrize(
    ("state", "high"), [("falling", False), ("rising", True), ("high", False), ("low", True)]
)
def test_a_schmitt_input_keeps_what_it_was_between_its_thresholds(state: str, high: bool) -> None:
    """1.2 V lies between the 0.8 V and 1.6 V of the 74LS14 (data sheet, typical): the output is
    what it was before, high after 0 V and low after 3 V."""
    done, node = at("schmitt", state, "Y")
    assert bool(done.nominal[node, 0] > 2.4) is high
    assert np.isnan(done.other[node, 0])


def test_a_schmitt_input_that_woke_between_its_thresholds_has_both_outputs() -> None:
    done, node = at("schmitt", "first", "Y")
    assert sorted((done.nominal[node, 0], done.other[node, 0])) == pytest.approx(
        [0.2, 4.2], abs=0.4
    )


def test_a_schmitt_oscillator_may_oscillate() -> None:
    """An inverter with a resistor from output to input and a capacitor at the input (any book)."""
    done, node = at("schmitt", "high", "OSC")
    assert done.spread[node, 0] > 0.5
    open_loop = fault("schmitt", "R2 open")
    assert done.spread[node, open_loop] < 0.5
