"""Typed answers to a measurement: a number, a span, something vague, OL, or "could not tell"."""

from __future__ import annotations

import math
import re

from halfsplit.checks._loosely import loosely
from halfsplit.checks._words import is_nothing, shorten
from halfsplit.checks.kind import Reading
from halfsplit.errors import ReadingError, UnitError
from halfsplit.units import parse

__all__ = ["read_number"]

ABOUT = 0.1
"""What "about 5" allows either way, as a fraction (and at least the last digit typed)."""

OPEN = frozenset(
    {
        *("ol", "o.l", "o.l.", "0l", "0.l", "open", "open circuit", "inf", "infinite", "infinity"),
        *("∞", "over", "overload", "over range", "overrange", "1 .", "no reading"),
    }
)

_LEAD = re.compile(
    r"^(?:(?:it(?:'s| is| reads| shows)?|reads?|reading|shows?|showing|i (?:get|got|see|read)|got"
    r"|get|measured?|measures|now|just|is|was|exactly|steady|somewhere|anywhere|=)\s+|=\s*)",
    re.IGNORECASE,
)
_TAIL = re.compile(r"\s*(?:,?\s*(?:steady|dc|to ground)|\bd\.c\.)$", re.IGNORECASE)
_UNDER = re.compile(
    r"^(?:<=?|≤|(?:well |just |a bit |a little )?(?:under|below)|less than|lower than|at most"
    r"|up to|no more than|not more than|max)(?![a-z])\s*",
    re.IGNORECASE,
)
_OVER = re.compile(
    r"^(?:>=?|≥|(?:well |just |a bit |a little )?(?:over|above)|more than|greater than"
    r"|higher than|at least|no less than|not less than|min)(?![a-z])\s*",
    re.IGNORECASE,
)
_ABOUT = re.compile(
    r"^(?:~|≈|about|approx(?:imately|\.)?|around|roughly|some|circa|ca\.?|near(?:ly)?|almost"
    r"|maybe|close to)(?![a-z])\s*",
    re.IGNORECASE,
)
_ISH = re.compile(
    r"(?:\s*-?\s*ish|\s+or so|\s+or thereabouts|\s+roughly|\s+approx\.?)$", re.IGNORECASE
)
_BETWEEN = re.compile(r"^between\s+(?P<a>.+?)\s+and\s+(?P<b>.+)$", re.IGNORECASE)
_SPAN = re.compile(
    r"^(?P<a>[+-]?[^\s\d]?\d[^\s–—-]*(?:\s*[a-zA-ZΩµμ]+)?)\s*(?:-|–|—|\.\.+|…|\bto\b)\s*"
    r"(?P<b>[+-]?[\d.,].*)$",
    re.IGNORECASE,
)
_PLUS_MINUS = re.compile(r"^(?P<a>.+?)\s*(?:\+/?-|±)\s*(?P<b>[\d.,].*)$")
_BARE = re.compile(r"^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)$")
_LETTERS = re.compile(r"[a-zA-ZΩµμ]+$")
_WORDS = {
    "no": "0", "zero": "0", "nil": "0", "half a": "0.5", "half an": "0.5", "half": "0.5",
    "a": "1", "an": "1", "one": "1", "a couple of": "2", "two": "2", "three": "3", "four": "4",
    "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9", "ten": "10",
    "eleven": "11", "twelve": "12",
}  # fmt: skip
_WORD = re.compile(
    rf"^(?P<minus>-)?(?P<word>{'|'.join(sorted(_WORDS, key=len, reverse=True))})"
    r"(?:\s+(?P<unit>\S+))?$",
    re.IGNORECASE,
)


