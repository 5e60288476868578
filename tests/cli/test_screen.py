"""Layout for persons: widths, bars, emphasis."""

import sys

import pytest

from halfsplit.cli.screen import Screen, terminal


@pytest.mark.parametrize("share", [0.0, 0.001, 0.25, 0.5, 0.999, 1.0, 1.5, -1.0])
def test_a_bar_has_its_length_and_shows_all_that_is_there(share: float) -> None:
    bar = Screen().bar(share, 8)
    assert len(bar) == 8
    assert (bar.count("█") > 0) == (share > 0)
    assert Screen(blocks=False).bar(0.5, 8) == "####...."


@pytest.mark.parametrize("width", [40, 80, 120])
def test_text_and_tables_keep_to_the_width(width: int) -> None:
    screen = Screen(width=width)
    words = "Measure DC volts at U3 pin 6, black probe on ground, in state hold-A. " * 3
    lines = screen.wrap(words, "1  ", "   ")
    lines += screen.columns([("62 %", "U3", words), ("5 %", "joint U3.6", "resolder")], right=(0,))
    assert max(map(len, lines)) <= width
    assert "".join("".join(lines).split()).startswith("1MeasureDCvolts")


def test_columns_are_aligned_by_what_a_terminal_shows() -> None:
    # Unicode Standard Annex 11: an ideograph takes two columns; a combining mark takes none.
    rows = [("板", "x"), ("abcd", "x"), ("e\u0301", "x")]
    lines = Screen().columns(rows, indent="")
    assert lines == ["板    x", "abcd  x", "e\u0301     x"]


def test_emphasis_is_for_terminals_that_want_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert terminal().strong("x") != "x"
    monkeypatch.setenv("NO_COLOR", "1")
    assert terminal().strong("x") == "x"
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: False, raising=False)
    assert terminal().strong("x") == "x"
