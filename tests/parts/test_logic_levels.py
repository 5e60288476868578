"""Typical chips keep the limits of their families' data sheets (``tests/truth/logic_levels.csv``).

Columns: for VOL and VOH ``at`` is the load current, for IOS the output voltage, for IIL and IIH
the input voltage, for VIK the current pulled out of the input, for OPEN the meter's resistance.
"""

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from halfsplit.board.model import Part
from halfsplit.parts._logic_families import FAMILIES
from halfsplit.parts.logic import KINDS, LogicChip
from halfsplit.solve.law import Element

TRUTH = Path(__file__).parents[1] / "truth"


def rows(name: str) -> list[dict[str, str]]:
    with (TRUTH / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


LEVELS = rows("logic_levels.csv")
THRESHOLDS = rows("logic_thresholds.csv")


def chip_with(family: str, drive: str) -> LogicChip:
    """Some chip of that family with that output; its inputs are standard ones where it can be."""
    found = [
        kind for kind in KINDS if kind.family.name == family and kind.chip.drive_of(family) == drive
    ]
    return min(found, key=lambda kind: kind.chip.inputs != "")


def elements(kind: LogicChip) -> dict[str, Element]:
    pins = {pin.name: f"N{pin.name}" for pin in kind.word.pins if pin.role != "nc"}
    return {e.name: e for e in kind.elements(Part(designator="U1", kind=kind.name, pins=pins))}


def current(element: Element, volts: dict[str, float], changes: dict[str, float]) -> float:
    """Current into the element's first terminal at given pin voltages."""
    v = np.array([volts.get(pin, 0.0) for pin in element.terminals], dtype=float).reshape(-1, 1, 1)
    params = {**element.params, **changes}
    p = np.array([params[name] for name in element.law.parameters]).reshape(-1, 1, 1)
    return float(element.law.evaluate(v, p, False)[0][0, 0, 0])


class Bench:
    """A chip on a supply, one output at a stated level."""

    def __init__(self, kind: LogicChip, supply: float) -> None:
        self.kind, self.supply = kind, supply
        self.elements = elements(kind)
        self.vcc, self.gnd = kind.chip.power("supply").number, kind.chip.power("ground").number
        self.output = kind.chip.pin(kind.chip.outputs[0].name).number
        self.input = next(pin.number for pin in kind.chip.pins if pin.role == "in")

    def volts(self, **pins: float) -> dict[str, float]:
        found = dict.fromkeys((pin.name for pin in self.kind.word.pins), 0.0)
        return found | {self.vcc: self.supply} | pins

    def into(self, pin: str, volts: float, level: float = 1.0) -> float:
        """Total current into a pin at that voltage, the output at that level."""
        total = 0.0
        at = self.volts(**{pin: volts})
        for name, element in self.elements.items():
            if pin not in element.terminals[:2] or not name.endswith(pin) or name == "icc":
                continue
            held = {"a0": level, "a1": 0.0, "e0": 1.0, "e1": 0.0} if "out" in name else {}
            sign = 1.0 if element.terminals[0] == pin else -1.0
            total += sign * current(element, at, held)
        return total

    def measure(self, quantity: str, at: float) -> float:
        if quantity == "VOL":
            return _zero(lambda v: self.into(self.output, v, 0.0) - at)
        if quantity == "VOH":
            return _zero(lambda v: self.into(self.output, v, 1.0) + at)
        if quantity == "IOS":
            return -self.into(self.output, at, 1.0)
        if quantity == "IIL":
            return -self.into(self.input, at)
        if quantity == "IIH":
            return self.into(self.input, at)
        if quantity == "VIK":
            return -_zero(lambda v: self.into(self.input, v) + at)
        assert quantity == "OPEN"
        return _zero(lambda v: self.into(self.input, v) + v / at)


def _zero(function: Callable[[float], float]) -> float:
    return float(brentq(function, -2.0, 6.0, xtol=1e-7))


@pytest.mark.parametrize(
    "row", LEVELS, ids=lambda row: f"{row['family']}-{row['drive']}-{row['quantity']}-{row['at']}"
)
def test_levels_keep_the_data_sheet(row: dict[str, str]) -> None:
    bench = Bench(chip_with(row["family"], row["drive"]), float(row["supply"]))
    value = bench.measure(row["quantity"], float(row["at"]))
    assert float(row["least"]) <= value <= float(row["most"]), f"{value:.6g}: {row['source']}"


def test_every_drive_has_a_row() -> None:
    made = {
        (kind.family.name, kind.chip.drive_of(kind.family.name))
        for kind in KINDS
        if kind.family.name != "74HCT"
    }
    assert made == {(row["family"], row["drive"]) for row in LEVELS if row["family"] != "74HCT"}


@pytest.mark.parametrize("row", THRESHOLDS, ids=lambda row: f"{row['family']}-{row['supply']}")
def test_input_levels_of_the_data_sheet_are_taken_as_such(row: dict[str, str]) -> None:
    """At VIL max and VIH min the typical gate is within 1 % of its end."""
    family = FAMILIES[row["family"]]
    supply = float(row["supply"])
    threshold = family.vth * (1.0 - family.rel + family.rel * supply)
    low, high = (1.0 / (1.0 + np.exp(-20.0 * (float(row[e]) - threshold))) for e in ("low", "high"))
    assert low < 0.01
    assert high > 0.99


@pytest.mark.parametrize("family", ["74", "74LS", "74S", "74ALS", "74F"])
@pytest.mark.parametrize("deviation", [-2.0, 0.0, 2.0])
def test_open_bipolar_input_reads_high_on_every_die(family: str, deviation: float) -> None:
    """An open TTL input acts as high (1996 service note on digital chips): threshold and the
    level it floats to are one die's and move together."""
    kind = next(kind for kind in KINDS if kind.name == f"{family}00")
    bench = Bench(kind, 5.0)
    load, gate = bench.elements[f"in{bench.input}"], bench.elements[f"out{bench.output}"]
    together = {load.spread["off_at"].together, gate.spread["vth"].together}
    assert len(together) == 1
    assert load.spread["off_at"].absolute == gate.spread["vth"].absolute
    shift = deviation * gate.spread["vth"].absolute
    at = _zero(
        lambda v: (
            current(
                load,
                bench.volts(**{bench.input: v}),
                {"off_at": load.params["off_at"] + shift},
            )
            + v / 10e6
        )
    )
    assert at - (gate.params["vth"] + shift) > 0.2


@pytest.mark.parametrize("name", ["7406", "74LS06", "7407", "7426"])
def test_high_voltage_outputs_stand_their_rating(name: str) -> None:
    """7406/7407: 30 V rated output (SN74LS07 data sheet, read), 0.25 mA at most when off
    (SDLS031, from memory); 7426: 15 V."""
    kind = next(kind for kind in KINDS if kind.name == name)
    rated = {r.name: r.value for r in kind.ratings(Part(designator="U1", kind=name))}
    volts = rated["output voltage when off"]
    assert volts == (15.0 if "26" in name else 30.0)
    assert 0.0 <= Bench(kind, 5.0).into(Bench(kind, 5.0).output, volts, 1.0) <= 0.25e-3