def read_number(text: str, unit: str, *, over: bool, what: str) -> Reading:
    """Understand a typed measurement in ``unit`` ("V", "Ω").

    ``over``: OL is an answer here. ``what`` names the check in messages. A number keeps how far
    it was rounded in ``low`` and ``high``. Raises :class:`ReadingError` saying what is
    understood, and nothing else.
    """
    said = " ".join(text.split())
    if is_nothing(said):
        return Reading(text=text, nothing=True)
    said = said.rstrip("!;")
    for _ in range(3):
        said = _TAIL.sub("", _LEAD.sub("", said))
    said = loosely(said, unit)
    if said.casefold() in OPEN:
        if over:
            return Reading(text=text, value=math.inf, word="OL")
        raise ReadingError(
            f"{shorten(text)} is no answer to {what}: on volts it means the range is too low; "
            "choose a higher range and measure again, or answer ? to skip"
        )
    try:
        return _number(text, said, unit)
    except (UnitError, ValueError) as error:
        example = "0.68, 680m, under 1, about 5, 0.6-0.8" if unit == "V" else \
            "220, 4k7, under 10, about 1k, 100-200"  # fmt: skip
        more = ", OL" if over else ""
        raise ReadingError(
            f"cannot read {shorten(text)} as the answer to {what}: expected {unit} such as "
            f"{example}{more}, or ? when you could not tell"
        ) from error


def _number(text: str, said: str, unit: str) -> Reading:
    if len(said) > 60 or not said:
        raise UnitError("too long or empty")
    bound = _UNDER.match(said)
    if bound:
        return Reading(text=text, high=_quantity(said[bound.end() :], unit)[0])
    bound = _OVER.match(said)
    if bound:
        return Reading(text=text, low=_quantity(said[bound.end() :], unit)[0])
    span = _BETWEEN.match(said) or _plain_span(said, unit)
    if span:
        low, high = _ends(span["a"], span["b"], unit)
        return Reading(text=text, low=low, high=high)
    spread = _PLUS_MINUS.match(said)
    if spread:
        step, value = _ends(spread["b"], spread["a"], unit, order=False)
        return Reading(text=text, value=value, low=value - step, high=value + step)
    about = _ABOUT.match(said)
    short = said[about.end() :] if about else said
    short, ish = _ISH.subn("", short)
    value, half = _quantity(short, unit)
    if about or ish:
        half = max(half, ABOUT * abs(value))
    return Reading(text=text, value=value, low=value - half, high=value + half)


def _plain_span(said: str, unit: str) -> re.Match[str] | None:
    """``0.6-0.8``, unless the whole is one number such as ``1e-3``."""
    try:
        parse(said, unit)
    except UnitError:
        return _SPAN.match(said)
    return None


def _ends(a: str, b: str, unit: str, *, order: bool = True) -> tuple[float, float]:
    """Two numbers; a bare first one takes the prefix of the second where that makes sense:
    ``100-200 mV``, but ``500-1k``."""
    second = _quantity(b, unit)[0]
    first = _quantity(a, unit)[0]
    tail = _LETTERS.search(b.strip())
    if _BARE.match(a.strip()) and tail:
        shared = _quantity(a + tail[0], unit)[0]
        first = shared if abs(shared) <= abs(second) else first
    return (min(first, second), max(first, second)) if order else (first, second)


def _quantity(raw: str, unit: str) -> tuple[float, float]:
    """Value and half of the last digit typed, SI."""
    raw = raw.strip()
    if raw.casefold().startswith("minus "):
        raw = "-" + raw[6:].strip()
    word = _WORD.match(raw)
    if word:
        value = parse(f"{word['minus'] or ''}{_WORDS[word['word'].casefold()]}", "")
        value *= parse(f"1 {word['unit'] or ''}".strip(), unit)
        return value, max(0.1 * abs(value), 0.02)
    value = parse(raw, unit)
    return value, 0.5 * _last_digit(raw, value, unit)


def _last_digit(raw: str, value: float, unit: str) -> float:
    """Size of one step of the last digit typed: the number read again with that digit changed."""
    mantissa = re.sub(r"(?<=[\d.,])[eE][+-]?\d+", lambda found: "_" * len(found[0]), raw)
    digits = [found.start() for found in re.finditer(r"[0-9]", mantissa)]
    if not digits:
        return 0.0
    at = digits[-1]
    bumped = raw[:at] + ("8" if raw[at] == "9" else str(int(raw[at]) + 1)) + raw[at + 1 :]
    step = abs(parse(bumped, unit) - value)
    return step if math.isfinite(step) else 0.0
