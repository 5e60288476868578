"""The player answers as somebody at the bench would."""

import math
from collections.abc import Iterator

import pytest
from tests.trial.bench import GOOD, part_fault, pin_fault

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.build.fault import Fault
from halfsplit.checks.kind import Check
from halfsplit.checks.registry import CHECKS
from halfsplit.errors import PlaceError, TrialError
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.digits import ohms_digits, volts_digits
from halfsplit.trial.player import PLAYED, STEADY, Hand, Player
from halfsplit.trial.simulator import Simulator
from halfsplit.trial.stand import Bench, Stand

pytestmark = pytest.mark.spice

BOARD = """
board "X"
rail +5 5V 5%
R1 4k7 5% +5 PA
Q1 2N3904 c=C b=B e=GND
R2 1k +5 C
U3 7438 1=A 2=EN 3=B
R3 2k2 +5 B
R4 1k A PB
U1 controller out 21=A out 22=EN supply 40=+5 ground 20=GND
S1 switch PA GND
U2 74LS74 2=A 3=EN 5=Q 1=+5 4=+5
L1 winding 50 +5 W
R5 150 W C
testpoint TP1 B
state rest A=low EN=low
state go A=high EN=high
state clocked A=high EN=low then EN=high
state unclocked A=low EN=low then EN=high then A=high
state racing A=low EN=low then A=high EN=high
state pressed like rest S1=closed
state between A=2.4V EN=low
state dead rails=off
output "q" level C
output "pull" current L1 above 20mA
output "cv" volts C above 3
"""


@pytest.fixture(scope="module")
def board() -> Board:
    return read_board(BOARD, PartsVocabulary())


@pytest.fixture(scope="module")
def bench(ngspice: str) -> Iterator[Bench]:
    made = Bench()
    yield made
    made.close()


def player(board: Board, bench: Bench, fault: Fault = GOOD, hand: Hand = STEADY) -> Player:
    return Player(board, fault, 5, bench, hand)


def test_a_logic_probe_lights_nothing_where_nothing_holds(bench: Bench) -> None:
    """The input of a comparator behind an open joint: a meter of 10 megohm takes it to ground, a
    probe of a megohm rests it between the levels (common practice, no source), and a driven leg
    reads as before."""
    board = read_board(
        'board "X"\nrail +5 5V\nU1 LM393 3=R 2=S 1=OUT\nR1 10k +5 R\nR2 10k R GND\n'
        "R3 1k S GND\nR4 4k7 +5 OUT\nstate on\n",
        PartsVocabulary(),
    )
    there = player(board, bench, pin_fault("joint", "joint open", "U1.2"))
    assert float(there.answer(Check(kind="volts", places=("U1.2",), state="on"))) < 0.8
    levels = {pin: there.answer(Check(kind="level", places=(pin,), state="on"))
              for pin in ("U1.2", "U1.2/pad", "U1.3")}  # fmt: skip
    assert levels == {"U1.2": "undefined", "U1.2/pad": "low", "U1.3": "high"}


def test_volts_in_every_state(board: Board, bench: Bench) -> None:
    """OC into a base: 0.7 V off, 0.1 V on; the transistor inverts (textbook saturation)."""
    there = player(board, bench)
    rest, go = (float(there.answer(Check(kind="volts", places=("U3.3",), state=state)))
                for state in ("rest", "go"))  # fmt: skip
    assert 0.6 < rest < 0.85
    assert 0.02 < go < 0.3
    assert there.stand.volts("TP1", "rest") == pytest.approx(rest, abs=1e-3)
    assert there.stand.volts("net C", "rest") == pytest.approx(0.15, abs=0.12)
    assert there.stand.volts("net C", "go") == pytest.approx(5.0, abs=0.3)


def test_switch_voltage_and_power_off_states(board: Board, bench: Bench) -> None:
    there = player(board, bench)
    assert there.stand.volts("R1.2", "rest") == pytest.approx(5.0, abs=0.3)
    assert there.stand.volts("R1.2", "pressed") == pytest.approx(0.0, abs=0.01)
    assert there.stand.volts("R4.2", "between") == pytest.approx(2.4, abs=0.6)
    assert there.stand.volts("R1.2", "dead") == pytest.approx(0.0, abs=0.01)


def test_a_flip_flop_takes_data_before_the_edge(board: Board, bench: Bench) -> None:
    """Function table of the 7474: Q takes D at the rising edge and holds it after."""
    there = player(board, bench)
    clocked, unclocked, racing = (
        there.stand.volts("U2.5", state) for state in ("clocked", "unclocked", "racing")
    )
    assert clocked is not None
    assert unclocked is not None
    assert racing is not None
    assert clocked > 3.0
    assert unclocked < 0.4
    assert racing < 0.4


