"""Parts against published figures: datasheets, handbooks, and equations solved on paper."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.parts.circuit import elements_of, evaluate, mode_changes, part_of, solve

from halfsplit.parts._bipolar import base_open, collector_open, emitter_open
from halfsplit.parts.registry import KINDS
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve.law import Element
from halfsplit.solve.laws.junction import Bipolar
from halfsplit.solve.smooth import VT

TRUTH = Path(__file__).parents[1] / "truth"


def levels(family: str, parameter: str) -> list[dict[str, str]]:
    with (TRUTH / "part_levels.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file)
                if row["family"] == family and row["parameter"] == parameter]  # fmt: skip
    assert rows, (family, parameter)
    return rows


def forward(part_kind: str, type: str, amps: float, **fields: str) -> float:
    """Forward voltage of a two-terminal junction at a current."""
    part = part_of(part_kind, "a k", type=type, fields=fields)
    volts, _ = solve(elements_of(part), {"k": 0.0}, {"a": amps}, {"a": 0.6, "~a": 0.6})
    return volts["a"]


ARRAY = part_of("ULN2003A", "1 8 9 16")
GUESS = {"16": 1.0, "~c16": 0.8, "~b16": 1.3, "~m16": 0.7, "1": 2.0}


@pytest.mark.parametrize("row", levels("ULN2003A Darlington array", "VCE(sat)"),
                         ids=lambda row: row["condition"])  # fmt: skip
def test_array_saturation_voltage(row: dict[str, str]) -> None:
    load, into = {"IOUT=100 mA IIN=250 uA": (0.1, 250e-6), "200 mA / 350 uA": (0.2, 350e-6),
                  "350 mA / 500 uA": (0.35, 500e-6)}[row["condition"]]  # fmt: skip
    held = {"8": 0.0, "9": 24.0}
    volts, _ = solve(elements_of(ARRAY), held, {"16": load, "1": into}, GUESS)
    assert volts["16"] == pytest.approx(float(row["typ"]), abs=0.1)
    assert volts["16"] < float(row["max"])


def test_array_input_current() -> None:
    row = levels("ULN2003A Darlington array", "IIN(on)")[0]
    held = {"8": 0.0, "9": 24.0, "1": 2.4}
    _, current = solve(elements_of(ARRAY), held, {"16": 0.35}, GUESS)
    assert current["1"] * 1e3 == pytest.approx(float(row["typ"]), rel=0.2)
    assert current["1"] * 1e3 < float(row["max"])


def test_array_sinks_its_load_at_the_rated_input_voltage() -> None:
    row = levels("ULN2003A Darlington array", "VIN(on)")[0]
    held = {"8": 0.0, "9": 24.0, "1": float(row["max"]), "16": 2.0}
    _, current = solve(elements_of(ARRAY), held, {}, GUESS)
    assert current["16"] > 0.35


def test_array_clamp_and_leakage() -> None:
    drop = levels("ULN2003A Darlington array", "clamp diode VF")[0]
    held = {"8": 0.0, "9": 24.0, "1": 0.0}
    start = {"16": 25.0, "~c16": 25.0}
    volts, _ = solve(elements_of(ARRAY), held, {"16": 0.35}, start)
    assert 0.8 < volts["16"] - 24.0 < float(drop["max"])
    leak = levels("ULN2003A Darlington array", "output leakage")[0]
    at_50 = {"8": 0.0, "9": 50.0, "1": 0.0, "16": 50.0}
    _, current = solve(elements_of(ARRAY), at_50, {}, {"~c16": 50.0})
    assert 0.0 < current["16"] * 1e6 < float(leak["max"])


def test_array_input_resistor() -> None:
    row = levels("ULN2003A", "input resistor")[0]
    resistor = next(e for e in elements_of(ARRAY) if e.name == "rin 16")
    assert 1e-3 / resistor.params["g"] == pytest.approx(float(row["typ"]))


@pytest.mark.parametrize(("kind", "type"), [("diode", "1N4148"), ("diode", "1N4001")])
def test_silicon_diode_on_the_diode_range(kind: str, type: str) -> None:
    row = levels("silicon junction", "forward drop on DMM diode test")[0]
    assert float(row["min"]) < forward(kind, type, 1e-3) < float(row["max"])


def test_germanium_diode_on_the_diode_range() -> None:
    row = levels("germanium junction", "forward drop")[0]
    assert forward("germanium", "1N34A", 1e-3) == pytest.approx(float(row["typ"]), abs=0.05)


@pytest.mark.parametrize(
    ("kind", "type", "amps", "least", "most"),
    [
        # VF typical 0.93 V, most 1.1 V at 1 A: 1N4001 datasheet, from memory
        ("diode", "1N4001", 1.0, 0.85, 1.1),
        # VF most 1 V at 10 mA: 1N4148 datasheet, from memory
        ("diode", "1N4148", 10e-3, 0.62, 1.0),
        # VF most 0.6 V at 1 A: 1N5819 datasheet, from memory
        ("schottky", "1N5819", 1.0, 0.3, 0.6),
        # VF most 0.45 V at 1 A: 1N5817 datasheet, from memory
        ("schottky", "1N5817", 1.0, 0.25, 0.45),
    ],
)
def test_forward_voltage(kind: str, type: str, amps: float, least: float, most: float) -> None:
    assert least < forward(kind, type, amps) <= most


@pytest.mark.parametrize(("colour", "least", "most"), [("red", 1.6, 2.0), ("green", 1.9, 2.4),
                                                       ("infrared", 1.0, 1.5)])  # fmt: skip
def test_led_drop_at_20_ma(colour: str, least: float, most: float) -> None:
    """Datasheet limits of 5 mm lamps at 20 mA, from memory."""
    assert least < forward("led", "", 20e-3, colour=colour) < most


def test_an_led_far_above_its_rating_is_held_back_by_its_bulk() -> None:
    """From 20 to 80 mA the curve of a red LED rises by 0.3 V (1.8, 1.9, 2.0, 2.1 V at 20, 40, 65,
    80 mA: worked example "How do I model an LED with SPICE", public question-and-answer site); its
    junction alone, of the emission coefficient 1.8 found there, by 0.065 V."""
    rise = forward("led", "", 80e-3) - forward("led", "", 20e-3)
    assert rise == pytest.approx(0.3, abs=0.05)


@pytest.mark.parametrize(
    ("type", "volts", "ma"),
    [("1N4728A", 3.3, 76), ("1N4733A", 5.1, 49), ("1N4742A", 12, 21), ("1N4764A", 100, 2.5)],
)
def test_zener_voltage_at_the_test_current(type: str, volts: float, ma: float) -> None:
    """1N4728A to 1N4764A datasheet, from memory."""
    part = part_of("zener", "a k", type=type)
    found, _ = solve(elements_of(part), {"a": 0.0}, {"k": ma * 1e-3}, {"k": volts})
    assert found["k"] == pytest.approx(volts, rel=0.01)


def test_a_zener_makes_no_current_out_of_nothing() -> None:
    part = part_of("zener", "a k", type="1N4728A")
    i, _ = evaluate(elements_of(part)[0], np.zeros(2))
    assert abs(float(i[0])) < 1e-10


def test_saturated_power_transistor() -> None:
    row = levels("saturated NPN power transistor", "VCE(sat)")[0]
    part = part_of("npn", "c b e", type="TIP31")
    volts, _ = solve(elements_of(part), {"e": 0.0}, {"c": 1.0, "b": 0.1}, {"c": 0.2, "b": 0.7})
    assert 0.0 < volts["c"] < float(row["max"])


def test_mosfet_on_resistance() -> None:
    """2N7000: 5 ohm most at 10 V, 0.5 A; 0.3 to 3 V threshold at 1 mA: datasheet, from memory."""
    elements = elements_of(part_of("nmos", "d g s", type="2N7000"))
    volts, _ = solve(elements, {"s": 0.0, "g": 10.0}, {"d": 0.5}, {"d": 1.0})
    assert 0.5 < volts["d"] / 0.5 < 5.0
    _, off = solve(elements, {"s": 0.0, "g": 0.3, "d": 10.0}, {}, {})
    assert off["d"] < 1e-6


def test_mosfet_body_diode_conducts_from_source_to_drain() -> None:
    elements = elements_of(part_of("nmos", "d g s", type="2N7000"))
    volts, _ = solve(elements, {"s": 0.0, "g": 0.0}, {"d": -0.1}, {"d": -0.7})
    assert -1.1 < volts["d"] < -0.5


@pytest.mark.parametrize(("amps", "raw"), [(0.1, 10.0), (0.5, 10.0), (1.0, 7.6)])
def test_regulator_output(amps: float, raw: float) -> None:
    """7805: 4.8 to 5.2 V from 5 mA to 1 A with 7.5 V or more in; datasheet, from memory."""
    elements = elements_of(part_of("regulator", "in gnd out", type="7805"))
    volts, current = solve(elements, {"in": raw, "gnd": 0.0}, {"out": -amps}, {"out": 4.95})
    assert 4.8 < volts["out"] < 5.2
    assert current["in"] == pytest.approx(amps + 5e-3, abs=2e-3)


def test_regulator_follows_its_input_when_starved() -> None:
    """7805: 2 V dropout typical at 1 A; datasheet, from memory."""
    elements = elements_of(part_of("regulator", "in gnd out", type="7805"))
    volts, _ = solve(elements, {"in": 6.0, "gnd": 0.0}, {"out": -1.0}, {"out": 3.9})
    assert volts["out"] == pytest.approx(4.0, abs=0.15)


def test_negative_regulator_mirrors() -> None:
    elements = elements_of(part_of("negative-regulator", "in gnd out", type="7912"))
    volts, _ = solve(elements, {"in": -18.0, "gnd": 0.0}, {"out": 0.3}, {"out": -11.9})
    assert volts["out"] == pytest.approx(-12.0, rel=0.02)


@pytest.mark.parametrize(("kind", "pins", "amps", "most"), [
    ("LM339", {"3": 5.0, "12": 0.0, "5": 1.0, "4": 2.0, "2": None}, 4e-3, 0.4),
    ("LM393", {"8": 5.0, "4": 0.0, "3": 1.0, "2": 2.0, "1": None}, 4e-3, 0.4),
    ("LM311", {"8": 15.0, "1": 0.0, "2": 1.0, "3": 2.0, "7": None}, 8e-3, 0.4),
])  # fmt: skip
def test_comparator_low_output(
    kind: str, pins: dict[str, float | None], amps: float, most: float
) -> None:
    """VOL most 0.4 V at 4 mA (LM339, LM393), 8 mA (LM311): datasheets, from memory."""
    elements = elements_of(part_of(kind, " ".join(pins)))
    held = {pin: volts for pin, volts in pins.items() if volts is not None}
    out = next(pin for pin, volts in pins.items() if volts is None)
    volts, _ = solve(elements, held, {out: amps}, {out: 0.2})
    assert 0.01 < volts[out] < most
    plus, minus = (pin for pin, volts in held.items() if volts in (1.0, 2.0))
    swapped = {**held, plus: 2.0, minus: 1.0, out: 5.0}
    _, off = solve(elements, swapped, {}, {})
    assert abs(off[out]) < 1e-6


def test_slotted_sensor_switches_its_current() -> None:
    part = part_of("slotted-sensor", "a k c e", fields={"ctr": "0.05"})
    clear, blocked = KINDS.get("slotted-sensor").settings(part)
    currents = []
    for setting in (clear, blocked):
        elements = elements_of(part, setting.changes)
        _, current = solve(elements, {"k": 0.0, "e": 0.0, "c": 5.0}, {"a": 20e-3}, {"a": 1.2})
        currents.append(current["c"])
    assert currents[0] == pytest.approx(0.05 * 20e-3, rel=0.02)
    assert currents[1] < 0.01 * currents[0]


PARAMS = {"is_": 1e-14, "bf": 150.0, "br": 3.0, "n": 1.0, "bvce": 60.0, "gbe": 1e-12,
          "gbc": 1e-12, "gce": 1e-9}  # fmt: skip


def currents(params: dict[str, float], c: float, b: float, e: float) -> tuple[float, ...]:
    element = Element(name="q", law=Bipolar(), terminals=("c", "b", "e"), params=params)
    return tuple(float(i) for i in evaluate(element, np.array([c, b, e]))[0])


@pytest.mark.parametrize("vbe", [0.5, 0.6, 0.7])
def test_collector_open_leaves_the_base_emitter_diode(vbe: float) -> None:
    """Ebers-Moll with the collector floating: it settles where its current is nothing."""
    clean = {**PARAMS, "gbe": 0.0, "gbc": 0.0, "gce": 0.0}
    floating = brentq(lambda c: currents(clean, c, vbe, 0.0)[0], -0.1, vbe)
    expected = currents(clean, floating, vbe, 0.0)[1]
    ic, ib, _ = currents({**PARAMS, **collector_open(1e-14, 150.0, 3.0)}, 5.0, vbe, 0.0)
    assert ib == pytest.approx(expected, rel=1e-3)
    assert ic < 1e-4 * ib


@pytest.mark.parametrize("vbc", [0.5, 0.6, 0.7])
def test_emitter_open_leaves_the_base_collector_diode(vbc: float) -> None:
    clean = {**PARAMS, "gbe": 0.0, "gbc": 0.0, "gce": 0.0}
    floating = brentq(lambda e: currents(clean, 0.0, vbc, e)[2], -0.1, vbc)
    expected = currents(clean, 0.0, vbc, floating)[1]
    _, ib, ie = currents({**PARAMS, **emitter_open(1e-14, 150.0, 3.0)}, 0.0, vbc, 0.0)
    assert ib == pytest.approx(expected, rel=1e-3)
    assert abs(ie) < 1e-4 * ib


def test_base_open_takes_no_current_at_all() -> None:
    ic, ib, _ = currents({**PARAMS, **base_open()}, 5.0, 0.7, 0.0)
    assert abs(ib) < 1e-11
    assert ic == pytest.approx(5.0 * 1e-9, rel=1e-3)


def test_an_open_diode_does_not_conduct_at_24_volts() -> None:
    part = part_of("diode", "a k")
    element = elements_of(part, mode_changes(part, "open"))[0]
    assert abs(float(evaluate(element, np.array([24.0, 0.0]))[0][0])) < 1e-9
    assert abs(float(evaluate(element, np.array([-240.0, 0.0]))[0][0])) < 1e-8


def test_shorted_turns_scale_the_resistance() -> None:
    """Resistance of a winding is in proportion to its turns (same wire, same length a turn)."""
    part = part_of("winding", "1 2", value=75.0)
    half = elements_of(part, mode_changes(part, "half the turns"))[0]
    assert 1.0 / half.params["g"] == pytest.approx(37.5)


def test_resistors_of_a_network() -> None:
    bussed = part_of("bussed-network", "1 2 3 4", value=4700.0)
    assert [e.terminals for e in elements_of(bussed)] == [("1", "2"), ("1", "3"), ("1", "4")]
    dual = part_of("isolated-network", "1 2 15 16", value=330.0, fields={"layout": "dual"})
    assert [e.terminals for e in elements_of(dual)] == [("1", "16"), ("2", "15")]


def test_every_type_number_makes_a_working_part() -> None:
    words = PartsVocabulary().types()
    assert {"1N4001", "2N3904", "2N3906", "TIP120", "7805", "1N4733A"} <= set(words)
    for word in words.values():
        kind = KINDS.get(word.kind)
        pins = " ".join(pin.name for pin in kind.word.pins)
        part = part_of(word.kind, pins, type=word.name)
        preset = part_of(word.kind, pins, value=word.value, fields=word.fields)
        assert kind.elements(part), word.name
        assert elements_of(part) == elements_of(preset), word.name


def test_thermal_voltage_of_a_junction_decade() -> None:
    """A decade of current is n VT ln 10 (Shockley): 59.6 mV at 27 degC for n = 1."""
    rise = forward("schottky", "", 1e-2) - forward("schottky", "", 1e-3)
    assert rise == pytest.approx(1.05 * VT * math.log(10.0), rel=1e-3)
