"""Every chip without memory against a function written from the data sheet's function table.

The functions count, compare and index; they share no formula with the package's table. Source:
function tables of the data sheets, from memory, except 42, 74, 75, 85, 125, 126, 139, 151, 153,
157, 174 (tables beside the pin lists named N in ``tests/truth/logic_pins.toml``, read), 85 (cascade
rows from memory), 138 and 240 (data sheets, read).
"""

from collections.abc import Callable, Mapping

import numpy as np
import pytest

from halfsplit.board.model import Part
from halfsplit.parts.logic import KINDS, LogicChip
from halfsplit.solve import expression
from halfsplit.solve.laws.logic import LogicOutput

Bits = Mapping[str, int]
Answer = dict[str, int | None]
"""Output name -> level, ``None`` when it lets go."""
Function = Callable[[Bits], Answer]
MOST = 4096


def each_unit(units: int, inputs: str, rule: Callable[[list[int]], int]) -> Function:
    """Like gates A1 B1 -> Y1, A2 B2 -> Y2, ..."""

    def answer(i: Bits) -> Answer:
        return {f"Y{u}": rule([i[f"{name}{u}"] for name in inputs]) for u in range(1, units + 1)}

    return answer


def nand(bits: list[int]) -> int:
    return 0 if min(bits) == 1 else 1


def nor(bits: list[int]) -> int:
    return 1 if sum(bits) == 0 else 0


def both(bits: list[int]) -> int:
    return 1 if sum(bits) == len(bits) else 0


def either(bits: list[int]) -> int:
    return 1 if sum(bits) > 0 else 0


def odd(bits: list[int]) -> int:
    return sum(bits) % 2


def same(bits: list[int]) -> int:
    return bits[0]


def inverse(bits: list[int]) -> int:
    return 1 - bits[0]


def number(i: Bits, names: str) -> int:
    """A binary number from inputs, most significant first."""
    return int("".join(str(i[name]) for name in names.split()), 2)


def one_low(count: int, chosen: int | None, name: str = "Y{}") -> Answer:
    return {name.format(n): 0 if n == chosen else 1 for n in range(count)}


def decoder_42(i: Bits) -> Answer:
    return one_low(10, number(i, "D C B A"))


def decoder_138(i: Bits) -> Answer:
    enabled = (i["G1"], i["nG2A"], i["nG2B"]) == (1, 0, 0)
    return one_low(8, number(i, "C B A") if enabled else None)


def decoder_139(i: Bits) -> Answer:
    found: Answer = {}
    for u in "12":
        chosen = number(i, f"B{u} A{u}") if i[f"nG{u}"] == 0 else None
        found |= one_low(4, chosen, f"Y{u}_{{}}")
    return found


def comparator_85(i: Bits) -> Answer:
    a, b = number(i, "A3 A2 A1 A0"), number(i, "B3 B2 B1 B0")
    if a != b:
        more, less, equal = int(a > b), int(a < b), 0
    elif i["IEQ"]:
        more, less, equal = 0, 0, 1
    else:
        rows = {(1, 0): (1, 0), (0, 1): (0, 1), (1, 1): (0, 0), (0, 0): (1, 1)}
        (more, less), equal = rows[i["IGT"], i["ILT"]], 0
    return {"OGT": more, "OLT": less, "OEQ": equal}


def invert_51_standard(i: Bits) -> Answer:
    return {
        f"Y{u}": 0 if i[f"A{u}"] + i[f"B{u}"] == 2 or i[f"C{u}"] + i[f"D{u}"] == 2 else 1
        for u in "12"
    }


def invert_51_low_power(i: Bits) -> Answer:
    first = i["A1"] + i["B1"] + i["C1"] == 3 or i["D1"] + i["E1"] + i["F1"] == 3
    second = i["A2"] + i["B2"] == 2 or i["C2"] + i["D2"] == 2
    return {"Y1": int(not first), "Y2": int(not second)}


def selector_151(i: Bits) -> Answer:
    chosen = 0 if i["nG"] else i[f"D{number(i, 'C B A')}"]
    return {"Y": chosen, "W": 1 - chosen}


def selector_153(i: Bits) -> Answer:
    return {f"Y{u}": 0 if i[f"nG{u}"] else i[f"C{u}_{number(i, 'B A')}"] for u in "12"}


def selector(off: int | None, inverted: bool) -> Function:
    """157, 158 and 257: ``off`` is what the outputs do with G high."""

    def answer(i: Bits) -> Answer:
        found: Answer = {}
        for u in "1234":
            chosen = i[("AB"[i["S"]]) + u]
            found[f"Y{u}"] = off if i["nG"] else (1 - chosen if inverted else chosen)
        return found

    return answer


def buffer_quad(enable: str, level: int) -> Function:
    def answer(i: Bits) -> Answer:
        return {f"Y{u}": i[f"A{u}"] if i[f"{enable}{u}"] == level else None for u in "1234"}

    return answer