@pytest.mark.parametrize("fault", [GOOD, part_fault("C1", "open")])
def test_an_empty_capacitor_clears_a_flip_flop(fault: Fault, bench: Bench) -> None:
    """Function table of the 7474, CLR low makes Q low; a resistor and some microfarads on CLR
    clear it at power-on (common practice, no source). Without the capacitor it stands as drawn."""
    made = read_board(
        """board "P"
rail +5 5V
R1 4k7 +5 CLR
C1 electrolytic 10uF CLR GND
R2 1k CK GND
U1 74LS74 1=CLR 2=GND 3=CK 4=+5 5=Q
state up
""",
        PartsVocabulary(),
    )
    high = [
        (Stand(made, fault, seed, bench).volts("net Q", "up") or 0.0) > 2.4 for seed in range(8)
    ]
    assert any(high) == (fault is not GOOD)


@pytest.mark.parametrize("chip", ["7400", "74LS00", "74HC00"])
@pytest.mark.parametrize("seed", range(3))
def test_a_latch_of_two_gates_remembers(chip: str, seed: int, bench: Bench) -> None:
    """Truth table of the cross-coupled NAND latch (any textbook): it keeps what was set, and
    after power-up it stands one way or the other, meter or no meter."""
    made = read_board(
        f"""board "L"
rail +5 5V
U1 {chip} 1=S 2=NQ 3=Q 4=Q 5=R 6=NQ
offsheet S drive 74LS
offsheet R drive 74LS
state set S=low R=high then S=high
state reset S=high R=low then R=high
state up S=high R=high
""",
        PartsVocabulary(),
    )
    there = Stand(made, GOOD, seed, bench)
    for state, high in (("set", True), ("reset", False), ("up", None)):
        q, nq = there.volts("net Q", state), there.volts("net NQ", state)
        assert q is not None
        assert nq is not None
        assert (q > 2.4) != (nq > 2.4)
        assert (q < 0.5) != (nq < 0.5)
        assert high is None or (q > 2.4) == high


def test_ohms_by_hand(board: Board, bench: Bench) -> None:
    """R4 alone, both ways; R5 in series with the winding; leads of one net are one wire."""
    there = player(board, bench)
    assert there.stand.ohms("R4.1", "R4.2") == pytest.approx(1000.0, rel=0.051)
    assert there.stand.ohms("R4.2", "R4.1") == pytest.approx(1000.0, rel=0.051)
    assert there.stand.ohms("L1.1", "R5.2") == pytest.approx(165.0, rel=0.08)
    assert there.stand.ohms("R4.1", "U3.1") == 0.0
    assert there.answer(Check(kind="continuity", places=("R4.1", "U3.1"))) == "beeps"
    assert there.answer(Check(kind="continuity", places=("R4.1", "R4.2"))) == "silent"


def test_diode_range_sees_junctions(board: Board, bench: Bench) -> None:
    """Red on the base, black on the emitter: one junction, 0.5 to 0.8 V; clamp of an input."""
    there = player(board, bench)
    forward = there.stand.diode("Q1.b", "Q1.e")
    assert forward is not None
    assert 0.5 < forward < 0.85
    clamp = there.stand.diode("net GND", "U3.1")
    assert clamp is not None
    assert 0.3 < clamp < 0.85


def test_an_open_resistor_reads_ol_and_a_short_beeps(board: Board, bench: Bench) -> None:
    broken = player(board, bench, part_fault("R4", "open"))
    assert broken.answer(Check(kind="ohms", places=("R4.1", "R4.2"))) == "OL"
    assert broken.stand.ohms("R4.1", "R4.2") == math.inf
    short = player(board, bench, part_fault("R4", "short"))
    assert short.answer(Check(kind="continuity", places=("R4.1", "R4.2"))) == "beeps"


def test_a_repair_takes_its_own_fault_away_and_leaves_the_other(board: Board, bench: Bench) -> None:
    one, other = part_fault("R4", "open"), part_fault("R1", "open")
    there = Player(board, one, 5, bench, STEADY, also=(other,))
    r1, r4 = (Check(kind="ohms", places=(f"{name}.1", f"{name}.2")) for name in ("R1", "R4"))
    assert [there.answer(r4), there.answer(r1)] == ["OL", "OL"]
    there.mended({other.suspect})
    assert there.answer(r4) != "OL"
    assert there.answer(r1) == "OL"


