"""Stress against sums on paper, candidates against published cross-reference facts."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from halfsplit.board.model import Part
from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import compile_board
from halfsplit.cli.main import main
from halfsplit.errors import UnknownName
from halfsplit.parts.registry import KINDS
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.replacement.advice import Replacement, Replacer
from halfsplit.replacement.net import net_current
from halfsplit.replacement.operating import Operation, operate
from halfsplit.replacement.pinout import differences, functions
from halfsplit.replacement.sorts.resistor import _pair
from halfsplit.replacement.stress import worst_of
from halfsplit.replacement.tables import table
from halfsplit.replacement.tryout import with_part, wrong_outputs

SUPPLY_BOARD = """
board "A supply and a relay card" rev A
rail +12 12V 10%
rail +5 5V 5%
U1 regulator 7805 in=+12 gnd=GND out=V5
R1 1k 5% V5 GND
U2 ULN2003A 1=IN1 2=IN2 16=OUT1 8=GND 9=+12
K1 winding 120 inductance=50mH +12 OUT1
U3 2716 8=A0 9=D0 18=GND 20=GND 21=V5 24=V5 12=GND ; irreplaceable
offsheet IN1 drive 74LS
offsheet IN2 drive 74LS
offsheet A0 drive 74LS
offsheet D0 load 74LS
output "relay pulls" current K1 above 50mA
state off IN1=low IN2=low A0=low
state on IN1=high IN2=low A0=low
"""


@pytest.fixture(scope="module")
def demo() -> Operation:
    board = read_board(find_source("plotter-drive").text, PartsVocabulary())
    return operate(compile_board(board))


class ByTables(Replacer):
    """Judges by ratings, levels and pins alone, which is quicker."""

    def _tryout(self, part: Part) -> tuple[str, ...]:
        return ()


@pytest.fixture(scope="module")
def parts(demo: Operation) -> dict[str, Replacement]:
    tables, whole = ByTables(demo), Replacer(demo)
    found = {name: tables.of(name) for name in ("U1", "U3", "Q5", "Q1", "Z1", "D1", "C1")}
    return found | {"U2": whole.of("U2")}


def test_a_type_that_stops_the_board_is_found_by_prediction(demo: Operation) -> None:
    """A base resistor of 470 kilohm leaves the Darlington 8 µA: at a gain of some thousands that is
    under the 150 mA of a phase that pulls."""
    board = demo.world.board
    part = board.part("R5")
    assert part is not None
    before = with_part(board, None)
    assert wrong_outputs(board, replace(part, value=560.0), before) == ()
    wrong = wrong_outputs(board, replace(part, value=470e3), before)
    assert any("phase A" in words and "hold-A" in words for words in wrong)


@pytest.fixture(scope="module")
def card() -> Replacer:
    return Replacer(operate(compile_board(read_board(SUPPLY_BOARD, PartsVocabulary()))))


def verdict(one: Replacement, name: str) -> str:
    return next(each.verdict for each in one.candidates if each.name == name)


def why(one: Replacement, name: str) -> str:
    return next(each.why for each in one.candidates if each.name == name)


def test_a_coil_that_lets_go_swings_as_far_as_its_clamp(parts: dict[str, Replacement]) -> None:
    """On paper: supply, zener at its tolerance, and a diode drop at half an ampere."""
    volts = worst_of(parts["Q5"].stress, "collector-emitter voltage")
    assert volts is not None
    assert 24.0 + 24.0 + 0.7 < volts.good < 24.0 + 24.0 + 3.0
    assert volts.worst < 26.4 + 25.2 + 3.0
    assert volts.worst > volts.good
    killers = {cause.fault for cause in volts.causes}
    assert {"Z1 open", "D1 open"} <= killers


def test_current_and_heat_by_ohms_law(demo: Operation, parts: dict[str, Replacement]) -> None:
    amps = worst_of(parts["Q5"].stress, "collector current")
    assert amps is not None
    assert 23.0 / 56.3 < amps.good < 23.5 / 56.3  # 24 V less the saturated Darlington
    assert amps.worst < 26.4 / (56.0 * 0.9)
    heat = worst_of(Replacer(demo).of("R1").stress, "dissipation")
    assert heat is not None
    # 74LS38 data sheet: at most 0.4 V low at 12 mA; a saturated transistor is not under 50 mV
    assert (5.0 - 0.4) ** 2 / 2200 < heat.good < (5.0 - 0.05) ** 2 / 2200
    assert heat.worst <= 5.25**2 / (2200 * 0.95)
    carried, label = net_current(demo, "CA")
    assert carried == pytest.approx(amps.worst, rel=0.01)
    assert label.startswith("hold-A") or "L1" in label


# Cross references: data sheets of each, from memory, but for those marked read.
FACTS = [
    ("Q5", "TIP121", "serves"),  # read: TIP120, 121, 122 differ in 60, 80, 100 V alone
    ("Q5", "TIP122", "serves"),
    ("Q5", "TIP31", "no"),  # a single transistor has not the gain: 25 at 1 A
    ("Q1", "2N2222A", "serves"),
    ("Q1", "PN2222A", "serves"),  # the same die in plastic, leads in the same order
    ("Q1", "BC547", "with a change"),  # leads collector base emitter
    ("U3", "74ALS38", "serves"),
    ("U3", "74LS03", "serves"),  # the same pinout, a standard open collector
    ("U3", "7438", "no"),  # four times 1.6 mA from a port of 2 mA
    ("U3", "74F38", "no"),  # read: two unit loads of 0.6 mA at each input
    ("U3", "7401", "no"),  # open collector, but output 1 is pin 1
    ("U3", "7400", "no"),
    ("U3", "7437", "no"),  # the same buffer with an output that drives high
    ("U2", "74HCT175", "serves"),
    ("U2", "74HC175", "with a change"),  # 2.4 V of TTL is not 3.5 V
    ("D1", "1N4007", "serves"),
    ("D1", "1N4148", "no"),  # 200 mA
    ("Z1", "1N4749A", "with a change"),  # 24 V 1 W
    ("Z1", "1N5361B", "with a change"),  # 27 V
    ("Z1", "1N5252B", "with a change"),  # 24 V 0.5 W
]


@pytest.mark.parametrize(("part", "name", "expected"), FACTS)
def test_cross_reference(
    parts: dict[str, Replacement], part: str, name: str, expected: str
) -> None:
    assert verdict(parts[part], name) == expected, why(parts[part], name)


def test_reasons_are_given(parts: dict[str, Replacement]) -> None:
    assert "pull-up" in why(parts["U2"], "74HC175")
    assert "pin 1: Y1 in place of A1" in why(parts["U3"], "7401")
    assert "drive high" in why(parts["U3"], "7437")
    assert "load U1 pin 32" in why(parts["U3"], "7438")
    assert "gain" in why(parts["Q5"], "TIP31")
    assert any("a time" in one.why for one in parts["C1"].candidates)


def test_a_good_board_asks_too_much_of_no_part(demo: Operation) -> None:
    """A design is sound when its own tolerances and supplies kill nothing."""
    tables = ByTables(demo)
    asked = [
        (part.designator, stress)
        for part in demo.world.board.parts
        for stress in tables.of(part.designator).stress
    ]
    assert len(asked) > 60
    assert not [one for one in asked if one[1].too_much]


def test_a_part_that_holds_a_program_stops_it(parts: dict[str, Replacement]) -> None:
    assert "program" in parts["U1"].stops[0]
    assert not parts["U1"].candidates
    assert not parts["U2"].stops


def test_eproms(card: Replacer) -> None:
    """Pinouts of JEDEC standard 21: a 2732 has A11 where a 2716 has the programming supply. Sizes:
    2 KiB and 4 KiB (common practice, no source). Programming volts: restorers' notes, read."""
    old, new = (functions(KINDS.get(name).word) for name in ("2716", "2732"))
    assert differences(old, new, {"21": "+5"}) == (
        "pin 21: A11 in place of VPP, the board has +5 there",
    )
    assert (table("memories")["2716"]["bytes"], table("memories")["2732"]["bytes"]) == (2048, 4096)
    found = card.of("U3")
    assert verdict(found, "2732") == "with a change"
    assert verdict(found, "2764") == "with a change"
    assert verdict(found, "2708") == "no"
    assert verdict(found, "2516") == "serves"
    assert any("25 V" in remark for remark in found.remarks)
    assert len(found.stops) == 2


