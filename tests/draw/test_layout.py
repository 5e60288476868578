"""The layout: nothing overlaps, every pin is wired, no two nets touch, the same every time."""

from importlib.resources import files
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.board.reader import read_board
from halfsplit.draw.layout import Drawing, Placed, lay_out
from halfsplit.draw.model import Box, Pin, Sheet
from halfsplit.draw.svg import svg_text
from halfsplit.draw.symbol import HEAD
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic.sheet import sheet_of

EXAMPLES = ("plotter-drive", "linear-supply", "logic-card")
NETS = ("GND", "+5", *"ABCDEFGH")
Rect = tuple[int, int, int, int]
Line = tuple[int, int, int, int]


def drawn(name: str) -> Drawing:
    text = (files("halfsplit") / "examples" / f"{name}.board").read_text(encoding="utf-8")
    return lay_out(sheet_of(read_board(text, PartsVocabulary())))


@pytest.fixture(params=EXAMPLES)
def drawing(request: pytest.FixtureRequest) -> Drawing:
    return drawn(request.param)


def body(one: Placed) -> Rect:
    """The symbol without the line of its designator."""
    head = HEAD if one.symbol.name[1] < HEAD else 0
    return one.x, one.y + head, one.x + one.symbol.width, one.y + one.symbol.height


def meet(a: Rect, b: Rect) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def ordered(line: Line) -> Rect:
    x1, y1, x2, y2 = line
    return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)


@given(
    boxes=st.lists(st.lists(st.integers(0, 9), min_size=2, max_size=6), min_size=1, max_size=9),
    roles=st.lists(st.sampled_from(["in", "out", "passive"]), min_size=6, max_size=6),
)
def test_any_sheet_is_drawn_without_overlaps(boxes: list[list[int]], roles: list[str]) -> None:
    sheet = Sheet(
        boxes=tuple(
            Box(
                id=f"X{at}",
                part=f"X{at}",
                kind="resistor" if len(nets) == 2 else "x",
                pins=tuple(
                    Pin(name=str(n), net=NETS[net], place=f"X{at}.{n}", role=role)
                    for n, (net, role) in enumerate(zip(nets, roles, strict=False))
                ),
            )
            for at, nets in enumerate(boxes)
        ),
        rails=frozenset({"+5"}),
    )
    made = lay_out(sheet)
    assert len(made.boxes) == len(boxes)
    test_no_two_parts_overlap(made)
    test_wires_run_across_or_down_and_through_no_part(made)
    test_no_two_nets_run_along_each_other(made)
    test_every_wired_pin_is_reached_and_every_net_is_in_one_piece(made)
    test_everything_is_inside_the_drawing(made)


def test_no_two_parts_overlap(drawing: Drawing) -> None:
    for a, b in combinations(drawing.boxes, 2):
        assert not meet(a.room, b.room), (a.box, b.box)


def test_wires_run_across_or_down_and_through_no_part(drawing: Drawing) -> None:
    bodies = [body(one) for one in drawing.boxes]
    for wire in drawing.wires:
        for line in wire.lines:
            x1, y1, x2, y2 = line
            assert x1 == x2 or y1 == y2
            left, top, right, bottom = ordered(line)
            for x1, y1, x2, y2 in bodies:
                inside = (x1 + 1, y1 + 1, x2 - 1, y2 - 1)
                assert not meet((left, top, right + 1, bottom + 1), inside), wire.net


def test_no_two_nets_run_along_each_other(drawing: Drawing) -> None:
    lines = [(wire.net, ordered(line)) for wire in drawing.wires for line in wire.lines]
    for (net, a), (other, b) in combinations(lines, 2):
        if net == other:
            continue
        upright = a[0] == a[2] == b[0] == b[2] and a[1] <= b[3] and b[1] <= a[3]
        level = a[1] == a[3] == b[1] == b[3] and a[0] <= b[2] and b[0] <= a[2]
        assert not upright, (net, other)
        assert not level, (net, other)


