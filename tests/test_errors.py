"""The tree of errors and its messages."""

from __future__ import annotations

import pytest

from halfsplit import errors
from halfsplit.errors import BoardError, HalfsplitError, Problem, UnknownName, nearest


def test_every_error_is_in_the_tree_and_in_its_drawing() -> None:
    drawing = errors.__doc__ or ""
    found = [
        thing
        for thing in vars(errors).values()
        if isinstance(thing, type) and issubclass(thing, Exception)
    ]
    assert len(found) > 8
    for kind in found:
        assert issubclass(kind, HalfsplitError)
        assert kind.__name__ in drawing
        assert kind.__name__ in errors.__all__


def test_problem_prints_place_and_hint() -> None:
    problem = Problem(line=3, column=7, severity="error", message="expected a net", nearest="CLK")
    assert str(problem) == "3:7: error: expected a net (did you mean CLK?)"


def test_board_error_shows_all_problems_with_their_source() -> None:
    first = Problem(line=1, column=2, severity="error", message="a")
    second = Problem(line=3, column=4, severity="warning", message="b")
    error = BoardError(iter((first, second)), source="x.board")
    assert error.problems == (first, second)
    assert str(error) == "x.board:1:2: error: a\nx.board:3:4: warning: b"


def test_unknown_name_lists_what_is_known() -> None:
    error = UnknownName("kind", "resistr", ["resistor", "coil"])
    assert str(error) == ("unknown kind 'resistr'; did you mean resistor? (known: coil, resistor)")
    assert "(known: none)" in str(UnknownName("kind", "x", []))
    many = str(UnknownName("kind", "zzz", [f"k{i:02d}" for i in range(20)]))
    assert many.endswith("k11, ...)")


@pytest.mark.parametrize(
    ("name", "known", "found"),
    [
        ("RESISTR", ["resistor", "diode"], "resistor"),
        ("74ls38", ["74LS38", "74LS37"], "74LS38"),
        ("zzz", ["resistor"], None),
        ("", ["resistor"], None),
        ("x", [], None),
    ],
)
def test_nearest(name: str, known: list[str], found: str | None) -> None:
    assert nearest(name, known) == found