def test_both_sides_of_an_open_joint(board: Board, bench: Bench) -> None:
    """The pull-up's end of the net is at 5 V, the leg follows what is behind it."""
    there = player(board, bench, pin_fault("joint", "joint open", "Q1.b"))
    assert there.stand.volts("Q1.b", "rest") == pytest.approx(0.0, abs=0.6)
    assert there.stand.volts("Q1.b/pad", "rest") == pytest.approx(5.0, abs=0.3)
    assert there.answer(Check(kind="continuity", places=("Q1.b", "Q1.b/pad"))) == "silent"


def test_a_bridge_ties_two_nets(board: Board, bench: Bench) -> None:
    there = player(board, bench, pin_fault("bridge", "bridged", "U3.1", "U3.2"))
    assert there.stand.ohms("U3.1", "U3.2") == pytest.approx(0.5, abs=0.3)


@pytest.mark.parametrize(("mode", "rest", "go"), [
    ("3 stuck low", "on", "on"), ("3 stuck high", "off", "off"), ("1 open", "off", "on"),
])  # fmt: skip
def test_logic_faults_by_their_meaning(
    mode: str, rest: str, go: str, board: Board, bench: Bench
) -> None:
    """7438 as an inverter of A with EN; stuck low takes the base down. An open TTL input reads
    high (practitioners' fact), so go still pulls."""
    there = player(board, bench, part_fault("U3", mode))
    high = {"on": "high", "off": "low"}
    assert there.answer(Check(kind="symptom", places=("q",), state="rest")) == high[rest]
    assert there.answer(Check(kind="symptom", places=("q",), state="go")) == high[go]


def test_symptoms_of_all_measures(board: Board, bench: Bench) -> None:
    there = player(board, bench)
    told = [there.answer(Check(kind="symptom", places=(name,), state="rest"))
            for name in ("q", "pull", "cv")]  # fmt: skip
    assert told == ["low", "on", "off"]
    assert there.answer(Check(kind="symptom", places=("pull",), state="go")) == "off"


def test_two_boards_may_take_turns_on_one_bench(board: Board, bench: Bench) -> None:
    good, bad = player(board, bench), player(board, bench, part_fault("R4", "open"))
    assert bad.stand.ohms("R4.1", "R4.2") == math.inf
    assert good.stand.ohms("R4.1", "R4.2") == pytest.approx(1000.0, rel=0.051)
    assert bad.stand.ohms("R4.2", "R4.1") == math.inf


def test_a_part_test_shows_what_the_fault_says(board: Board, bench: Bench) -> None:
    sure = player(board, bench, part_fault("R4", "open", test_out=1.0))
    assert sure.answer(Check(kind="parttest", places=("R4",))) == "failed"
    assert sure.answer(Check(kind="parttest", places=("R3",))) == "passed"
    assert sure.answer(Check(kind="swap", places=("R3",))) == "no change"


def test_noise_is_bounded_and_repeatable(board: Board, bench: Bench) -> None:
    """0.5 % and 10 mV; the same seed and luck give the same answer."""
    hand = Hand(misread=0.0)
    check = Check(kind="volts", places=("R1.2",), state="rest")
    true = float(player(board, bench).answer(check))
    told = {Player(board, GOOD, 5, bench, hand, luck).answer(check) for luck in range(8)}
    assert len(told) > 1
    assert all(abs(float(each) - true) < 0.005 * true + 0.021 for each in told)
    again = Player(board, GOOD, 5, bench, hand, 3).answer(check)
    assert again == Player(board, GOOD, 5, bench, hand, 3).answer(check)


def test_misreads_come_at_their_rate(board: Board, bench: Bench) -> None:
    check = Check(kind="level", places=("R1.2",), state="rest")
    always = Player(board, GOOD, 5, bench, Hand(misread=1.0))
    always.answer(check)
    assert always.misread == 1


def test_every_kind_that_it_plays_is_answered(board: Board, bench: Bench) -> None:
    there = player(board, bench)
    places = {"place": ("R4.1",), "pair": ("R4.1", "R4.2"), "part": ("R4",), "output": ("q",)}
    kinds = {kind.name: kind for kind in CHECKS}
    assert {"volts", "ohms", "diode", "symptom", "parttest", "swap"} <= PLAYED <= set(kinds)
    for kind in (kinds[name] for name in PLAYED - {"sisters"}):  # needs like channels: below
        check = Check(kind=kind.name, places=places[kind.takes],
                      state="rest" if kind.stateful else "")  # fmt: skip
        assert there.answer(check)
    with pytest.raises(TrialError, match="'sniff'"):
        there.answer(Check(kind="sniff", places=("R4",)))
    with pytest.raises(PlaceError, match=r"R99\.1"):
        there.answer(Check(kind="volts", places=("R99.1",), state="rest"))