def test_every_wired_pin_is_reached_and_every_net_is_in_one_piece(drawing: Drawing) -> None:
    ends: dict[str, list[tuple[int, int]]] = {}
    for one in drawing.boxes:
        for port in one.symbol.ports:
            if not drawing.sheet.labelled(port.pin.net):
                ends.setdefault(port.pin.net, []).append((one.x + port.x, one.y + port.y))
    wires = {wire.net: wire for wire in drawing.wires}
    assert set(wires) == set(ends)
    for net, spots in ends.items():
        pieces = [ordered(line) for line in wires[net].lines]
        reached = {0}
        while True:
            more = {
                at for at, piece in enumerate(pieces)
                if at not in reached and any(touch(piece, pieces[near]) for near in reached)
            }  # fmt: skip
            if not more:
                break
            reached |= more
        assert len(reached) == len(pieces), net
        for x, y in spots:
            assert any(piece[0] <= x <= piece[2] and piece[1] <= y <= piece[3] for piece in pieces)


def touch(a: Rect, b: Rect) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def test_examples_are_drawn_whole() -> None:
    assert len(drawn("plotter-drive").boxes) > 42, "43 parts, some of them in units"


def test_everything_is_inside_the_drawing(drawing: Drawing) -> None:
    for one in drawing.boxes:
        left, top, right, bottom = one.room
        assert left >= 0
        assert top >= 0
        assert right <= drawing.width
        assert bottom <= drawing.height


def test_the_same_board_gives_the_same_drawing() -> None:
    assert svg_text(drawn("logic-card"), "x") == svg_text(drawn("logic-card"), "x")


def test_signal_flows_from_left_to_right() -> None:
    def box(name: str, source: str, to: str) -> Box:
        pins = (
            Pin(name="1", net=source, place=f"{name}.1", role="in"),
            Pin(name="2", net=to, place=f"{name}.2", role="out"),
        )
        return Box(id=name, part=name, kind="7404", title="Hex inverter", pins=pins)

    sheet = Sheet(boxes=(box("U3", "B", "C"), box("U1", "IN", "A"), box("U2", "A", "B")))
    left = {one.box.part: one.x for one in lay_out(sheet).boxes}
    assert left["U1"] < left["U2"] < left["U3"]


def test_a_loop_and_an_empty_sheet_are_drawn() -> None:
    pins = (
        Pin(name="1", net="A", place="U1.1", role="in"),
        Pin(name="2", net="A", place="U1.2", role="out"),
    )
    looped = lay_out(Sheet(boxes=(Box(id="U1", part="U1", kind="x", pins=pins),)))
    assert {wire.net for wire in looped.wires} == {"A"}
    assert lay_out(Sheet(boxes=())).boxes == ()


def test_parts_nets_and_pins_can_be_found_and_named(drawing: Drawing) -> None:
    root = ElementTree.fromstring(svg_text(drawing, "A <board> & more"))
    buttons = [one for one in root.iter() if one.get("role") == "button"]
    assert len(buttons) == len(drawing.boxes) + len(drawing.wires)
    for one in buttons:
        assert one.get("tabindex") == "0"
        assert one.get("aria-label")
    places = {one.get("data-place") for one in root.iter() if one.get("class") == "pin"}
    wanted = {port.pin.place for box in drawing.boxes for port in box.symbol.ports}
    assert places == wanted
    assert not [one for one in root.iter() if one.get("style")], "the page forbids inline style"


def test_every_net_is_named_somewhere(drawing: Drawing) -> None:
    root = ElementTree.fromstring(svg_text(drawing, "x"))
    names = {one.text for one in root.iter() if one.get("class") == "net-name"}
    assert {wire.net for wire in drawing.wires} == names


def test_names_from_the_board_are_escaped() -> None:
    pins = (Pin(name="1", net='<b>"', place="R1.1"), Pin(name="2", net="&N", place="R1.2"))
    box = Box(id="R1", part="R1", kind="resistor", label="<script>", pins=pins)
    text = svg_text(lay_out(Sheet(boxes=(box,))), "</title><script>")
    assert "<script>" not in text
    assert '<b>"' not in text
    ElementTree.fromstring(text)


def test_signal_through_a_resistor_runs_from_its_driver_to_what_it_drives() -> None:
    text = (
        'board "Digit driver"\nrail +5 5V\nU1 7404 1=A 2=NA\nR1 620 NA B\nR2 4k7 +5 B\n'
        "Q1 2N2907 e=+5 b=B c=C\nDS1 display-anode a=S com=C\noffsheet A drive 74LS\n"
        "offsheet S unknown\n"
    )
    board = read_board(text, PartsVocabulary())
    left = {one.box.part: one.x for one in lay_out(sheet_of(board)).boxes if not one.tray}
    # A pull-up on the base does not make the base a source.
    assert left["U1"] < left["R1"] < left["Q1"] < left["DS1"]
