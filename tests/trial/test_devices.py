"""Devices of the independent simulator against data sheets and textbook circuits."""

import math
from collections.abc import Iterator

import pytest
from tests.trial.bench import GOOD, part_fault, rows, solved

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.parts._logic_families import FAMILIES
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.simulator import Simulator
from halfsplit.trial.spice_stages import DRIVES

pytestmark = pytest.mark.spice

ARRAY = [row for row in rows("part_levels.csv") if row["parameter"] == "VCE(sat)"
         and row["family"].startswith("ULN2003A")]  # fmt: skip


@pytest.fixture(scope="module")
def simulator(ngspice: str) -> Iterator[Simulator]:
    with Simulator(ngspice) as running:
        yield running


def board(text: str) -> Board:
    head = 'board "T"\nrail +5 5V 0.01%\nrail +24 24V 0.01%\n'
    return read_board(head + text + "\nstate rest\n", PartsVocabulary())


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("row", ARRAY, ids=lambda row: row["condition"])
def test_array_saturation(row: dict[str, str], seed: int, simulator: Simulator) -> None:
    """ULN2003A VCE(sat) with the stated output and input currents; typical within 15 %."""
    out, into = (float(word.split("=")[-1].split()[0]) for word in
                 row["condition"].replace("mA /", "mA/").replace("/", " ").split(" uA")[0]
                 .replace("IIN=", "").replace(" mA", "").split()[:2])  # fmt: skip
    made = board("U1 ULN2003A 1=A 16=OUT 8=GND 9=+24")
    _, found = solved(simulator, made, seed, [f"i_out 0 {{OUT}} {out}m", f"i_in 0 {{A}} {into}u"])
    assert found["OUT"] <= float(row["max"])
    assert found["OUT"] == pytest.approx(float(row["typ"]), rel=0.15)


def test_array_input_current(simulator: Simulator) -> None:
    """IIN(on) at 2.4 V: typical 0.4 mA, at most 0.7 mA (ULN2003A-class data sheet)."""
    made = board("U1 ULN2003A 1=A 16=OUT 8=GND 9=+24")
    lines = ["v_a {A} 0 2.4", "i_out 0 {OUT} 350m"]
    _, found = solved(simulator, made, 1, lines)
    assert 0.25e-3 < -found["v_a#branch"] < 0.7e-3


@pytest.mark.parametrize(("told", "low", "high"), [(0.1, 0.65, 0.80), (4.0, 0.1, 0.4)])
def test_open_collector_into_a_base(
    told: float, low: float, high: float, simulator: Simulator
) -> None:
    """An open collector that drives a base reads 0.65 to 0.8 V off and 0.1 to 0.4 V on
    (practitioners' thread, field fact; VBE)."""
    made = board("U1 7438 1=A 2=+5 3=B\nR1 2k2 5% +5 B\nQ1 npn 2N2222 c=C b=B e=GND\nR2 1k +5 C")
    _, found = solved(simulator, made, 1, [f"v_a {{A}} 0 {told}"])
    assert low < found["B"] < high
    assert (found["C"] < 0.3) == (told < 1.0)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(
    ("chip", "pins", "amps", "most"),
    [
        ("74LS47", "3=GND 4=+5 5=+5 13=OUT", 12e-3, 0.4),
        ("74LS47", "3=GND 4=+5 5=+5 13=OUT", 24e-3, 0.5),
        ("7447", "3=GND 4=+5 5=+5 13=OUT", 40e-3, 0.4),
        ("7416", "1=+5 2=OUT", 40e-3, 0.7),
        ("74145", "15=GND 14=GND 13=GND 12=GND 1=OUT", 80e-3, 0.9),
    ],
)
def test_strong_open_collectors_hold_what_their_sheets_say(
    chip: str, pins: str, amps: float, most: float, seed: int, simulator: Simulator
) -> None:
    """VOL at most with IOL as stated; a lamp test lights every segment (data sheets of the 7447A,
    LS47, 7416, 74145, from memory)."""
    made = board(f"U1 {chip} {pins}")
    _, found = solved(simulator, made, seed, [f"i_out 0 {{OUT}} {amps}"])
    assert 0.05 < found["OUT"] < most


