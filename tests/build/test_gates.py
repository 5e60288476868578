"""Netlists, chips and boards as networks of gates."""

from collections.abc import Mapping

import numpy as np
import pytest

from halfsplit.board.reader import read_board
from halfsplit.build.gates import NamedGates, read_bench
from halfsplit.build.gates_board import board_gates, chip_gates
from halfsplit.errors import BoardError, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve.gates import Bits, columns, pack, values

BOARD = """\
board "Gating"
rail +5 5V
U1 74LS00 1=A 2=B 3=N1 4=N1 5=+5 6=Y
U2 74LS05 1=A 2=WIRED 3=B 4=WIRED
R1 4k7 5% +5 WIRED
U3 74LS74 2=Y 3=CLK 5=Q 6=nQ
U4 74LS08 1=Q 3=Z
"""


def everything(named: NamedGates) -> dict[str, Bits]:
    """[2^I] levels of every net for all input vectors, the first input counting fastest."""
    count = len(named.inputs)
    given = np.arange(1 << count) >> np.arange(count)[:, None] & 1
    found = values(named.network, pack(given.astype(np.bool_)))
    bits = columns(found, np.arange(1 << count))
    return dict(zip(named.names, bits, strict=True))


def number(levels: Mapping[str, Bits], names: str) -> np.typing.NDArray[np.int64]:
    """Of nets as a binary number, the lowest bit first."""
    return sum((levels[name].astype(np.int64) << k for k, name in enumerate(names.split())),
               start=np.zeros(1, dtype=np.int64))  # fmt: skip


def test_netlist_in_any_order() -> None:
    named = read_bench("# half adder\nINPUT(a)\nOUTPUT(c)\ns = xor(a, b) # sum\nINPUT(b)\n"
                       "c = AND(a, b)\nOUTPUT(s)\n")  # fmt: skip
    assert (named.inputs, named.outputs) == (("a", "b"), ("c", "s"))
    levels = everything(named)
    assert levels["s"].tolist() == [False, True, True, False]
    assert levels["c"].tolist() == [False, False, False, True]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "INPUT(a)\nOUTPUT(y)\ny = NADN(a, a)",
            r"3:1: error: expected one of .*, got NADN \(did you mean NAND",
        ),
        ("INPUT(a)\nOUTPUT(y)\ny = NOT(a, a)", "3:1: error: expected one input of NOT, got 2"),
        ("INPUT(a)\nOUTPUT(y)", "2:1: error: expected a gate or INPUT that feeds y, got none"),
        ("INPUT(a)\nINPUT(a)\nOUTPUT(a)", "2:1: .* got a second one; the first is in line 1"),
        ("INPUT(a)\nOUTPUT(q)\nq = DFF(a)", "3:1: .* got a DFF; make its output an INPUT"),
        ("INPUT(a)\nOUTPUT(q)\nr = NOR(a, q)\nq = BUF(r)", "got a loop: "),
        ("INPUT(a)\ny = NOT(a)", "expected at least one OUTPUT"),
        ("INPUT(a)\nOUTPUT(y)\ny = AND(a,)", "3:1: error: expected names of nets with commas"),
        ("INPUT a", "1:1: error: expected INPUT"),
        ("OUTPUT(a b)", "1:1: error: expected names of nets"),
    ],
)
def test_netlists_with_mistakes(text: str, message: str) -> None:
    with pytest.raises(BoardError, match=message):
        read_bench(text)


@pytest.mark.parametrize("kind", ["74LS283", "7483"])
def test_adder_adds(kind: str) -> None:
    """74283 data sheet: sum and carry of two 4-bit numbers and a carry."""
    levels = everything(chip_gates(kind))
    wanted = number(levels, "A1 A2 A3 A4") + number(levels, "B1 B2 B3 B4") + levels["C0"]
    assert (number(levels, "S1 S2 S3 S4 C4") == wanted).all()


def test_comparator_compares() -> None:
    """74LS85 data sheet, function table with its last three rows (from memory)."""
    levels = everything(chip_gates("74LS85"))
    a, b = number(levels, "A0 A1 A2 A3"), number(levels, "B0 B1 B2 B3")
    greater, less, equal = levels["IGT"], levels["ILT"], levels["IEQ"]
    same = a == b
    assert (levels["OGT"] == ((a > b) | same & ~equal & ~less)).all()
    assert (levels["OLT"] == ((a < b) | same & ~equal & ~greater)).all()
    assert (levels["OEQ"] == (same & equal)).all()


