"""Cards of pure logic: what explains their tests, and the way to the fault."""

from itertools import product

import numpy as np
import pytest
from tests.belief.truth import truth
from tests.solve.gate_circuits import iscas

from halfsplit.belief.posterior import joint, posterior
from halfsplit.board.reader import read_board
from halfsplit.build.gates import NamedGates, read_bench
from halfsplit.build.gates_board import board_gates
from halfsplit.diagnose.gates import GateCase, GateTest, Level, listed
from halfsplit.diagnose.gates_cover import cover
from halfsplit.diagnose.gates_typed import order_of_levels, typed_reading, typed_test
from halfsplit.errors import ReadingError, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve.gates import columns
from halfsplit.solve.gates_cases import Seen, nets_under
from halfsplit.solve.gates_sets import free_nets, shares

TRUTH = truth()
ADDER = read_bench(
    "INPUT(A)\nINPUT(B)\nINPUT(C)\nOUTPUT(X2)\nOUTPUT(O1)\nX1 = XOR(A, B)\nX2 = XOR(X1, C)\n"
    "A1 = AND(A, B)\nA2 = AND(X1, C)\nO1 = OR(A1, A2)\n",
    source="full adder",
)
WORDS = {"A": 3, "B": 2, "C": 2, "D": 3, "E": 3}


def test_full_adder_with_several_bad_gates_at_once() -> None:
    """All 32 sets; a bad gate puts out either level."""
    gates = ("X1", "X2", "A1", "A2", "O1")
    sets = [
        tuple(ADDER.net(gate) for gate, bad in zip(gates, bads, strict=True) if bad)
        for bads in product((False, True), repeat=5)
    ]
    test = typed_test(ADDER, "101:10")
    likely = shares(ADDER.network, sets, [test.given], [test.seen])
    prior = np.array([0.01 ** len(each) * 0.99 ** (5 - len(each)) for each in sets])
    p = posterior(prior, joint([likely], 32))
    assert p[sets.index((ADDER.net("X1"),))] == pytest.approx(TRUTH["adder only X1"], abs=5e-6)
    for gate in gates:
        marginal = sum(p[row] for row, each in enumerate(sets) if ADDER.net(gate) in each)
        assert marginal == pytest.approx(TRUTH[f"adder {gate}"], abs=5e-6), gate


def test_full_adder_by_single_faults_and_by_pairs() -> None:
    """Minimal diagnoses {X1} {X2 A2} {X2 O1}: Reiter 1987 (from memory)."""
    case = GateCase.start(ADDER, [typed_test(ADDER, "101:10")], model="inverted", other=0.0)
    assert [one.fault for one in case.suspects()] == ["the gate of X1 gives the opposite"]
    assert set(case.pairs()) == {"X2 and A2", "X2 and O1"}


def test_multipliers_and_adders_in_gates() -> None:
    """The polybox of de Kleer and Williams 1987, of gates: minimal diagnoses of modules, and what
    X, Y and Z read under each (tests/truth/diagnosis_examples.csv, polybox)."""
    named, outputs = _polybox()
    given = np.array([WORDS[name[0]] >> int(name[1:]) & 1 for name in named.inputs], np.bool_)
    seen = _of_words(named, {"F": 10, "G": 12})
    modules = {"M1": "X", "M2": "Y", "M3": "Z", "A1": "F", "A2": "G"}
    nets = {name: [named.net(bit) for bit in outputs[word]] for name, word in modules.items()}
    alone = shares(named.network, list(nets.values()), [given], [seen])
    assert [name for name, share in zip(nets, alone, strict=True) if share] == ["M1", "A1"]
    pairs = [("M2", "M3"), ("M2", "A2"), ("M3", "A2")]
    together = shares(named.network, [nets[a] + nets[b] for a, b in pairs], [given], [seen])
    assert [pair for pair, share in zip(pairs, together, strict=True) if share] == pairs[:2]
    expected = {("A1",): (6, 6, 6), ("M1",): (4, 6, 6), ("M2", "A2"): (6, 4, 6),
                ("M2", "M3"): (6, 4, 8)}  # fmt: skip
    for bad, words in expected.items():
        free = free_nets(named.network, [[net for name in bad for net in nets[name]]], given)
        every = columns(free.nets, np.arange(len(free.owner)))
        fits = (every[named.network.outputs] == (seen == 1)[:, None]).all(axis=0)
        for word, value in zip("XYZ", words, strict=True):
            bits = every[[named.net(bit) for bit in outputs[word]]][:, fits]
            assert set((bits.T @ (1 << np.arange(len(bits)))).tolist()) == {value}, (bad, word)


