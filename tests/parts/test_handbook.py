"""Shares and rates against the handbooks' rows, copied with their sources to tests/truth."""

import csv
import math
from pathlib import Path

import pytest
from tests.parts.circuit import part_of

from halfsplit.parts._handbook import FRACTIONS, RATES
from halfsplit.parts.ageing import Ageing
from halfsplit.parts.joints import joint_modes, package_pins
from halfsplit.parts.kind import Mode
from halfsplit.parts.registry import KINDS
from halfsplit.parts.socket import contact_modes

TRUTH = Path(__file__).parents[1] / "truth"

KIND_ROWS = {
    "Microcircuit digital MOS": "Microcircuit digital MOS (incl. MOS microcontroller)",
    "Microcircuit interface": "Microcircuit interface (drivers, Darlington arrays, OC buffers as "
    "a class)",
    "Microcircuit memory MOS": "Microcircuit memory MOS (ROM/RAM/EPROM)",
    "Resistor composition": "Resistor composition (carbon)",
    "Coil": "Coil (motor winding proxy)",
    "Connector/connection": "Connector / connection (incl. sockets, PTH, solder in this copy)",
}
RATE_ROWS = {
    "IC MOS microprocessor to 8 bit": "IC MOS microprocessor/microcontroller <=8 bit",
    "IC MOS ROM to 16 Kbit": "IC MOS ROM <=16 Kbit (mask ROM)",
    "IC MOS EPROM to 16 Kbit": "IC MOS EPROM/EEPROM <=16 Kbit",
    "IC MOS SRAM to 16 Kbit": "IC MOS SRAM <=16 Kbit",
    "IC MOS DRAM to 16 Kbit": "IC MOS DRAM <=16 Kbit",
    "IC digital bipolar 1-100 gates": "IC digital bipolar (TTL) 1-100 gates",
    "Diode general purpose": "Diode general purpose/analog",
    "Diode switching": "Diode switching (signal)",
    "Diode power rectifier or Schottky": "Diode power rectifier / Schottky",
    "Diode zener": "Diode zener regulator / reference",
    "Transistor bipolar small signal": "Transistor bipolar NPN/PNP f<200 MHz (small signal)",
    "Transistor bipolar power": "Transistor bipolar power NPN/PNP f<200 MHz",
    "Transistor Si FET": "Transistor Si FET f<=400 MHz",
    "Photodetector": "Optoisolator/emitter detector (track-0 sensor), photodetector",
    "Resistor composition": "Resistor composition RC/RCR (carbon)",
    "Resistor film": "Resistor film RL/RN",
    "Resistor network": "Resistor film network RZ",
    "Resistor wirewound": "Resistor wirewound power RW",
    "Resistor variable": "Resistor variable non-wirewound RJ",
    "Capacitor ceramic": "Capacitor ceramic CK",
    "Capacitor plastic film": "Capacitor plastic film CQ",
    "Capacitor tantalum solid": "Capacitor tantalum solid CSR",
    "Capacitor aluminium dry electrolytic": "Capacitor aluminium dry electrolytic CE",
    "Coil fixed": "Inductor/coil fixed",
    "Switch toggle or pushbutton": "Switch toggle/pushbutton",
}
QUALITY = {
    "Resistor": "Resistors pi_Q (part count)",
    "Capacitor": "Capacitors pi_Q (part count)",
    "Connector": "Connectors/sockets/PTH pi_Q",
    "IC socket": "Connectors/sockets/PTH pi_Q",
    "Switch": "Switches toggle pi_Q",
    "Diode": "Semiconductors pi_Q",
    "Transistor": "Semiconductors pi_Q",
}


