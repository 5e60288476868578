"""A case in words: the next check, suspects, the log, as lines for a person."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from halfsplit.checks.kind import Reading
from halfsplit.cli.screen import Screen
from halfsplit.diagnose.session import percent
from halfsplit.diagnose.views import (
    EnteredView,
    EntryView,
    NextView,
    SuggestionView,
    SuspectView,
)
from halfsplit.report import wording

__all__ = [
    "entered_lines",
    "entry_lines",
    "log_lines",
    "next_lines",
    "reading_words",
    "suggestion_lines",
    "suspect_lines",
]

_INDENT = "   "


def next_lines(view: NextView, screen: Screen, *, full: int = 1) -> Iterator[str]:
    """The verdict, the first ``full`` suggestions in full and the others in short, suspects."""
    yield from screen.wrap(view.verdict.verdict.sentence)
    for one in view.suggestions:
        yield ""
        yield from suggestion_lines(one, screen, short=one.number > full)
    if not view.suggestions:
        yield ""
        yield "Nothing to suggest."
    yield ""
    yield screen.strong("Suspects")
    yield from suspect_bars(view.suspects, screen)


def suggestion_lines(view: SuggestionView, screen: Screen, *, short: bool) -> Iterator[str]:
    """One suggestion; ``short`` leaves out what its outcomes mean, and the cautions."""
    one = view.suggestion
    first, *rest = screen.wrap(one.sentence, f"{view.number}  ", _INDENT)
    yield screen.strong(first)
    yield from (screen.strong(line) for line in rest)
    yield from screen.wrap(f"{one.id}   {_cost(view)}", _INDENT, _INDENT + "  ")
    if short:
        return
    yield from screen.wrap(f"Why: {one.why}", _INDENT, _INDENT + "  ")
    if one.expected:
        yield from screen.wrap(f"Good board: {one.expected}", _INDENT, _INDENT + "  ")
    for line in one.meanings:
        yield from screen.wrap(f"- {line}", _INDENT, _INDENT + "  ")
    if one.words:
        yield from screen.wrap(f"Answer with: {_answers(view)}", _INDENT, _INDENT + "  ")
    for line in one.cautions:
        yield from screen.wrap(f"! {line}", _INDENT, _INDENT + "  ")


def suspect_bars(suspects: Iterable[SuspectView], screen: Screen) -> list[str]:
    """Suspects with bar and probability, and the repair."""
    rows = [
        (screen.bar(one.probability), percent(one.probability), one.id, one.repair)
        for one in suspects
    ]
    return screen.columns(rows, right=(1,))


def suspect_lines(suspects: Sequence[SuspectView], screen: Screen) -> Iterator[str]:
    """Suspects with their faults and with what raised or lowered them."""
    for one in suspects:
        yield from suspect_bars([one], screen)
        for fault, probability in one.suspect.faults[:3]:
            if probability >= 0.005:
                yield from screen.wrap(
                    f"{percent(probability)}  {fault.words}", _INDENT * 2, _INDENT * 3
                )
        if one.reasons is not None:
            for weight in (*one.reasons.raised, *one.reasons.lowered):
                yield from screen.wrap(
                    f"{weight.bits:+.1f} bit  {weight.sentence}", _INDENT * 2, _INDENT * 3
                )


def entered_lines(view: EnteredView, screen: Screen) -> Iterator[str]:
    """How a reading was understood, and what to do next."""
    entry = view.entry
    yield from entry_lines(entry, screen)
    if entry.surprise is not None and entry.surprise >= 1.0:
        yield f"{_INDENT}a surprise of {entry.surprise:.1f} bit"
    yield ""
    yield from next_lines(view.next, screen)


def entry_lines(entry: EntryView, screen: Screen) -> list[str]:
    """One reading: its number, its check, how it was understood, and where it came from."""
    assert entry.check is not None
    assert entry.reading is not None
    words = reading_words(entry.reading, entry.unit)
    source = f", read by {entry.source}" if entry.source else ""
    return screen.wrap(f"#{entry.number}  {entry.check.id}: {words}{source}", hang=_INDENT)


def log_lines(entries: Iterable[EntryView], screen: Screen) -> list[str]:
    """The log, one event a line; what was taken back is marked ``-``."""
    rows = []
    for entry in entries:
        mark = " " if entry.counts else "-"
        rows.append((f"#{entry.number}", mark, _local(entry.at), _what(entry)))
    return screen.columns(rows, right=(0,), indent="")


def reading_words(reading: Reading, unit: str) -> str:
    """How a reading was understood: ``4.7 V``, ``under 1 V``, ``low``, ``could not tell``."""
    if reading.nothing:
        return "could not tell, which moves nothing"
    return wording.reading_words(reading, unit)


def _cost(view: SuggestionView) -> str:
    one = view.suggestion
    words = [one.setup, f"{one.minutes:.1f} min"]
    if one.setup_minutes:
        words.append(f"{one.setup_minutes:.1f} min to set up")
    if one.risk >= 0.05:
        words.append(f"{one.risk:.1f} min of risk")
    if one.gain:
        words.append(f"tells {one.gain:.2f} bit")
    return ", ".join(words)


def _answers(view: SuggestionView) -> str:
    one = view.suggestion
    number = f"a reading in {one.unit}; " if one.unit else ""
    return number + "; ".join(f"{word} ({means})" for word, means in one.words.items())


def _what(entry: EntryView) -> str:
    if entry.check is not None and entry.reading is not None:
        text = f"{entry.check.id}: {reading_words(entry.reading, entry.unit)}"
        if entry.source:
            text += f", read by {entry.source}"
        if entry.surprise is not None and entry.surprise >= 1.0:
            text += f" (a surprise of {entry.surprise:.1f} bit)"
        return text + (f"; does not count: {entry.why_not}" if entry.why_not else "")
    if entry.takes_back is not None:
        return f"undo of #{entry.takes_back}"
    return f"{entry.kind}: {entry.words}" if entry.words else entry.kind


def _local(at: str) -> str:
    """``2024-02-29 12:00`` UTC."""
    return f"{at[:10]} {at[11:16]}"
