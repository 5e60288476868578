"""Transistor-level logic stages keep data sheet limits (``tests/truth/logic_levels.csv``).

The same table of outside figures that the product's laws are held to; columns as explained in
``tests/parts/test_logic_levels.py``.
"""

from collections.abc import Iterator

import pytest
from tests.trial.bench import chip_board, chip_with, inputs_for, rows, solved

from halfsplit.trial.simulator import Simulator
from halfsplit.trial.spice_stages import DRIVES

pytestmark = pytest.mark.spice

FAMILIES = ("74", "74LS", "74HC", "74HCT")
"""Families with stages of this fidelity; the 74S and 4000 stages are rougher, others have none."""
LEVELS = [
    row
    for row in rows("logic_levels.csv")
    if row["family"] in FAMILIES and row["drive"] in DRIVES and row["source"][:6] != "HC4049"
]
THRESHOLDS = [row for row in rows("logic_thresholds.csv") if row["family"] in FAMILIES]
SURE = {0: 0.1, 1: 3.9}


@pytest.fixture(scope="module")
def simulator(ngspice: str) -> Iterator[Simulator]:
    with Simulator(ngspice) as running:
        yield running


def name(row: dict[str, str]) -> str:
    return f"{row['family']} {row['drive']} {row['quantity']} {row['at']} {row['supply']}"


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("row", LEVELS, ids=name)
def test_level(row: dict[str, str], seed: int, simulator: Simulator) -> None:
    kind = chip_with(row["family"], row["drive"])
    at, supply = float(row["at"]), float(row["supply"])
    out, quantity = kind.chip.outputs[0].name, row["quantity"]
    told = inputs_for(kind, 0 if quantity == "VOL" else 1)
    first = next(iter(told))
    lines = {
        pin: f"v_{pin} {{{pin}}} 0 {SURE[bit] if supply > 2.5 else bit * supply}"
        for pin, bit in told.items()
    }
    if quantity == "VOL":
        lines["load"] = f"i_load 0 {{{out}}} {at}"
    elif quantity == "VOH":
        lines["load"] = f"i_load {{{out}}} 0 {at}"
    elif quantity == "IOS":
        lines["load"] = f"v_out {{{out}}} 0 0"
    elif quantity in ("IIL", "IIH", "VIK", "OPEN"):
        lines |= {pin: f"v_{pin} {{{pin}}} 0 {min(SURE[1], supply)}" for pin in told}
    if quantity in ("IIL", "IIH"):
        lines[first] = f"v_{first} {{{first}}} 0 {at}"
    elif quantity == "VIK":
        lines[first] = f"i_in {{{first}}} 0 {at}"
    elif quantity == "OPEN":
        lines[first] = f"r_meter {{{first}}} 0 {at}"
    _, found = solved(simulator, chip_board(kind, supply), seed, list(lines.values()))
    value = {
        "VOL": found[out],
        "VOH": found[out],
        "IOS": abs(found.get("v_out#branch", 0.0)),
        "IIL": abs(found.get(f"v_{first.lower()}#branch", 0.0)),
        "IIH": abs(found.get(f"v_{first.lower()}#branch", 0.0)),
        "VIK": -found[first],
        "OPEN": found[first],
    }[quantity]
    spread = 0.12 * value if "typical" in row["source"] else 0.0
    assert float(row["least"]) - spread <= value <= float(row["most"]) + spread, row["source"]


@pytest.mark.parametrize("row", THRESHOLDS, ids=lambda row: f"{row['family']} {row['supply']}")
def test_thresholds_of_an_inverter(row: dict[str, str], simulator: Simulator) -> None:
    kind = chip_with(row["family"], "standard", inverter=True)
    board = chip_board(kind, float(row["supply"]))
    _, low = solved(simulator, board, 3, [f"v_a {{A1}} 0 {row['low']}"])
    _, high = solved(simulator, board, 3, [f"v_a {{A1}} 0 {row['high']}"])
    assert low["Y1"] > 0.5 * float(row["supply"])
    assert high["Y1"] < 0.1 * float(row["supply"])