def rows(name: str) -> list[dict[str, str]]:
    with (TRUTH / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("kind", FRACTIONS)
def test_fractions_are_the_handbooks(kind: str) -> None:
    name = KIND_ROWS.get(kind, kind)
    found = {row["mode"]: float(row["fraction"]) for row in rows("part_failure_modes.csv")
             if row["part_kind"] == name}  # fmt: skip
    assert found == FRACTIONS[kind]


@pytest.mark.parametrize("name", RATES)
def test_rates_are_the_handbooks(name: str) -> None:
    wanted = RATE_ROWS.get(name, name)
    (row,) = (row for row in rows("part_failure_rates.csv")
              if row["part_kind"] == wanted and row["method"].startswith("part-count"))  # fmt: skip
    base, quality = RATES[name]
    assert base == float(row["value"])
    listed = next((title for start, title in QUALITY.items() if name.startswith(start)), None)
    if listed:
        (factors,) = (each["value"] for each in rows("part_failure_rates.csv")
                      if each["part_kind"] == listed)  # fmt: skip
        assert f"{quality:g}" in factors.replace("8.0", "8").split()[-1:] + [
            word.rstrip(";") for word in factors.split()
        ]


def test_a_socket_of_14_and_40_pins() -> None:
    """The two values that the copy of the handbook's model gives, per million hours."""
    for pins, rate in ((14, 1.318e-3), (40, 3.115e-3)):
        part = part_of("unknown", " ".join(map(str, range(1, pins + 1))))
        assert contact_modes(part).rate.per_million_hours == pytest.approx(rate, rel=1e-3)


def test_a_windings_rate_is_a_quarter_of_the_motors_windings() -> None:
    (row,) = (row for row in rows("part_failure_rates.csv") if row["part_kind"].startswith("WORK"))
    rate = KINDS.get("winding").rate(part_of("winding", "1 2"))
    assert rate.per_million_hours == pytest.approx(float(row["value"]) * 0.31 / 4)


def test_joints_of_a_dual_in_line_chip() -> None:
    kind = KINDS.get("LM339")
    package = package_pins(kind.word)
    assert package == 14
    part = part_of("LM339", "1 2 3 6 7 8 9 12")
    faults = joint_modes(part, package)
    names = [mode.name for mode in faults.modes]
    assert [name for name in names if name.endswith("bridged")] == [
        "1-2 bridged", "2-3 bridged", "6-7 bridged", "8-9 bridged",
    ]  # fmt: skip
    assert {"12 joint open", "12 joint resistive", "12 track broken"} <= set(names)
    assert sum(mode.share for mode in faults.modes) == pytest.approx(1.0)
    assert faults.rate.per_million_hours == pytest.approx(8 * 2 * 4.1e-5)


def test_pins_on_one_net_are_not_bridged() -> None:
    part = part_of("LM339", "1 2")
    joined = type(part)(designator="U1", kind="LM339", pins={"1": "A", "2": "A"})
    assert any(mode.name == "1-2 bridged" for mode in joint_modes(part, 14).modes)
    assert not any(mode.name == "1-2 bridged" for mode in joint_modes(joined, 14).modes)


def test_two_leads_have_no_neighbours() -> None:
    assert package_pins(KINDS.get("resistor").word) == 0
    faults = joint_modes(part_of("resistor", "1 2"))
    assert sum(mode.share for mode in faults.modes) == pytest.approx(0.76)


def test_contacts_of_a_socket() -> None:
    faults = contact_modes(part_of("LM339", "1 2"))
    assert [mode.name for mode in faults.modes] == [
        "1 contact open", "1 contact resistive", "2 contact open", "2 contact resistive",
    ]  # fmt: skip
    assert {change.element for mode in faults.modes for change in mode.changes} == {
        "joint:1", "joint:2",
    }  # fmt: skip
    assert sum(mode.share for mode in faults.modes) == pytest.approx(0.61 + 0.23)


def test_ageing_multiplies_what_names_it_and_is_1_for_a_new_board() -> None:
    mode = Mode(name="open", words="open", share=0.5, changes=(), source="", ageing="contact")
    assert Ageing(years=0.0).rate(mode, 2.0) == pytest.approx(1.0)
    assert Ageing(contact=9.0).rate(mode, 2.0) == pytest.approx(9.0)
    assert Ageing(contact=9.0, years=20.0).factor("contact") == pytest.approx(math.sqrt(9.0))
    assert Ageing().factor("") == 1.0