def octal(second: str, second_level: int, inverted: bool) -> Function:
    """240, 241, 244: four buffers on each enable."""

    def answer(i: Bits) -> Answer:
        on = {"1": i["nG1"] == 0, "2": i[second] == second_level}
        return {
            f"Y{u}_{n}": ((i[f"A{u}_{n}"] + inverted) % 2 if on[u] else None)
            for u in "12"
            for n in "1234"
        }

    return answer


def transceiver_245(i: Bits) -> Answer:
    found: Answer = {}
    for n in range(1, 9):
        found[f"A{n}"] = i[f"B{n}"] if not i["nG"] and not i["DIR"] else None
        found[f"B{n}"] = i[f"A{n}"] if not i["nG"] and i["DIR"] else None
    return found


def hex_bus(split: bool, inverted: bool) -> Function:
    """365 and 366 (two enables together), 367 and 368 (four and two)."""

    def answer(i: Bits) -> Answer:
        found: Answer = {}
        for n in range(1, 7):
            on = not i["nG1" if n <= 4 else "nG2"] if split else i["nG1"] + i["nG2"] == 0
            found[f"Y{n}"] = (i[f"A{n}"] + inverted) % 2 if on else None
        return found

    return answer


FUNCTIONS: dict[str, Function] = {
    **dict.fromkeys(("00", "01", "03", "26", "37", "38", "132"), each_unit(4, "AB", nand)),
    "02": each_unit(4, "AB", nor),
    **dict.fromkeys(("04", "05", "06", "14"), each_unit(6, "A", inverse)),
    "07": each_unit(6, "A", same),
    **dict.fromkeys(("08", "09"), each_unit(4, "AB", both)),
    **dict.fromkeys(("10", "12"), each_unit(3, "ABC", nand)),
    "11": each_unit(3, "ABC", both),
    **dict.fromkeys(("20", "22", "40"), each_unit(2, "ABCD", nand)),
    "21": each_unit(2, "ABCD", both),
    "27": each_unit(3, "ABC", nor),
    "30": lambda i: {"Y": nand([i[name] for name in "ABCDEFGH"])},
    "32": each_unit(4, "AB", either),
    "42": decoder_42,
    "85": comparator_85,
    "86": each_unit(4, "AB", odd),
    "125": buffer_quad("nG", 0),
    "126": buffer_quad("G", 1),
    "138": decoder_138,
    "139": decoder_139,
    "151": selector_151,
    "153": selector_153,
    "157": selector(0, False),
    "158": selector(1, True),
    "240": octal("nG2", 0, True),
    "241": octal("G2", 1, False),
    "244": octal("nG2", 0, False),
    "245": transceiver_245,
    "257": selector(None, False),
    "365": hex_bus(False, False),
    "366": hex_bus(False, True),
    "367": hex_bus(True, False),
    "368": hex_bus(True, True),
}
CLOCKED = {"74", "75", "174", "175", "273", "373", "374"}


def wired(kind: LogicChip) -> Part:
    return Part(
        designator="U1",
        kind=kind.name,
        pins={pin.name: f"N{pin.name}" for pin in kind.word.pins if pin.role != "nc"},
    )


def function_of(kind: LogicChip) -> Function:
    if kind.chip.number == "51":
        return invert_51_standard if kind.family.name == "74" else invert_51_low_power
    return FUNCTIONS[kind.chip.number]


def test_every_number_has_a_function() -> None:
    assert {kind.chip.number for kind in KINDS} == set(FUNCTIONS) | CLOCKED | {"51"}


@pytest.mark.parametrize(
    "kind", [kind for kind in KINDS if kind.chip.number not in CLOCKED], ids=lambda kind: kind.name
)
def test_levels_follow_the_function_table(kind: LogicChip, rng: np.random.Generator) -> None:
    inputs = [pin for pin in kind.chip.pins if pin.role in ("in", "io")]
    cases = 2 ** len(inputs)
    rows = np.arange(cases) if cases <= MOST else rng.integers(0, cases, MOST // 4)
    columns = {pin.number: (rows >> n) & 1 for n, pin in enumerate(inputs)}
    outputs = {
        element.terminals[0]: element
        for element in kind.elements(wired(kind))
        if isinstance(element.law, LogicOutput)
    }
    assert len(outputs) == len(kind.chip.outputs)
    function = function_of(kind)
    want = [
        function({pin.name: int(columns[pin.number][n]) for pin in inputs})
        for n in range(rows.size)
    ]
    assert set(want[0]) == {output.name for output in kind.chip.outputs}
    for output in kind.chip.outputs:
        element = outputs[kind.chip.pin(output.name).number]
        law = element.law
        assert isinstance(law, LogicOutput)
        seen = {
            name: columns[pin].astype(float)
            for name, pin in zip(law.inputs, element.terminals[3:], strict=True)
        }
        level = np.broadcast_to(expression.evaluate(law.level, seen), rows.shape)
        enable = expression.evaluate(law.enable, seen) if law.enable else np.ones(rows.size)
        for n, row in enumerate(want):
            got = None if enable[n] == 0.0 else level[n]
            assert got == row[output.name], (output.name, {k: v[n] for k, v in columns.items()})
