"""Several things in one case, and what stands on a front panel: each in its own shape.

Circles at an output that is the other way round, the rhombus of an open collector and the triangle
of three states: IEEE 91-1984, from memory. Pins: data sheets, from memory, as the parts have them.
"""

import re

import pytest

from halfsplit.board.reader import read_board
from halfsplit.draw.layout import lay_out
from halfsplit.draw.measure import quality
from halfsplit.draw.symbol import HEAD, Symbol
from halfsplit.draw.symbols import symbol_of
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic.sheet import sheet_of

RING = "a3 3 0 1 1 6 0"
WORDS = PartsVocabulary()


def drawn(line: str) -> dict[str, Symbol]:
    """Symbols by id, as on a board with the usual supplies."""
    board = read_board(f'board "One"\nrail +5 5V\nrail +12 12V\nrail -12 -12V\n{line}\n', WORDS)
    sheet = sheet_of(board)
    assert quality(lay_out(sheet)).overlaps == 0
    return {box.id: symbol_of(box, labelled=sheet.labelled) for box in sheet.boxes}


def height(symbol: Symbol, pin: str) -> int:
    (port,) = [port for port in symbol.ports if port.pin.name == pin]
    return port.y - HEAD


def rings(symbol: Symbol) -> list[int]:
    """Heights of the circles."""
    return [int(re.match(r"M\d+ (\d+)a", one)[1]) for one in symbol.lines if RING in one]  # type: ignore[index]  # all begin so


def test_an_array_has_each_input_across_from_its_output() -> None:
    symbol = drawn("U1 ULN2003A [1-7]=I[1-7] [16,15,14,13,12,11,10]=O[1-7] 8=GND 9=+12")["U1"]
    for number in range(1, 8):
        assert height(symbol, str(number)) == height(symbol, str(17 - number))
    assert rings(symbol) == [height(symbol, str(number)) for number in range(1, 8)]
    assert sum("l3 -3l3 3l-3 3z" in line for line in symbol.lines) == 7
    # The clamp diodes conduct towards their common pin.
    assert any(f"L105 {height(symbol, '9')}Z" in line for line in symbol.lines)


def test_a_pair_of_wires_has_its_ring_at_the_inverted_one() -> None:
    symbol = drawn("U1 26LS31 1=A 2=P 3=N 7=B 6=Q 5=M 4=+5 12=GND")["U1"]
    assert rings(symbol) == [height(symbol, "3"), height(symbol, "5")]
    assert height(symbol, "2") < height(symbol, "1") < height(symbol, "3")
    plus = {y - HEAD for x, y, _, sign in drawn("U1 9637 8=A 7=B 2=Y")["U1:a"].words if sign == "+"}
    assert plus == {height(drawn("U1 9637 8=A 7=B 2=Y")["U1:a"], "8") + 3}


def test_a_line_driver_is_the_gate_that_it_is() -> None:
    units = drawn("U1 1488 2=A 3=X 4=A 5=B 6=Y")
    one, two = units["U1:a"], units["U1:b"]
    assert rings(one) == [height(one, "3")]
    assert rings(two) == [height(two, "6")]
    assert one.shapes != two.shapes
    assert drawn("U2 74LS00 1=A 2=B 3=Y")["U2:a"].shapes == two.shapes


def test_transistors_of_an_array_stand_apart_with_their_pins() -> None:
    boxes = drawn("U1 CA3046 1=C1 2=B1 3=E 4=B2 5=C2 8=K 6=B3 7=GND 13=GND")
    assert {*boxes} == {"U1:a", "U1:b", "U1:c", "U1:power"}
    ends = {name: [port.pin.name for port in boxes[f"U1:{name}"].ports] for name in "abc"}
    assert ends == {"a": ["2", "1", "3"], "b": ["4", "5", "3"], "c": ["6", "8", "7"]}
    assert boxes["U1:a"].numbered
    assert height(boxes["U1:a"], "3") > height(boxes["U1:a"], "1"), "an NPN's emitter is below"
    assert {*drawn("U1 CA3046 1=C1 2=B1 13=GND")} == {"U1"}, (
        "without its emitter it is no transistor"
    )


@pytest.mark.parametrize(("kind", "side"), [("display-anode", "up"), ("display-cathode", "down")])
def test_a_display_shows_its_figure(kind: str, side: str) -> None:
    rail = "+5" if side == "up" else "GND"
    line = f"DS1 {kind} a=SA b=SB c=SC d=SD e=SE f=SF g=SG com={rail}"
    symbol = drawn(line)["DS1"]
    assert {port.side for port in symbol.ports if port.pin.name == "com"} == {side}
    strokes = [tuple(map(float, re.findall(r"-?\d+", one))) for one in symbol.lines if "L" in one]
    upright = [one for one in strokes if abs(one[3] - one[1]) > abs(one[2] - one[0])]
    assert (len(strokes), len(upright)) == (7, 4)


def test_a_key_matrix_has_a_key_at_each_crossing() -> None:
    symbol = drawn("K1 keypad-4x3 r[1-4]=R[1-4] c[1-3]=C[1-3]")["K1"]
    rows = {height(symbol, f"r{n}") for n in range(1, 5)}
    keys = [tuple(map(int, re.findall(r"\d+", one)[:2])) for one in symbol.shapes[1:]]
    assert len({*keys}) == 12
    assert {y + 5 for _, y in keys} == rows
    for n in (1, 2, 3):
        (line,) = [
            one
            for one in symbol.lines
            if one.endswith(f"V{height(symbol, f'c{n}')}H{symbol.width}")
        ]
        assert sum(x + 5 == int(re.findall(r"\d+", line)[0]) for x, _ in keys) == 4
