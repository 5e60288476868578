"""Rows of numbers in a block of delimited text: by text.c, or else in numpy and Python."""

from __future__ import annotations

import ctypes
import re
import warnings

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.compiled import address, load_readers
from halfsplit.frozen import dataclass

__all__ = ["Rows", "Shape", "field_value", "parse_rows", "split_fields"]

_WORDS = {
    **dict.fromkeys(("high", "true", "h", "on"), 1.0),
    **dict.fromkeys(("low", "false", "l", "off"), 0.0),
    **dict.fromkeys(("x", "nan", "-", "--", "---", ""), np.nan),
    **dict.fromkeys(("z", "inf", "+inf"), np.inf),
    "-inf": -np.inf,
}
"""Fields that are no numbers; z reads as infinite, so that it stays apart from x."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_INTEGER = ctypes.c_int64
_END = ord("\n")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """How a row is written: ``want`` [columns] says which fields are numbers to be read.

    A blank ``delimiter`` stands for any run of blanks.
    """

    delimiter: str
    decimal: str
    comment: str
    want: NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """``values`` [K, columns] float64, not-a-number where there is none; the line at byte ``at``
    could not be read, unless that is the length of the block."""

    values: NDArray[np.float64]
    at: int


def parse_rows(text: bytes, shape: Shape) -> Rows:
    """The rows of whole lines up to the first that is not one."""
    library = load_readers()
    if library is None:
        return _quick(text, shape) or _line_by_line(text, shape)
    ends = np.count_nonzero(np.frombuffer(text, dtype=np.uint8) == _END)
    out = np.empty((shape.want.size, int(ends) + 1))
    at = _INTEGER(len(text))
    rows = library.halfsplit_text_parse
    rows.restype = ctypes.c_int64
    comment = ord(shape.comment) if shape.comment else -1
    count = rows(
        text, _INTEGER(len(text)), ord(shape.delimiter), ord(shape.decimal), comment,
        _INTEGER(shape.want.size), address(shape.want), address(out),
        _INTEGER(out.shape[1]), ctypes.byref(at),
    )  # fmt: skip
    return Rows(values=out[:, :count].T, at=at.value)


def split_fields(line: str, delimiter: str) -> list[str]:
    """The fields of a line, without blanks and quotes around them."""
    if delimiter == " ":
        fields = line.split()
    else:
        fields = [field.strip() for field in line.rstrip(" \r").split(delimiter)]
    return [
        field[1:-1] if len(field) > 1 and field[0] in "\"'" and field[0] == field[-1] else field
        for field in fields
    ]


def field_value(field: str, decimal: str) -> float | None:
    """A field as a number; ``None`` when it is none."""
    if decimal != ".":
        field = field.replace(".", "!").replace(decimal, ".")
    if _NUMBER.fullmatch(field):
        return float(field)
    return _WORDS.get(field.lower())


def _quick(text: bytes, shape: Shape) -> Rows | None:
    """All rows at once, when every line has every number and nothing else."""
    columns = shape.want.size
    blanks = {shape.delimiter: " ", "\r": " ", "\t": " ", shape.decimal: "."}
    if not shape.want.all() or (shape.comment and shape.comment.encode() in text):
        return None
    plain = text.translate(
        bytes.maketrans("".join(blanks).encode(), "".join(blanks.values()).encode())
    )
    signs = np.frombuffer(plain, dtype=np.uint8)
    begins = signs > 32
    begins[1:] &= signs[:-1] <= 32
    ends = np.flatnonzero(signs == 10)
    if not ends.size or ends[-1] != signs.size - 1:
        return None
    counts = np.diff(np.cumsum(begins)[ends], prepend=0)
    if (counts != columns).any():
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            flat = np.fromstring(plain, sep=" ")
    except (DeprecationWarning, ValueError):
        return None
    whole = flat.size == ends.size * columns
    return Rows(values=flat.reshape(-1, columns), at=len(text)) if whole else None


def _line_by_line(text: bytes, shape: Shape) -> Rows:
    columns, rows, at = shape.want.size, [], 0
    for line in text.splitlines(keepends=True):
        words = line.decode("latin-1").rstrip("\n")
        if words.strip() and not words.lstrip().startswith(shape.comment or "\n"):
            fields = split_fields(words, shape.delimiter)
            if len(fields) == columns + 1 and not fields[-1]:
                fields.pop()
            row = [
                (field_value(field, shape.decimal) if wanted else np.nan)
                for field, wanted in zip(fields, shape.want, strict=False)
            ]
            if len(fields) != columns or None in row:
                break
            rows.append(row)
        at += len(line)
    return Rows(values=np.array(rows, dtype=np.float64).reshape(-1, columns), at=at)