def test_faults_of_a_board_are_nets_and_pins_each_once() -> None:
    """A 7400 whose other pins are open: net A goes to two pins."""
    text = 'board "x"\nrail +5 5V\nU1 7400 1=A 2=A 3=Y\nR1 1k Y GND\n'
    named = board_gates(read_board(text, PartsVocabulary()))
    case = GateCase.start(named, [typed_test(named, "A=1:Y=1")], model="both", slip=0, other=0)
    assert {one.fault for one in case.suspects()} == {
        "A stuck low", "U1.1 (A) stuck low", "U1.2 (A) stuck low", "Y stuck high",
        "the gate of Y gives the opposite",
    }  # fmt: skip
    assert [probe.net for probe in case.probes()] == ["A"], "the outputs were seen"


def test_every_inverted_gate_of_c432_is_found_with_few_probes() -> None:
    """With further vectors to choose from, mean probes are within 10 % of the bits left."""
    named = iscas("c432")
    rng = np.random.default_rng(4)
    bits: list[float] = []
    probes: list[int] = []
    while len(bits) < 25:
        case, fault = _failing(named, rng, offer=12)
        if case is None:
            continue
        bits.append(case.bits_left())
        case, taken = _found(case, fault)
        assert case.p.max() == pytest.approx(1.0)
        assert _changes_of(case)[int(case.p.argmax())] == fault
        probes.append(taken)
    assert np.mean(probes) <= 1.1 * np.mean(bits)


def test_a_slip_is_forgiven() -> None:
    named = iscas("c17")
    case = GateCase.start(named, [typed_test(named, "10110:11")])
    assert case.words(0) == "N16 stuck low"
    wrong = case.read(typed_reading(named, "N10=1", 1))
    assert wrong.suspects(1)[0].fault.startswith("something else")
    again = wrong
    for text in ("N10=low", "N10=L@1"):
        again = again.read(typed_reading(named, text, 1))
    assert again.p == pytest.approx(case.p, abs=1e-2)
    assert again.suspects(1)[0].fault == case.suspects(1)[0].fault


def test_probe_says_what_a_good_card_gives() -> None:
    named = iscas("c17")
    probe = GateCase.start(named, [typed_test(named, "10110:11")], slip=0.0, other=0.0).probes(1)[0]
    assert (probe.net, probe.good, probe.good_chance) == ("N16", True, 0.75)
    assert probe.bits == pytest.approx(0.8113, abs=1e-4), "entropy of one in four (Shannon 1948)"
    assert probe.inputs == "10110"


def test_tests_by_name_and_by_order_are_the_same() -> None:
    named = iscas("c17")
    one = typed_test(named, "1011 0: x1")
    other = typed_test(named, "N1=1,N2=low,N3=H, N6=1,N7=0:N23=1")
    assert one.given.tolist() == other.given.tolist()
    assert one.seen.tolist() == other.seen.tolist() == [-1, 1]
    assert order_of_levels(named) == "N1 N2 N3 N6 N7 : N22 N23"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("10110", "expected a test as INPUTS:OUTPUTS"),
        ("1011:11", "expected 5 levels 0, 1 or x, one for each input"),
        ("1x110:11", "expected a level for every input, got none for N2"),
        ("N1=1,N2=1:11", "got none for N3, N6, N7"),
        ("N1=up:11", "expected a level: 0, 1, low or high, got 'up'"),
    ],
)
def test_tests_with_mistakes(text: str, message: str) -> None:
    with pytest.raises(ReadingError, match=message):
        typed_test(iscas("c17"), text)


@pytest.mark.parametrize(
    ("text", "message"),
    [("N10", "NET=LEVEL"), ("N10=1@3", "a test from 1 to 2, got 3"), ("N10=z", "expected a level")],
)
def test_readings_with_mistakes(text: str, message: str) -> None:
    with pytest.raises(ReadingError, match=message):
        typed_reading(iscas("c17"), text, 2)
    with pytest.raises(UnknownName, match="did you mean N1"):
        typed_reading(iscas("c17"), "N1O=1", 2)


