"""Symbols: every pin leaves at the edge, on the grid, once."""

import re

import pytest

from halfsplit.board.reader import read_board
from halfsplit.draw.model import Box, Pin
from halfsplit.draw.symbol import HEAD, Symbol
from halfsplit.draw.symbols import symbol_of
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic.sheet import sheet_of

# IEEE 91-1984, distinctive shapes (from memory): an AND has a straight back and a round nose, an OR
# a hollow back and a pointed nose, an exclusive OR a second line behind, an inverter is a triangle;
# a ring at the output negates.
SHAPES = {
    "Quad 2-input NAND gate, standard TTL": ("and", True),
    "Quad 2-input AND gate": ("and", False),
    "Quad 2-input NOR gate": ("or", True),
    "Quad 2-input OR gate": ("or", False),
    "Quad 2-input exclusive-OR gate": ("xor", False),
    "Hex inverter": ("buffer", True),
    "Hex Schmitt-trigger inverter": ("buffer", True),
    "Peripheral driver, dual NAND, open collector": ("and", True),
}
RING = "a3 3 0 1 1 6 0"


OTHER_FAMILIES = ("74H", "74LS", "74S")
"""Drawn as their plain 74 sisters are."""


def pin(name: str, role: str = "passive") -> Pin:
    return Pin(name=name, net=f"N{name}", place=f"X1.{name}", role=role)


def back_and_nose(symbol: Symbol) -> str:
    """The shape by how its outline runs."""
    (outline,) = symbol.shapes
    if "A" in outline:
        return "and"
    if "Q" not in outline:
        return "buffer"
    return "xor" if any("Q" in line for line in symbol.lines) else "or"


@pytest.mark.parametrize(("title", "expected"), SHAPES.items())
def test_a_gate_has_the_shape_of_its_function(title: str, expected: tuple[str, bool]) -> None:
    pins = (pin("1", "in"), pin("2", "in"), pin("3", "out"))
    symbol = symbol_of(Box(id="U1:a", part="U1", kind="7400", title=title, pins=pins))
    assert (back_and_nose(symbol), any(RING in line for line in symbol.lines)) == expected


def test_a_flip_flop_with_preset_and_clear_is_no_and_gate() -> None:
    pins = (pin("4", "in"), pin("1", "in"), pin("5", "out"))
    title = "Dual D flip-flop with preset and clear"
    symbol = symbol_of(Box(id="U1:a", part="U1", kind="7474", title=title, pins=pins))
    assert back_and_nose(symbol) == "buffer", "no curve: a rectangle"
    assert not any(RING in line for line in symbol.lines)


def test_a_transistor_has_its_base_left_and_an_npn_its_emitter_low() -> None:
    pins = (pin("c"), pin("b"), pin("e"))
    npn = {p.pin.name: p for p in symbol_of(Box(id="Q1", part="Q1", kind="npn", pins=pins)).ports}
    pnp = {p.pin.name: p for p in symbol_of(Box(id="Q1", part="Q1", kind="pnp", pins=pins)).ports}
    assert not npn["b"].right
    assert npn["e"].y > npn["c"].y
    assert pnp["e"].y < pnp["c"].y


def test_a_turned_part_changes_its_ends() -> None:
    box = Box(id="D1", part="D1", kind="diode", pins=(pin("a"), pin("k")))
    straight, turned = symbol_of(box), symbol_of(box, turned=True)
    assert [port.pin.name for port in straight.ports] == ["a", "k"]
    assert [port.pin.name for port in turned.ports] == ["k", "a"]
    assert "scale(-1 1)" in turned.transform