def test_capacitance_and_series_resistance(bench: Bench) -> None:
    """By hand: 47 uF in -20 to +30 % beside 100 nF; loss 0.08 to 0.2 at 120 Hz makes 1.8 to 7.1 ohm
    of a 47 uF one; dried out at least ten times that; beside 1 ohm no meter finds any."""
    made = read_board(
        """board "X"
rail +5 5V 5%
C1 electrolytic 47uF +5 GND
C2 100nF +5 GND
C3 electrolytic 10uF N GND
R1 1 N GND
""", PartsVocabulary(),
    )  # fmt: skip
    told = {
        (kind, name, mode): player(
            made, bench, part_fault(name, mode) if mode else GOOD
        ).answer(Check(kind=kind, places=(f"{name}.1", f"{name}.2")))
        for kind, name, mode in (
            ("capacitance", "C1", ""), ("capacitance", "C1", "open"), ("capacitance", "C3", ""),
            ("esr", "C1", ""), ("esr", "C1", "dried out"),
        )
    }  # fmt: skip
    assert 37_600 < float(told["capacitance", "C1", ""].removesuffix("nF")) < 61_300
    assert 80 < float(told["capacitance", "C1", "open"].removesuffix("nF")) < 120
    assert told["capacitance", "C3", ""] == "?"
    good, dry = float(told["esr", "C1", ""]), float(told["esr", "C1", "dried out"])
    assert 1.6 < good < 7.2
    assert dry > 5.0 * good


@pytest.mark.parametrize(("value", "shown"), [
    (0.6849, "0.685"), (4.876, "4.88"), (23.97, "24.0"), (-0.00001, "0.000"), (-0.3, "-0.300"),
])  # fmt: skip
def test_digits_of_volts(value: float, shown: str) -> None:
    assert volts_digits(value) == shown


@pytest.mark.parametrize(("value", "shown"), [
    (4.72, "4.7"), (218.4, "218"), (4712.0, "4.71k"), (47120.0, "47.1k"), (471e3, "471k"),
    (4.7e6, "4.70M"), (3e7, "OL"),
])  # fmt: skip
def test_digits_of_ohms(value: float, shown: str) -> None:
    assert ohms_digits(value) == shown


def test_a_refused_circuit_and_a_dead_program_are_told(ngspice: str) -> None:
    with Simulator(ngspice) as running, pytest.raises(TrialError, match="take the circuit"):
        running.load("* t\nq1 a b c nosuch\nr1 a 0 1k\n.end\n")
    dead = Simulator("/bin/false")
    with pytest.raises(TrialError, match="stopped"):
        dead.load("* t\nr1 a 0 1k\n.end\n")
    dead.close()


SISTERS = """
board "Y"
rail +5 5V
R[1-4] 1k 5% +5 N[1-4]
R[5-8] 1k 5% N[1-4] GND
state on
"""


@pytest.mark.parametrize(("fault", "said"), [
    (GOOD, "alike"),
    (part_fault("R6", "open"), "second"),
    (part_fault("R8", "short"), "fourth"),
])  # fmt: skip
def test_the_odd_one_of_four_like_channels(fault: Fault, said: str, bench: Bench) -> None:
    made = read_board(SISTERS, PartsVocabulary())
    world = compile_board(made)
    player = Player(world.board, fault, 1, bench, STEADY, world=world)
    check = next(iter(CHECKS.get("sisters").offers(world)))
    assert player.answer(check) == said


def test_whoever_knows_that_it_comes_and_goes_waits_for_it(board: Board, bench: Bench) -> None:
    """There at three looks in ten: eight looks meet it 0.942 of the time (1 - 0.7**8)."""
    good, fault = Stand(board, GOOD, 5, bench), part_fault("R3", "open")
    check, told = Check(kind="volts", places=("TP1",), state="rest"), []
    for luck in range(20):
        player = Player(board, fault, 5, bench, STEADY, luck, present=0.3, good=good)
        quick = float(player.answer(check)) < 0.3
        assert player.answer(Check(kind="constancy", places=("q",))) == "comes and goes"
        told.append((quick, float(player.answer(check)) < 0.3))
    found = [sum(each) for each in zip(*told, strict=True)]
    assert found[0] <= 12
    assert found[1] >= 17