def test_regulator(card: Replacer) -> None:
    """A 78L05 has its leads the other way round and gives 100 mA; an LM317 wants two resistors."""
    found = card.of("U1")
    amps = worst_of(found.stress, "output current")
    assert amps is not None
    assert amps.good == pytest.approx(0.065, rel=0.1)  # 5 V over 1 kilohm, and 60 mA of the EPROM
    assert verdict(found, "LM340-5") == "serves"
    assert verdict(found, "LM317") == "with a change"
    assert "another order" in why(found, "78L05")
    assert "7812" not in {one.name for one in found.candidates}


def test_array(card: Replacer) -> None:
    found = card.of("U2")
    assert verdict(found, "75468") == "serves"  # the same with 100 V outputs
    assert verdict(found, "ULN2803A") == "no"  # eighteen pins
    assert worst_of(found.stress, "output current").good == pytest.approx(0.09, rel=0.1)  # type: ignore[union-attr]  # 11 V over 120 ohm


ANALOG_BOARD = """
board "Analog card" rev A
rail +12 12V 5%
rail -12 -12V 5%
rail +5 5V 5%
U1 op-amp LM741 2=FB 3=GND 6=OUT 7=+12 4=-12
R1 10k 5% +5 FB
R2 10k 5% FB OUT
U2 dual-op-amp LM358 1=O2 2=O2 3=LOWIN 8=+5 4=GND
R3 10k 5% +5 LOWIN
R4 1k 5% LOWIN GND
U3 75452 1=A 2=+5 3=COIL
K1 winding 60 inductance=20mH +12 COIL
Z1 zener 15 a=FLY k=COIL
D1 1N4002 a=FLY k=+12
U4 555 1=GND 2=FB 3=Q 4=+5 6=FB 8=+5
U5 1489 1=LINE 3=RX
U6 LM311 1=GND 2=LOWIN 3=FB 4=GND 7=CMP 8=+5
R5 4k7 +5 CMP
offsheet A drive 74LS
offsheet LINE drive 74LS
output "buffered" volts O2 above 0.2V
state off A=low LINE=low
state on A=high LINE=low
"""


