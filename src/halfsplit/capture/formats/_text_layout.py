"""How a delimited text file is laid out, found out from its first lines."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from halfsplit.capture.formats._text_rows import field_value, split_fields
from halfsplit.capture.formats._text_units import Heading, heading, interval_of
from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass

__all__ = ["DELIMITERS", "Layout", "find_layout"]

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "blanks"}
_COMMENTS = "#%!"
_ENOUGH = 200
"""Rows that are looked at."""
_LAST = 20
"""Lines at the end of these that tell which delimiters are worth trying."""
_MOST_LINES = 600
"""Lines among which the rows must begin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """``first`` is the line (from 1) of the first row; ``sample`` [K, columns] the rows looked at.

    ``interval`` is in seconds, 0 when no line before the rows tells one.
    """

    delimiter: str
    decimal: str
    comment: str
    first: int
    headings: tuple[Heading, ...]
    interval: float
    sample: tuple[tuple[float, ...], ...]


def find_layout(lines: Sequence[str], choices: Mapping[str, str], source: str) -> Layout:
    """The likeliest layout of the first lines of a file, with ``choices`` in place of findings.

    Raises :class:`CaptureError` when no rows of numbers are there.
    """
    lines = lines[:_MOST_LINES]
    tried = [
        (rows, len(rows) * (1 + (columns > 1)), delimiter, decimal, first)
        for delimiter, decimal in _fitting(lines, list(_pairs(choices)))
        for first, columns, rows in [_rows(lines, delimiter, decimal, choices)]
    ]
    best = max(tried, key=lambda one: one[1], default=None)
    if best is None or not best[0]:
        raise CaptureError(
            "expected rows of numbers with one delimiter, found none in the first lines; "
            "choose delimiter, decimal or first row if it has them",
            source=source,
            line=1,
        )
    rows, _, delimiter, decimal, first = best
    before = [line for line in lines[:first] if line.strip()]
    return Layout(
        delimiter=delimiter,
        decimal=decimal,
        comment=next((line[0] for line in before if line[0] in _COMMENTS), "#"),
        first=first + 1,
        headings=_headings(before, delimiter, len(rows[0])),
        interval=interval_of(before),
        sample=tuple(rows),
    )


def _pairs(choices: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    names = {name: sign for sign, name in DELIMITERS.items()}
    wanted = choices.get("delimiter")
    for delimiter in DELIMITERS:
        for decimal in ".,":
            chosen = names.get(wanted, wanted) if wanted else delimiter
            if chosen == delimiter != decimal and choices.get("decimal", decimal) == decimal:
                yield delimiter, decimal


def _fitting(lines: Sequence[str], pairs: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Those in which all of the last lines are rows alike of several numbers; all, where there are
    none or few lines."""
    last = lines[-_LAST:]
    if len(lines) < 2 * _LAST:
        return pairs
    found = []
    for delimiter, decimal in pairs:
        widths = {len(_row(line, delimiter, decimal) or ()) for line in last}
        if len(widths) == 1 and widths.pop() > 1:
            found.append((delimiter, decimal))
    return found or pairs


def _rows(
    lines: Sequence[str], delimiter: str, decimal: str, choices: Mapping[str, str]
) -> tuple[int, int, list[tuple[float, ...]]]:
    """The first line of the longest run of rows alike, how many fields they have, and the rows."""
    values = _values(lines, delimiter, decimal)
    widths = Counter(len(row) for row in values if row)
    if not widths:
        return 0, 0, []
    columns = max(widths, key=lambda width: (widths[width], width))
    if "first" in choices:
        first = int(choices["first"]) - 1 if choices["first"].isdigit() else 0
    else:
        first = next(k for k, row in enumerate(values) if row and len(row) == columns)
    rows: list[tuple[float, ...]] = []
    for line, row in zip(lines[first : len(values)], values[first:], strict=True):
        if row and len(row) == columns:
            rows.append(row)
        elif line.strip() and line[0] not in _COMMENTS:
            break
        if len(rows) == _ENOUGH:
            break
    return first, columns, rows


def _values(lines: Sequence[str], delimiter: str, decimal: str) -> list[tuple[float, ...] | None]:
    """The lines as numbers, up to as many rows alike in a row as are looked at."""
    values: list[tuple[float, ...] | None] = []
    run, width = 0, 0
    for line in lines:
        row = _row(line, delimiter, decimal)
        values.append(row)
        run, width = (run + 1 if row and len(row) == width else 1), len(row or ())
        if run == _ENOUGH and width > 1:
            break
    return values


def _row(line: str, delimiter: str, decimal: str) -> tuple[float, ...] | None:
    """A line as numbers; ``None`` when one field is none, or all are missing."""
    fields = split_fields(line, delimiter)
    if len(fields) > 1 and not fields[-1]:
        fields.pop()
    found = []
    for field in fields:
        value = field_value(field, decimal)
        if value is None:
            return None
        found.append(value)
    return None if all(value != value for value in found) else tuple(found)


def _headings(before: Sequence[str], delimiter: str, columns: int) -> tuple[Heading, ...]:
    """Names and units from the last lines before the rows that have as many fields."""
    fitting: list[list[str]] = []
    for line in reversed(before):
        fields = split_fields(
            line.lstrip(_COMMENTS + " ") if line[0] in _COMMENTS else line, delimiter
        )
        if len(fields) == columns + 1 and not fields[-1]:
            fields.pop()
        if len(fields) != columns or len(fitting) == 2:
            break
        fitting.append(fields)
    names = fitting[-1] if fitting else [""] * columns
    units = fitting[0] if len(fitting) == 2 else [""] * columns
    if len(fitting) == 2 and not _are_units(units):
        names, units = units, [""] * columns
    return tuple(
        heading(name, unit, number)
        for number, (name, unit) in enumerate(zip(names, units, strict=True), 1)
    )


def _are_units(fields: Sequence[str]) -> bool:
    return all(re.fullmatch(r"[(\[]?[A-Za-zµμΩ°%/]{0,6}[)\]]?", field) for field in fields)
