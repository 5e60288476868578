"""Phase lines to steps: published sequences, every line fault, and records that tell nothing."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.waves.lines import lines_of_cycle
from tests.waves.played import HALF, LINE_FAULTS, ONE_ON, TWO_ON

from halfsplit.errors import HalfsplitError, WaveError
from halfsplit.waves.account import Account, account
from halfsplit.waves.line import Line, line_of_changes
from halfsplit.waves.sequences import Sequence, orders, sequences

with (Path(__file__).parents[1] / "truth" / "step_sequences.csv").open(encoding="utf-8") as _file:
    PUBLISHED = [(r["name"], int(r["phases"]), r["codes"].split()) for r in csv.DictReader(_file)]

published = pytest.mark.parametrize(
    ("name", "phases", "codes"), PUBLISHED, ids=[f"{n} {p}" for n, p, _ in PUBLISHED]
)


@published
def test_published_sequences_are_known(name: str, phases: int, codes: list[str]) -> None:
    """By some order of the wires and some beginning, either way round, it is one of ours."""
    numbers = [int(code[::-1], 2) for code in codes]
    (ours,) = (one for one in sequences(phases) if one.name == name)
    assert any(
        numbers in _turned([_rewired(code, order) for code in ours.codes])
        for order in orders(phases, phases)
    )


@published
def test_published_sequences_are_recognised(
    name: str, phases: int, codes: list[str], rng: np.random.Generator
) -> None:
    low = name == "half step"
    lines = lines_of_cycle(codes, rng)
    found = account(
        [line.inverted() if low else line for line in lines], phases=phases, active_low=low
    )
    assert found.explanation.kind == "right"
    assert found.found.best.sequence.name == name
    assert found.found.best.sequence.phases == phases
    assert found.ledger.forward + found.ledger.backward == 30 + 20 + 9
    assert [abs(move.net) for move in found.ledger.moves] == [30, 20, 9]
    assert found.ledger.moves[0].net * found.ledger.moves[1].net < 0
    assert not found.ledger.oddities


@pytest.mark.parametrize("cycle", [ONE_ON, TWO_ON, HALF], ids=["one on", "two on", "half"])
@pytest.mark.parametrize("fault", LINE_FAULTS)
def test_every_line_fault_is_named(cycle: list[str], fault: str, rng: np.random.Generator) -> None:
    which = (1, 2) if fault.startswith("shorted") or fault == "swapped" else (1,)
    found = account(
        lines_of_cycle(cycle, rng, fault=fault, which=which),
        phases=4, active_low=False, order_known=True,
    )  # fmt: skip
    said = found.explanation
    wanted = {"none": "right"}.get(fault, fault.partition(",")[0])
    lines = () if wanted in ("right", "reset") else tuple("ABCD"[i] for i in which)
    assert (wanted, lines) in [(said.kind, said.lines), *said.also], said.words
    assert said.kind == wanted


@pytest.mark.parametrize("cycle", [TWO_ON, HALF], ids=["two on", "half"])
@pytest.mark.parametrize("pair", [(0, 1), (2, 3), (0, 2)])
def test_swapped_wires_are_told_apart_when_the_direction_is_known(
    cycle: list[str], pair: tuple[int, int], rng: np.random.Generator
) -> None:
    lines = lines_of_cycle(cycle, rng, fault="swapped", which=pair, moves=(12,))
    said = account(lines, order_known=True, first_way=1).explanation
    found = [(said.kind, said.lines), *said.also]
    assert ("swapped", tuple("ABCD"[i] for i in pair)) in found
    # Exchanging A with C, or B with D, turns the direction round and does nothing else.
    assert len(found) == (2 if pair in ((0, 2), (1, 3)) else 1)


def test_order_of_wires_is_found(rng: np.random.Generator) -> None:
    lines = lines_of_cycle(HALF, rng)
    shuffled = [lines[i] for i in (0, 2, 1, 3)]
    found = account(shuffled, phases=4)
    assert found.explanation.kind == "right"
    ring = found.to_json()["order"]
    assert isinstance(ring, list)
    assert {frozenset(pair) for pair in zip(ring, ring[1:] + ring[:1], strict=True)} == {
        frozenset("AB"), frozenset("BC"), frozenset("CD"), frozenset("DA")
    }  # fmt: skip
    assert account(shuffled, phases=4, order_known=True).explanation.kind == "swapped"


def test_one_line_may_be_missing_from_the_record(rng: np.random.Generator) -> None:
    lines = lines_of_cycle(ONE_ON, rng)[:3]
    found = account(lines)
    assert found.explanation.kind == "right"
    assert found.found.best.sequence.phases == 4
    assert found.to_json()["order"] == ["A", "B", "C", "?"]


def test_two_lines_of_a_bipolar_motor(rng: np.random.Generator) -> None:
    found = account(lines_of_cycle(TWO_ON, rng)[:2])
    assert found.explanation.kind == "right"
    assert found.ledger.forward + found.ledger.backward == 59


def test_rates_and_ramp_are_those_played(rng: np.random.Generator) -> None:
    found = account(lines_of_cycle(ONE_ON, rng, moves=(40,), jitter=0.0, ramp=4), phases=4)
    (move,) = found.ledger.moves
    # Played at 4 ms a step, the first and last four slower by 3/4, 1/2, 1/4 and none beyond.
    assert move.top_rate == pytest.approx(250.0, rel=0.02)
    assert move.start_rate == pytest.approx(1 / (4e-3 * 1.75), rel=0.02)
    assert move.ramp == 3
    assert move.settle == pytest.approx(0.04, rel=0.02)


def test_an_illegal_state_has_its_time(rng: np.random.Generator) -> None:
    lines = lines_of_cycle(ONE_ON, rng, jitter=0.0, ramp=0, moves=(40,))
    begin = float(lines[2].pulses(True)[3, 0])
    odd = lines[0]
    at = np.searchsorted(odd.edges, begin + 1e-3)
    edges = np.insert(odd.edges, at, [begin + 1e-3, begin + 3e-3])
    lines[0] = Line(
        name="A", start=odd.start, stop=odd.stop, first=odd.first, edges=edges, resolution=0.0
    )
    found = account(lines)
    (one,) = [o for o in found.ledger.oddities if o.kind == "illegal"]
    assert one.time == pytest.approx(begin + 1e-3, abs=1e-4)
    assert one.span == pytest.approx(2e-3, rel=0.05)
    assert one.code == "1010"
    assert one.expected == "0010"
    assert one.lines == ("A",)


def line(name: str, *edges: float, stop: float = 1.0) -> Line:
    times = np.array([0.0, *edges])
    return line_of_changes(name, times, (np.arange(len(times)) % 2).astype(float), stop)


def test_records_that_tell_nothing_say_so() -> None:
    with pytest.raises(WaveError, match="none of A, B has an edge"):
        account([line("A"), line("B")])
    with pytest.raises(WaveError, match="identical"):
        account([line("A", 0.1, 0.2), line("B", 0.1, 0.2)])
    with pytest.raises(WaveError, match="2 to 5 phase lines, got 1"):
        account([line("A", 0.1)])
    with pytest.raises(WaveError, match=r"time runs backwards, from 0\.2 s to 0\.1 s"):
        line_of_changes("A", np.array([0.0, 0.2, 0.1]), np.array([0.0, 1.0, 0.0]))
    with pytest.raises(WaveError, match="levels 0 and 1, got 5"):
        line_of_changes("A", np.array([0.0, 0.2]), np.array([0.0, 5.0]))
    late = line_of_changes("B", np.array([2.0, 2.5]), np.array([0.0, 1.0]), 3.0)
    with pytest.raises(WaveError, match="at the same time"):
        account([line("A", 0.1, 0.2), late])


def test_a_clock_too_slow_is_said(rng: np.random.Generator) -> None:
    slow = 3e-3
    lines = []
    for one in lines_of_cycle(ONE_ON, rng):
        at = np.arange(0.0, one.stop, slow)
        lines.append(line_of_changes(one.name, at, one.at(at).astype(float), one.stop, slow))
    with pytest.raises(WaveError, match=r"too slow to resolve a step.*every 0\.003 s"):
        account(lines)


@settings(max_examples=30)
@given(st.data())
def test_only_our_own_errors(data: st.DataObject) -> None:
    moments = st.lists(st.floats(0.0, 1.0), max_size=12)
    lines = []
    for name in "ABCD"[: data.draw(st.integers(1, 4))]:
        times = data.draw(moments)
        values = data.draw(st.lists(st.integers(0, 1), min_size=len(times), max_size=len(times)))
        try:
            lines.append(line_of_changes(name, np.array(times), np.array(values, float), 1.0))
        except HalfsplitError:
            return
    try:
        found = account(lines, order_known=data.draw(st.booleans()))
    except HalfsplitError:
        return
    assert isinstance(found, Account)
    assert found.explanation.words
    assert found.to_json()["verdict"]


def _turned(codes: list[int]) -> list[list[int]]:
    both = [codes, codes[::-1]]
    return [one[i:] + one[:i] for one in both for i in range(len(one))]


def _rewired(code: int, order: tuple[int, ...]) -> int:
    return sum((code >> phase & 1) << i for i, phase in enumerate(order))


def test_share_of_time_on() -> None:
    # Two of four phases on: each for half of the time.
    assert Sequence(phases=4, on=(2,)).on_share() == 0.5
    assert Sequence(phases=4, on=(1, 2)).on_share() == pytest.approx(3 / 8)