def test_a_card_that_passes_is_no_case() -> None:
    named = iscas("c17")
    with pytest.raises(ReadingError, match="expected a test that fails"):
        GateCase.start(named, [typed_test(named, "10110:10")])


def test_cover_of_c17() -> None:
    found = cover(iscas("c17"), 1000)
    assert (found.faults, found.classes, found.shown, found.vectors) == (34, 22, 22, 32)
    assert found.all_vectors
    assert "all 32 vectors show 22 of them, which is all" in found.sentence


def _failing(
    named: NamedGates, rng: np.random.Generator, *, offer: int
) -> tuple[GateCase | None, tuple[int, int]]:
    """A case of one inverted gate and one random vector, unless that vector does not show it."""
    changes = listed(named, "inverted")
    chosen = int(rng.integers(changes.count))
    given = rng.random(len(named.inputs)) < 0.5
    bad = changes.take(np.array([chosen]))
    seen = columns(nets_under(named.network, bad, given), np.array([0]))[named.network.outputs, 0]
    fault = int(changes.net[chosen]), int(changes.what[chosen])
    test = GateTest(given=given, seen=seen.astype(np.int8))
    try:
        case = GateCase.start(named, [test], model="inverted", slip=0, other=0, offer=offer)
    except ReadingError:
        return None, fault
    return case, fault


def _found(case: GateCase, fault: tuple[int, int]) -> tuple[GateCase, int]:
    """Probe as told until nothing is left to probe; how often that was."""
    taken = 0
    at = _changes_of(case).index(fault)
    while probes := case.probes(1):
        net = case.named.net(probes[0].net)
        high = _read(case, net, probes[0].test, at)
        case = case.read(Level(net=net, test=probes[0].test, high=high))
        taken += 1
    return case, taken


def _read(case: GateCase, net: int, test: int, fault: int) -> bool:
    one = case.changes.take(np.array([fault]))
    nets = nets_under(case.named.network, one, case.tests[test].given)
    return bool(columns(nets, np.array([0]))[net, 0])


def _changes_of(case: GateCase) -> list[tuple[int, int]]:
    return list(zip(case.changes.net.tolist(), case.changes.what.tolist(), strict=True))


def _of_words(named: NamedGates, words: dict[str, int]) -> Seen:
    levels = [words[name[0]] >> int(name[1:]) & 1 for name in named.outputs]
    return np.array(levels, dtype=np.int8)


def _polybox() -> tuple[NamedGates, dict[str, list[str]]]:
    """X = A C, Y = B D, Z = C E of two bits each; F = X + Y, G = Y + Z."""
    lines = [f"INPUT({word}{k})" for word in "ABCDE" for k in (0, 1)]
    for one, other, out in (("A", "C", "X"), ("B", "D", "Y"), ("C", "E", "Z")):
        for i, j in product((0, 1), repeat=2):
            lines.append(f"{out}p{i}{j} = AND({one}{i}, {other}{j})")
        lines += [
            f"{out}0 = BUF({out}p00)",
            f"{out}1 = XOR({out}p01, {out}p10)",
            f"{out}c = AND({out}p01, {out}p10)",
            f"{out}2 = XOR({out}p11, {out}c)",
            f"{out}3 = AND({out}p11, {out}c)",
        ]
    for one, other, out in (("X", "Y", "F"), ("Y", "Z", "G")):
        carry = ""
        for k in range(4):
            a, b = f"{one}{k}", f"{other}{k}"
            sources = f"{a}, {b}" + (f", {carry}" if carry else "")
            lines.append(f"{out}{k} = XOR({sources})")
            terms = [f"{out}t{k} = AND({a}, {b})"]
            if carry:
                terms += [f"{out}u{k} = AND({a}, {carry})", f"{out}v{k} = AND({b}, {carry})"]
            lines += terms
            carry = f"{out}k{k}"
            lines.append(f"{carry} = OR({', '.join(term.split(' ')[0] for term in terms)})")
        lines.append(f"{out}4 = BUF({carry})")
    lines += [f"OUTPUT({word}{k})" for word in "FG" for k in range(5)]
    words = {"X": 4, "Y": 4, "Z": 4, "F": 5, "G": 5}
    named = read_bench("\n".join(lines), source="polybox")
    return named, {word: [f"{word}{k}" for k in range(n)] for word, n in words.items()}