def test_every_output_of_the_bipolar_families_has_a_size() -> None:
    bipolar = (family for family in FAMILIES.values() if not family.mos)
    assert {name for family in bipolar for name in family.drives} <= DRIVES.keys()


def test_darlington_never_drops_below_one_junction(simulator: Simulator) -> None:
    """VCE(sat) of a TIP120 at 3 A, 12 mA: at most 2 V (data sheet, from memory); at light load
    above one VBE."""
    made = board("Q1 darlington TIP120 c=C b=B e=GND")
    _, heavy = solved(simulator, made, 1, ["i_c 0 {C} 3", "i_b 0 {B} 12m"])
    _, light = solved(simulator, made, 1, ["i_c 0 {C} 0.3", "i_b 0 {B} 5m"])
    assert 0.9 < heavy["C"] < 2.0
    assert 0.6 < light["C"] < 1.0


def test_darlington_base_resistors_by_ohmmeter(simulator: Simulator) -> None:
    """Below two junctions only 8 kΩ + 120 Ω join base and emitter (TIP120 schematic)."""
    made = board("Q1 darlington TIP120 c=C b=B e=GND")
    _, found = solved(simulator, made, 1, ["i_b 0 {B} 20u", "r_c {C} 0 1meg"])
    assert found["B"] / 20e-6 == pytest.approx(8120.0, rel=0.31)


def test_common_emitter_on_paper(simulator: Simulator) -> None:
    """Base through 470 kΩ from 5 V: IB = (5 - 0.65)/470k, IC = gain IB; gain 200 typed."""
    made = board("Q1 npn c=C b=B e=GND gain=200\nR1 470k 0.1% +5 B\nR2 1k 0.1% +5 C")
    _, found = solved(simulator, made, 1, [])
    gain = (5.0 - found["C"]) / 1e3 / ((5.0 - found["B"]) / 470e3)
    assert 100.0 < gain < 400.0


def test_silicon_and_led_drops(simulator: Simulator) -> None:
    """Diode test of a silicon junction 0.5 to 0.8 V at 1 mA; red LED 1.6 to 2.0 V at 10 mA."""
    made = board("D1 1N4148 a=A k=GND\nD2 led ? a=L k=GND\nD3 1N4002 a=R k=GND")
    lines = ["i_a 0 {A} 1m", "i_l 0 {L} 10m", "i_r 0 {R} 1"]
    _, found = solved(simulator, made, 1, lines)
    assert 0.5 < found["A"] < 0.8
    assert 1.6 < found["L"] < 2.0
    assert 0.8 < found["R"] < 1.1


def test_zener_holds_its_voltage(simulator: Simulator) -> None:
    made = board("D1 zener 5.1 1% a=GND k=Z\nR1 3k9 +24 Z")
    _, found = solved(simulator, made, 1, [])
    assert found["Z"] == pytest.approx(5.1, rel=0.03)


@pytest.mark.parametrize(("source", "load", "expected", "within"), [
    (9.0, 100.0, 5.0, 0.04),
    (6.0, 100.0, 4.2, 0.1),
    (9.0, 1.0, 2.0, 0.35),
])  # fmt: skip
def test_regulator_regulates_drops_out_and_limits(
    source: float, load: float, expected: float, within: float, simulator: Simulator
) -> None:
    """7805: 4.8 to 5.2 V; about 2 V dropout; about 2.2 A peak (data sheet, from memory)."""
    made = board("U1 regulator 5 in=IN gnd=GND out=OUT")
    _, found = solved(simulator, made, 1, [f"v_in {{IN}} 0 {source}", f"r_l {{OUT}} 0 {load}"])
    assert found["OUT"] == pytest.approx(expected, rel=within)
    drawn = -found["v_in#branch"] - found["OUT"] / load
    assert 2e-3 < drawn < 12e-3


def test_a_regulator_on_a_short_gives_what_its_limit_lets_it(simulator: Simulator) -> None:
    """7812: 1.5 A on a short, 2.4 A at most (LM340 data sheet, from memory)."""
    made = board("U1 regulator 12 in=IN gnd=GND out=OUT")
    _, found = solved(simulator, made, 1, ["v_in {IN} 0 18", "r_l {OUT} 0 0.1"])
    assert 1.4 < found["OUT"] / 0.1 < 2.6


