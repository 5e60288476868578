"""Stage against stage: functions by truth table, delays, violations; records laid together."""

from __future__ import annotations

import numpy as np
import pytest
from tests.waves.lines import lines_of_cycle
from tests.waves.played import ONE_ON

from halfsplit.errors import UnknownName, WaveError
from halfsplit.waves.align import align, shifted
from halfsplit.waves.function import apply, function_named
from halfsplit.waves.line import Line, line_of_changes, merge
from halfsplit.waves.stage import check_stage, first_bad


def square(name: str, period: float, stop: float = 1.0, delay: float = 0.0) -> Line:
    times = np.append(0.0, np.arange(period / 2, stop - delay, period / 2) + delay)
    return line_of_changes(name, times, (np.arange(len(times)) % 2).astype(float), stop)


A, B = square("A", 0.02), square("B", 0.04)

GATES = {
    "and": "0001", "nand": "1110", "or": "0111", "nor": "1000", "xor": "0110", "xnor": "1001",
}  # fmt: skip
"""Truth tables by IEC 60617-12, outputs for the codes 0 to 3."""


@pytest.mark.parametrize(("name", "table"), GATES.items())
def test_gates_have_the_truth_tables_of_the_standard(name: str, table: str) -> None:
    assert function_named(name, 2).outputs == table
    out = apply(function_named(name, 2), [A, B], "Y")
    both = merge([A, B, out])
    assert {code & 3: code >> 2 for code in both.codes.tolist()} == {
        code: int(bit) for code, bit in enumerate(table)
    }


def test_a_decoder_is_one_truth_table_an_output() -> None:
    # One of four, active low (74139 data sheet, function table): Y2 is low for B A = 1 0.
    out = apply(function_named("1101", 2), [A, B], "Y1")
    at = np.array([0.001, 0.011, 0.021, 0.031])
    assert out.at(at).tolist() == [True, True, False, True]
    # An output that does not matter keeps the value before.
    kept = apply(function_named("10x1", 2), [A, B], "Y")
    assert kept.at(at).tolist() == [True, False, False, True]


def test_a_good_stage_is_right_and_its_delays_are_measured() -> None:
    late = square("Y", 0.02, delay=3e-5)
    found = check_stage("U1", [A], late, function_named("buffer", 1))
    assert found.good
    assert found.rise == pytest.approx(3e-5)
    assert found.fall == pytest.approx(3e-5)
    assert "right" in found.words
    slow = check_stage("U1", [A], late, function_named("buffer", 1), 1e-5)
    assert not slow.good
    assert len(slow.violations) == len(late.edges)


def without(line: Line, pulse: int) -> Line:
    start, stop = line.pulses(True)[pulse]
    return Line(
        name="Y", start=line.start, stop=line.stop, first=line.first,
        edges=line.edges[(line.edges != start) & (line.edges != stop)],
    )  # fmt: skip


def late_to_fall(line: Line, by: float) -> Line:
    return Line(
        name="Y", start=line.start, stop=line.stop, first=False,
        edges=line.edges + np.where(np.arange(len(line.edges)) % 2 == 1, by, 0.0),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("output", "verdict"),
    [
        (A.inverted(), "inverted"),
        (line_of_changes("Y", np.array([0.0]), np.array([0.0]), 1.0), "stuck low"),
        (line_of_changes("Y", np.array([0.0]), np.array([1.0]), 1.0), "stuck high"),
        (without(A, 4), "missing"),
        (without(A.inverted(), 4).inverted(), "extra"),
        (late_to_fall(A, 4e-3), "late to fall"),
        (B, "wrong"),
    ],
)
def test_a_bad_stage_is_named(output: Line, verdict: str) -> None:
    good = check_stage("U1", [A], A, function_named("buffer", 1))
    found = check_stage("U2", [A], output, function_named("buffer", 1))
    assert found.verdict == verdict
    assert found.violations
    assert first_bad([good, found]) is found
    assert first_bad([good]) is None


def test_a_violation_has_its_time() -> None:
    (one,) = check_stage("U2", [A], without(A, 4), function_named("buffer", 1)).violations
    assert one.time == pytest.approx(0.01 + 4 * 0.02)
    assert one.span == pytest.approx(0.01)
    assert not one.level


def test_what_was_not_exercised_is_not_called_right() -> None:
    still = line_of_changes("A", np.array([0.0]), np.array([0.0]), 1.0)
    found = check_stage("U1", [still], still, function_named("buffer", 1))
    assert found.verdict == "not exercised"
    assert not found.good
    assert first_bad([found]) is None


def test_records_are_laid_over_each_other(rng: np.random.Generator) -> None:
    lines = lines_of_cycle(ONE_ON, rng)
    moved = [shifted(line, 0.7123) for line in lines]
    found = align(lines, moved)
    assert found.shift == pytest.approx(-0.7123, abs=2e-5)
    assert found.agreement > 0.99
    assert not found.rivals


def test_a_sequence_that_repeats_has_rivals() -> None:
    found = align([A], [shifted(A, 0.005)])
    assert found.rivals
    assert all(
        abs(r - found.shift) / 0.02 == pytest.approx(round(abs(r - found.shift) / 0.02), abs=0.1)
        for r in found.rivals
    )


def test_mistakes_are_said() -> None:
    with pytest.raises(WaveError, match="expected a truth table of 4"):
        function_named("10", 2)
    with pytest.raises(UnknownName, match="nand"):
        function_named("nnd", 2)
    with pytest.raises(WaveError, match="does not take 2"):
        function_named("inverter", 2)
    with pytest.raises(WaveError, match="as many lines"):
        align([A], [A, B])