def test_arithmetic_unit_has_its_sixteen_functions() -> None:
    """74181 data sheet, table for active-high data (from memory)."""
    levels = everything(chip_gates("74LS181"))
    a, b = number(levels, "A0 A1 A2 A3"), number(levels, "B0 B1 B2 B3")
    select = number(levels, "S0 S1 S2 S3")
    out, carry = number(levels, "F0 F1 F2 F3"), ~levels["CN"]
    na, nb, minus1 = 15 - a, 15 - b, np.full_like(a, 15)
    logic = [na, na & nb, na & b, 0 * a, na | nb, nb, a ^ b, a & nb,
             na | b, 15 - (a ^ b), b, a & b, minus1, a | nb, a | b, a]  # fmt: skip
    zero = 0 * a
    terms = [(a, zero), (a | b, zero), (a | nb, zero), (minus1, zero), (a, a & nb),
             (a | b, a & nb), (a, nb), (a & nb, minus1), (a, a & b), (a, b), (a | nb, a & b),
             (a & b, minus1), (a, a), (a | b, a), (a | nb, a), (a, minus1)]  # fmt: skip
    for code, (one, other) in enumerate(terms):
        here = select == code
        arithmetic, rest = here & ~levels["M"], here & levels["M"]
        total = one + other + carry
        assert (out == total % 16)[arithmetic].all(), code
        assert (levels["C4"] == (total < 16))[arithmetic].all(), code
        assert (out == logic[code])[rest].all(), code
    assert (levels["AEQB"] == (out == 15)).all()


def test_look_ahead_gives_the_carries_of_a_ripple() -> None:
    """74182 data sheet: with generate and propagate of four digits, each carry and the group's."""
    levels = everything(chip_gates("74182"))
    carry = levels["CN"]
    generate = np.zeros_like(carry)
    for digit, out in enumerate(("CNX", "CNY", "CNZ", "")):
        makes, passes = ~levels[f"nG{digit}"], ~levels[f"nP{digit}"]
        carry = makes | passes & carry
        generate = makes | passes & generate
        assert not out or (levels[out] == carry).all()
    assert (levels["nG"] == ~generate).all()
    assert (levels["nP"] == ~np.logical_and.reduce([~levels[f"nP{k}"] for k in range(4)])).all()


def test_board_with_memory_around_its_gates() -> None:
    named = board_gates(read_board(BOARD, PartsVocabulary()))
    assert named.inputs == ("A", "B", "Q")
    assert named.outputs == ("Y", "WIRED", "Z")
    levels = everything(named)
    a, b = levels["A"], levels["B"]
    assert (levels["Y"] == (a & b)).all()
    assert (levels["WIRED"] == (~a & ~b)).all(), "open collectors share the net"
    assert (levels["Z"] == levels["Q"]).all(), "an open TTL input acts as high"
    probed = {name for net, name in enumerate(named.names) if net not in named.unread}
    assert probed == {"A", "B", "Q", "N1", "Y", "WIRED", "Z"}
    listed = {name for net, name in enumerate(named.names) if net not in named.inside}
    assert {"U1.1", "U4.2"} <= listed
    assert not any(":" in name for name in listed)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('board "x"\nrail +5 5V\nR1 1k +5 GND\n', "at least one logic chip without memory"),
        (
            'board "x"\nrail +5 5V\nU1 74LS04 1=A 2=Y 3=B 4=Y\n',
            "expected one output on Y, .* got U1.2, U1.4",
        ),
    ],
)
def test_boards_without_clear_logic(text: str, message: str) -> None:
    with pytest.raises(BoardError, match=message):
        board_gates(read_board(text, PartsVocabulary()))


def test_chips_that_are_not_pure_logic() -> None:
    with pytest.raises(ValueError, match="without memory, got 74LS74"):
        chip_gates("74LS74")
    with pytest.raises(UnknownName, match="74LS999"):
        chip_gates("74LS999")