def test_every_kind_of_part_has_a_symbol_with_all_its_pins() -> None:
    vocabulary = PartsVocabulary()
    kinds = {}
    for word in vocabulary.kinds().values():
        if not word.example or word.name.startswith(OTHER_FAMILIES):
            continue
        board = read_board(
            f'board "One"\nrail +5 5V\nrail +12 12V\nrail -12 -12V\n{word.example}\n', vocabulary
        )
        sheet = sheet_of(board)
        kinds[word.name] = board.parts[0]
        drawn = [port for box in sheet.boxes for port in symbol_of(box).ports]
        wanted = {f"{part.designator}.{name}" for part in board.parts for name in part.pins}
        assert {port.pin.place for port in drawn} >= wanted, word.name
        for box in sheet.boxes:
            symbol = symbol_of(box)
            spots = [(port.x, port.y) for port in symbol.ports]
            assert len(set(spots)) == len(spots), word.name
            assert all(y % 10 == 0 for _, y in spots), word.name
            for (x, _), port in zip(spots, symbol.ports, strict=True):
                if port.side in ("left", "right"):
                    assert x == (symbol.width if port.right else 0), word.name
    assert len(kinds) > 60


def pinned(kind: str, *names: str, label: str = "") -> Symbol:
    pins = tuple(pin(name) for name in names)
    return symbol_of(Box(id="X1", part="X1", kind=kind, pins=pins, label=label))


def spot(symbol: Symbol, name: str) -> tuple[int, int]:
    (port,) = [port for port in symbol.ports if port.pin.name == name]
    return port.x, port.y - HEAD


def test_every_diode_of_a_bridge_points_away_from_minus_and_towards_plus() -> None:
    # IEC 60617 (from memory): current leaves a bridge at +, so every diode points that way.
    bridge = pinned("bridge", "ac1", "ac2", "+", "-")
    assert len(bridge.shapes) == 4
    for shape in bridge.shapes:
        foot = tuple(map(float, re.findall(r"-?[\d.]+", shape)[:2]))
        side = tuple(map(float, re.findall(r"-?[\d.]+", shape)[2:4]))
        tip = tuple(map(float, re.findall(r"-?[\d.]+", shape)[4:6]))
        assert tip[0] > foot[0] + side[0] / 2, "the tip is nearer to + than the middle of the foot"
    assert spot(bridge, "+")[0] == bridge.width
    assert spot(bridge, "-")[0] == 0


def test_a_transformer_has_its_primary_left_and_the_tap_between_the_ends() -> None:
    both = pinned("transformer", "1", "2", "3", "4", "5")
    assert {spot(both, name)[0] for name in "12"} == {0}
    assert spot(both, "3")[1] < spot(both, "4")[1] < spot(both, "5")[1]
    (turns,) = {len(re.findall("a5 5", shape)) for shape in both.shapes}
    assert turns == 4
    odd = pinned("transformer", "1", "3", "5")
    assert odd.numbered, "windings that are not all there are a plain rectangle"


def test_a_relay_at_rest_touches_its_break_contact() -> None:
    relay = pinned("relay", "1", "2", "com", "no", "nc")
    blade = next(line for line in relay.lines if re.fullmatch(r"M70 46L\d+ \d+", line))
    x, y = map(int, re.findall(r"\d+", blade)[2:])
    broken = next(line for line in relay.lines if line.startswith("M62 20"))
    made = next(line for line in relay.lines if line.startswith("M80 22"))
    assert abs(x - 62) + abs(y - 20) <= 2, broken
    assert abs(x - 80) > 10, made
    assert {spot(relay, name)[0] for name in ("1", "2")} == {0}


@pytest.mark.parametrize("kind", ["triac", "hall-switch", "shunt-reference", "bussed-network"])
def test_shapes_of_their_own_for_parts_that_are_no_chips(kind: str) -> None:
    names = {
        "triac": ("mt2", "g", "mt1"), "hall-switch": ("vcc", "gnd", "out"),
        "shunt-reference": ("ref", "a", "k"), "bussed-network": ("1", "2", "3"),
    }[kind]  # fmt: skip
    shown = pinned(kind, *names)
    plain = pinned("unknown", *names)
    assert shown.shapes != plain.shapes
    if kind == "triac":
        assert spot(shown, "mt2")[1] < spot(shown, "mt1")[1]
        assert spot(shown, "g")[0] == 0
    if kind == "shunt-reference":
        assert spot(shown, "k")[1] < spot(shown, "a")[1]


def test_a_switch_of_a_row_stands_between_opposite_pins() -> None:
    row = pinned("dip-switch-4", "1", "8", "2", "7")
    assert spot(row, "1")[1] == spot(row, "8")[1] != spot(row, "7")[1] == spot(row, "2")[1]
