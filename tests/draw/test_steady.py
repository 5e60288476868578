"""Like channels stand in like rows, and an edited board is drawn as it was, but for the edit."""

from importlib.resources import files
from itertools import pairwise

import pytest

from halfsplit.board.reader import read_board
from halfsplit.draw.layout import Drawing, lay_out
from halfsplit.draw.measure import quality
from halfsplit.draw.model import Box, Pin, Sheet
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic import picture as drawings
from halfsplit.schematic.sheet import sheet_of


def text_of(name: str) -> str:
    return (files("halfsplit") / "examples" / f"{name}.board").read_text(encoding="utf-8")


def drawn(text: str, before: Drawing | None = None) -> Drawing:
    return lay_out(sheet_of(read_board(text, PartsVocabulary())), before)


def corners(drawing: Drawing) -> dict[str, tuple[int, int]]:
    return {one.box.id: (one.x, one.y) for one in drawing.boxes}


def heights(drawing: Drawing) -> dict[str, int]:
    return {one.box.id: one.y for one in drawing.boxes}


@pytest.mark.parametrize("parts", ["R1 R2 R3 R4", "Q1 Q2 Q3 Q4", "R5 R6 R7 R8", "Q5 Q6 Q7 Q8"])
def test_like_channels_are_like_rows(parts: str) -> None:
    found = corners(drawn(text_of("plotter-drive")))
    row = [found[part] for part in parts.split()]
    assert len({x for x, _ in row}) == 1, "one above the other"
    steps = {b - a for (_, a), (_, b) in pairwise(row)}
    assert len(steps) == 1, "evenly"
    assert steps.pop() > 0, "in their order"


EDITS = {
    "plotter-drive": (
        "C9 100nF +5 GND", "R90 10k QA GND", "testpoint TP9 QB", "D9 led ? a=PA k=GND",
        "U9 7404 1=QA 2=SPARE",
    ),
    "logic-card": ("C9 100nF +5 GND", "R90 10k WR GND", "U9 7404 1=L2 2=SPARE"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "line"), [(name, line) for name, lines in EDITS.items() for line in lines]
)
def test_a_line_more_leaves_every_column_in_its_order(name: str, line: str) -> None:
    was = drawn(text_of(name))
    now = drawn(f"{text_of(name)}\n{line}\n", was)
    old, new = corners(was), corners(now)
    assert set(old) <= set(new)
    wired = [one.box.id for one in was.boxes if not one.tray]
    for a in wired:
        for b in wired:
            if old[a][0] == old[b][0] and old[a][1] < old[b][1] and new[a][0] == new[b][0]:
                assert new[a][1] < new[b][1], (a, b)


def inverter(name: str, to: str) -> Box:
    pins = (
        Pin(name="1", net="COMMON", place=f"{name}.1", role="in"),
        Pin(name="2", net=to, place=f"{name}.2", role="out"),
    )
    return Box(id=name, part=name, kind="7404", title="Hex inverter", pins=pins)


def test_lines_typed_in_another_order_leave_parts_where_they_were() -> None:
    boxes = tuple(inverter(f"U{at}", f"OUT{at}") for at in range(5))
    was = lay_out(Sheet(boxes=boxes))
    turned = Sheet(boxes=boxes[::-1])
    assert heights(lay_out(turned)) != heights(was), "without the earlier drawing they move"
    assert heights(lay_out(turned, was)) == heights(was)


def test_channels_stand_in_their_own_order_whatever_is_typed_first() -> None:
    boxes = (inverter("U2", "B"), inverter("U1", "A"))
    y = heights(lay_out(Sheet(boxes=boxes)))
    assert y["U2"] < y["U1"], "as typed"
    sheet = Sheet(boxes=boxes, lanes={"A": (0, 0), "B": (0, 1)})
    y = heights(lay_out(sheet))
    assert y["U1"] < y["U2"]


def test_a_capacitor_more_moves_nothing_that_is_wired() -> None:
    was = drawn(text_of("plotter-drive"))
    now = corners(drawn(f"{text_of('plotter-drive')}\nC9 100nF +5 GND\n", was))
    for one in was.boxes:
        if not one.tray:
            assert now[one.box.id] == (one.x, one.y), one.box.id


# Crossings of the layout before this one on the same boards, and what a drawing may have at most.
@pytest.mark.parametrize(
    ("name", "crossings"), [("plotter-drive", 15), ("linear-supply", 0), ("logic-card", 9)]
)
def test_quality(name: str, crossings: int) -> None:
    found = quality(drawn(text_of(name)))
    assert found.crossings <= crossings
    assert found.overlaps == 0
    assert found.through == 0
    assert found.width / found.height < 2.5


def test_crossings_are_counted_on_a_drawing_whose_crossings_can_be_seen() -> None:
    """K(3,3) cannot be drawn without a crossing (K. Kuratowski, 1930)."""
    lines = [f"U{a} controller family=nmos out 1=N{a}0 2=N{a}1 3=N{a}2" for a in range(3)]
    lines += [
        f"U{b + 3} controller family=nmos in 1=N0{b} 2=N1{b} 3=N2{b}" for b in range(3)
    ]  # fmt: skip
    found = quality(drawn('board "K33"\nrail +5 5V\n' + "\n".join(lines) + "\n"))
    assert found.crossings >= 1
    assert found.overlaps == 0


def test_a_drawing_is_the_same_again_when_the_program_starts_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first = text_of("logic-card")
    texts = [first, f"{first}\nR90 10k WR GND\n", f"{first}\nU9 7404 1=L2 2=SPARE\n"]
    boards = [read_board(text, PartsVocabulary()) for text in texts]

    def shown() -> list[str]:
        return [str(drawings.picture(board, texts[:at])) for at, board in enumerate(boards)]

    while_it_ran = shown()
    assert str(drawings.picture(boards[-1])) == while_it_ran[-1], "the record shows the same"
    for kept in ("_drawn", "_pictures"):
        monkeypatch.setattr(drawings, kept, {})
    assert str(drawings.picture(boards[-1], texts[:-1])) == while_it_ran[-1]
