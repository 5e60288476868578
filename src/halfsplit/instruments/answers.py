"""What an instrument may answer, taken apart: numbers, lists, blocks, its name, its errors.

IEEE 488.2-1992: 8.7.2 to 8.7.4 numbers (NR1, NR2, NR3), 8.7.9 definite length arbitrary block,
10.14 ``*IDN?``. SCPI-1999: 9.9E37 is infinity (volume 1, 7.2.1.4), 9.91E37 not a number (7.2.1.5),
``<number>,"<words>"`` an entry of the error queue (volume 2, 21.8). Every function takes ``at``,
the instrument's address, for messages, and raises :class:`AnswerError` and nothing else.
"""

from __future__ import annotations

import math
import re

from halfsplit.errors import AnswerError

__all__ = [
    "TYPE_IT", "block_size", "error_entry", "identity", "number", "numbers", "shown", "words_of",
]  # fmt: skip

TYPE_IT = "or type the reading by hand"

INFINITY, NOT_A_NUMBER = 9.9e37, 9.91e37
_NEAR = 2e-4
"""Part by which 9.9E37 may be off in an instrument's single precision; 9.91E37 is five times as
far away."""
_MOST = 1e36
"""Nothing that is measured on a bench is as large."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[Ee][+-]?[0-9]{1,3})?", re.ASCII)
_ENTRY = re.compile(r'([+-]?[0-9]{1,6}),\s*"(.*)"', re.ASCII | re.DOTALL)
_NO_ERROR = re.compile(r"[+-]?0+(?:,.*)?", re.ASCII | re.DOTALL)
_LONGEST = 80


def number(text: str, at: str, *, what: str = "a number") -> float:
    """NR1, NR2 or NR3 as a float; infinity for an overload, not-a-number for what the instrument
    itself could not resolve."""
    plain = text.strip()
    if len(plain) > _LONGEST or not _NUMBER.fullmatch(plain):
        raise AnswerError(
            at, expected=f"{what} such as +1.234E-01", got=shown(text),
            do=f"look whether this is the instrument that is meant, and what it shows, {TYPE_IT}",
        )  # fmt: skip
    value = float(plain)
    if math.isclose(abs(value), INFINITY, rel_tol=_NEAR):
        return math.copysign(math.inf, value)
    if math.isclose(abs(value), NOT_A_NUMBER, rel_tol=_NEAR):
        return math.nan
    if abs(value) > _MOST:
        raise AnswerError(
            at, expected=f"{what}, 9.9E37 for an overload or 9.91E37 for no number", got=plain,
            do=f"measure again, {TYPE_IT}",
        )  # fmt: skip
    return value


def numbers(text: str, at: str, *, count: int, what: str) -> tuple[float, ...]:
    """So many numbers between commas; more may follow and are left out."""
    pieces = text.split(",")
    if len(pieces) < count:
        raise AnswerError(
            at, expected=f"{what}: {count} numbers between commas", got=shown(text),
            do="look whether the instrument is of another make of scope, and keep its file by hand",
        )  # fmt: skip
    return tuple(number(piece, at, what=what) for piece in pieces[:count])


def block_size(head: bytes, digits: bytes, at: str, *, most: int) -> int:
    """Bytes of a block: ``head`` is its first two bytes, ``#`` and how many digits follow, then
    ``digits``, the length."""
    wanted = "a block: #, how many digits follow, the length in bytes"
    came = shown(head + digits)
    do = "fetch it again; or save the trace to a file on the instrument and use halfsplit capture"
    if not re.fullmatch(rb"#[1-9]", head):
        raise AnswerError(at, expected=wanted, got=came, do=do)
    if len(digits) != int(head[1:]) or not re.fullmatch(rb"[0-9]+", digits):
        raise AnswerError(at, expected=wanted, got=came, do=do)
    size = int(digits)
    if size > most:
        raise AnswerError(at, expected=f"a block of {most} bytes at most", got=f"{size}", do=do)
    return size


def identity(text: str, at: str) -> str:
    """The answer to ``*IDN?``: four fields, the first two of which name it."""
    fields = [field.strip() for field in text.split(",")]
    if len(fields) < 4 or not any(fields[:2]) or len(text) > 300 or not text.isprintable():
        raise AnswerError(
            at, expected="its name: maker, model, serial number, version", got=shown(text),
            do="look whether an instrument that speaks SCPI is at this address",
        )  # fmt: skip
    return ",".join(fields)


def error_entry(text: str) -> tuple[int, str] | None:
    """Number and words of an entry of the error queue, 0 for none; ``None`` for what is no
    entry."""
    plain = text.strip()
    found = _ENTRY.fullmatch(plain)
    if found:
        return int(found[1]), found[2]
    return (0, "") if _NO_ERROR.fullmatch(plain) else None


def words_of(raw: bytes) -> str:
    """A line as text: ASCII, anything else as its code."""
    return raw.decode("ascii", "backslashreplace").strip()


def shown(raw: str | bytes) -> str:
    """What came, for a message: short, and without control characters."""
    text = words_of(raw) if isinstance(raw, bytes) else raw.strip()
    short = text if len(text) <= _LONGEST else f"{text[:_LONGEST]} ... ({len(text)} characters)"
    return repr(short) if short else "an empty answer"