def test_negative_regulator_mirrors(simulator: Simulator) -> None:
    made = board("U1 negative-regulator 12 in=IN gnd=GND out=OUT")
    _, found = solved(simulator, made, 1, ["v_in {IN} 0 -18", "r_l {OUT} 0 100"])
    assert found["OUT"] == pytest.approx(-12.0, rel=0.04)


@pytest.mark.parametrize(("plus", "sinks"), [(2.0, True), (3.0, False)])
def test_comparator_sinks_when_minus_is_above_plus(
    plus: float, sinks: bool, simulator: Simulator
) -> None:
    """LM393: saturation at most 0.4 V at 4 mA (data sheet, from memory)."""
    made = board("U1 LM393 3=P 2=M 1=OUT 8=+5 4=GND\nR1 1k2 +5 OUT")
    _, found = solved(simulator, made, 1, [f"v_p {{P}} 0 {plus}", "v_m {M} 0 2.5"])
    assert (found["OUT"] < 0.4) if sinks else (found["OUT"] > 4.9)


def test_a_comparator_without_its_supply_lets_go(simulator: Simulator) -> None:
    """It takes 0.4 mA typical (LM393 data sheet, from memory): what leaks over an open joint, and
    what its inputs could give, wakes nothing."""
    made = board("U1 LM393 3=P 2=M 1=OUT 8=V 4=GND\nR1 4k7 +5 OUT\nR2 100M +5 V")
    _, found = solved(simulator, made, 1, ["v_p {P} 0 2.5", "v_m {M} 0 5"])
    assert found["OUT"] > 4.9


def test_optocoupler_transfers_and_saturates(simulator: Simulator) -> None:
    """4N25: at least 20 % at 10 mA and VCE 10 V, VCE(sat) at most 0.5 V (data sheet, from
    memory)."""
    made = board("O1 optocoupler 4N25 a=A k=GND c=C e=GND")
    lines = ["i_a 0 {A} 10m", "v_c {C} 0 10"]
    _, found = solved(simulator, made, 1, lines)
    assert 2e-3 < -found["v_c#branch"] < 12e-3
    _, low = solved(simulator, made, 1, ["i_a 0 {A} 50m", "r_c {C} 0 100meg", "i_c 0 {C} 2m"])
    assert low["C"] < 0.5
    assert 1.0 < found["A"] < 1.5


def test_mosfet_on_resistance(simulator: Simulator) -> None:
    """IRF520 0.2 Ω class at 10 V on the gate (fields of the type)."""
    made = board("Q1 nmos IRF520 d=D g=G s=GND")
    _, on = solved(simulator, made, 1, ["v_g {G} 0 10", "i_d 0 {D} 1"])
    _, off = solved(simulator, made, 1, ["v_g {G} 0 0", "r_d {+24} {D} 1meg"])
    assert 0.1 < on["D"] < 0.35
    assert off["D"] > 20.0


@pytest.mark.parametrize(("mode", "net", "low", "high"), [
    ("c short to e", "C", 0.0, 0.1),
    ("b short to e", "B", 0.0, 0.1),
    ("b open", "C", 23.0, 24.1),
    ("c open", "C", 23.0, 24.1),
    ("e open", "C", 20.0, 24.1),
    ("low gain", "C", 5.0, 23.0),
])  # fmt: skip
def test_faults_of_a_transistor(
    mode: str, net: str, low: float, high: float, simulator: Simulator
) -> None:
    """Common emitter stage, base 100 kΩ from 5 V, collector 4k7 from 24 V: good it saturates."""
    made = board("Q1 npn c=C b=B e=GND\nR1 100k +5 B\nR2 4k7 +24 C")
    _, good = solved(simulator, made, 1, [], GOOD)
    _, bad = solved(simulator, made, 1, [], part_fault("Q1", mode))
    assert good["C"] < 0.4
    assert low <= bad[net] <= high
    assert not math.isclose(bad[net], good[net], abs_tol=0.05)