@pytest.fixture(scope="module")
def analog() -> dict[str, Replacement]:
    replacer = ByTables(operate(compile_board(read_board(ANALOG_BOARD, PartsVocabulary()))))
    return {f"U{n}": replacer.of(f"U{n}") for n in range(1, 7)}


# Data sheets, from memory, but for those marked read.
ANALOG_FACTS = [
    ("U1", "TL071", "serves", "faster"),
    ("U1", "LM301A", "with a change", "capacitor"),  # no compensation inside
    ("U1", "LF357", "with a change", "gain of 5"),
    ("U1", "CA3130", "no", "16 V"),
    ("U2", "LM2904", "serves", ""),
    ("U2", "TL072", "no", "lower supply"),  # read: LM358 inputs go to 0 V; a FET input does not
    ("U3", "75462", "serves", ""),  # 30 V where a coil lets go
    ("U3", "75472", "serves", ""),  # read: 55 V
    ("U3", "75451", "no", "AND in place of NAND"),  # read
    ("U4", "ICM7555", "with a change", "CMOS"),
    ("U5", "1489A", "serves", "hysteresis"),
    ("U6", "LM211", "serves", "temperature"),
    ("U6", "LM393", "no", "pinout"),
]


@pytest.mark.parametrize(("part", "name", "expected", "because"), ANALOG_FACTS)
def test_cross_reference_of_analog_chips(
    analog: dict[str, Replacement], part: str, name: str, expected: str, because: str
) -> None:
    assert verdict(analog[part], name) == expected, why(analog[part], name)
    assert because in why(analog[part], name)


def test_a_driver_that_lets_a_coil_go_stands_less_than_when_off(
    analog: dict[str, Replacement],
) -> None:
    """SLRS021, read: 30 V off, no latch-up at 20 V after 300 mA. On paper: 12 V, the zener and a
    diode drop, 27.7 V, which is under the first and over the second."""
    volts = worst_of(analog["U3"].stress, "output voltage when it switches a coil")
    assert volts is not None
    assert 27.0 < volts.good < 29.5
    assert volts.limit == 20.0
    assert volts.too_much
    off = worst_of(analog["U3"].stress, "output voltage when off")
    assert off is not None
    assert off.good == pytest.approx(12.0, rel=0.02)
    assert off.limit == 30.0


@pytest.mark.parametrize("ohms", [47.0, 330.0, 2200.0, 680.0, 470e3])
def test_two_resistors_in_a_row(ohms: float) -> None:
    assert sum(_pair(ohms)) == pytest.approx(ohms, rel=0.02)


def test_unknown_part(demo: Operation) -> None:
    with pytest.raises(UnknownName, match="Q9"):
        Replacer(demo).of("Q9")
    with pytest.raises(UnknownName):
        net_current(demo, "NOWHERE")


def test_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "card.board").write_text(SUPPLY_BOARD, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["replace", "card.board", "--all", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert {one["designator"] for one in said["parts"]} == {"U1", "R1", "U2", "K1", "U3"}
    assert main(["jumper", "--current", "400mA", "--width", "0.5", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["take"] == 30  # IPC-2221 and ASTM B258: 0.051 against 0.017 square mm
    assert said["track"]["rise"] < 2.0
    assert main(["replace", "card.board"]) == 2
    capsys.readouterr()
