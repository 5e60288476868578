"""What was told against what was true, counted on paper."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from benchmarks.reliability import alike, some_of

from halfsplit.trial.reliability import (
    at_verdicts,
    on_the_way,
    reliability,
    reliability_svg,
    table,
)
from halfsplit.trial.report import Outcome


def outcome(suspect: str, *named: tuple[str, float], visible: str = "volts") -> Outcome:
    return Outcome(fault="x", suspect=suspect, visible=visible, named=named, led=named[:1])


def test_statements_are_right_when_all_they_name_is_wrong() -> None:
    played = [
        outcome("R1", ("R1", 0.85), ("R2", 0.1)),
        outcome("R1 + Q2", ("Q2", 0.6), ("Q2 + R1", 0.3), ("Q2 + R9", 0.05)),
        outcome("R1", ("R1", 0.99), visible=""),
    ]
    assert at_verdicts(played) == [
        (0.85, True, 1.0), (0.1, False, 1.0), (0.6, True, 1.0), (0.3, True, 1.0),
        (0.05, False, 1.0),
    ]  # fmt: skip
    assert on_the_way(played) == [(0.85, True, 1.0), (0.6, True, 1.0), (0.99, True, 1.0)]


def test_bins_by_hand() -> None:
    """Nine of ten told 85 % were right; standard error sqrt(0.85 * 0.15 / 10)."""
    said = [(0.85, True, 1.0)] * 9 + [(0.85, False, 1.0), (1.0, True, 1.0), (0.0, False, 1.0)]
    low, middle, high = reliability(said)
    assert (low.count, low.right, low.high) == (1, 0.0, 0.05)
    assert (middle.low, middle.count, middle.right) == (0.8, 10, 0.9)
    assert middle.error == pytest.approx(0.11292, abs=1e-5)
    assert (high.count, high.right) == (1, 1.0)
    assert " 80% to  90%                   10   90.0%" in table((low, middle), ())


def test_a_common_case_counts_for_more() -> None:
    """Three of four by weight, and 4^2 / (3^2 + 1) = 1.6 equal ones: two."""
    common, rare = outcome("R1", ("R1", 0.85)), outcome("R1", ("R2", 0.89))
    played = alike([replace(common, weight=0.3), replace(rare, weight=0.1)])
    assert sum(one.weight for one in played) == pytest.approx(2.0)
    (found,) = reliability(at_verdicts(played))
    assert found.right == pytest.approx(0.75)
    assert found.count == 2
    assert found.told == pytest.approx(0.86)


def test_the_drawing_puts_right_over_told() -> None:
    bins = reliability([(0.5, True, 1.0), (0.5, False, 1.0)])
    root = ET.fromstring(reliability_svg(bins, bins, "A & B"))
    space = "{http://www.w3.org/2000/svg}"
    dots = {one.get("class"): one for one in root.iter(f"{space}circle")}
    whole = float((root.get("viewBox") or "").split()[2])
    for dot in dots.values():
        assert float(dot.get("cx", 0)) == pytest.approx(whole / 2.0)
        assert float(dot.get("cy", 0)) == pytest.approx(whole / 2.0)
    assert set(dots) == {"said", "way"}
    assert root.findtext(f"{space}title") == "A & B"


def test_suspects_of_some_names_only() -> None:
    told = outcome("C2", ("C2", 0.85), ("R1", 0.1))
    assert some_of(told, "C", None).named == (("C2", 0.85),)
    assert some_of(told, "", "C|SW").named == (("R1", 0.1),)
    assert some_of(told, "", None) == told
