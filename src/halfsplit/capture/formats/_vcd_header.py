"""The declarations of a VCD file: IEEE 1364-2005, 18.2.3."""

from __future__ import annotations

import re
from collections.abc import Iterator

from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass

__all__ = ["MOST_BITS", "Header", "Line", "Variable", "parse_header"]

MOST_BITS = 65_535
"""Bits of all variables together; more than any instrument has, and a damaged width is found."""

_TOKEN = re.compile(rb"\S+")
_TIMESCALE = re.compile(r"(1|10|100)(s|ms|us|ns|ps|fs)", re.IGNORECASE)
_POWERS = {"s": 0, "ms": -3, "us": -6, "ns": -9, "ps": -12, "fs": -15}
_RANGE = re.compile(r"(.*?)\[(-?[0-9]{1,9})(?::(-?[0-9]{1,9}))?\]", re.DOTALL)
_REAL, _TEXT, _EVENT = ("real", "realtime", "shortreal"), ("string",), ("event",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """What one id code stands for. ``slot`` numbers its lowest bit, or its row of reals."""

    code: bytes
    kind: str
    """bits, real or text."""
    width: int
    slot: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A channel of the record: its name, and the bit or row of reals that it shows."""

    name: str
    slot: int
    kind: str
    """bit, event or real."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """All that stands before the value changes, which begin at byte ``size`` (from 0)."""

    tick: float
    timescale: str
    variables: tuple[Variable, ...]
    lines: tuple[Line, ...]
    bits: int
    reals: int
    size: int
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Declared:
    kind: str
    width: int
    code: bytes
    scope: tuple[str, ...]
    reference: str
    at: int


def parse_header(text: bytes, source: str) -> Header | None:
    """The header at the start of a file; ``None`` when ``text`` ends before it does.

    Raises :class:`CaptureError` with the byte.
    """
    timescale, declared = "", []
    scopes: list[str] = []
    for word, at, inside, end in _sections(text, source):
        if word == "$timescale":
            timescale = "".join(inside)
        elif word == "$scope":
            scopes.append(inside[-1] if inside else "")
        elif word == "$upscope":
            if not scopes:
                raise CaptureError("$upscope without a $scope before", source=source, byte=at + 1)
            scopes.pop()
        elif word == "$var":
            declared.append(_declaration(inside, tuple(scopes), at, source))
        elif word == "$enddefinitions":
            return _header(timescale, declared, end, source)
        elif word.startswith("$dump"):
            raise CaptureError(
                f"expected $enddefinitions before the first values, got {word}",
                source=source,
                byte=at + 1,
            )
    return None


def _sections(text: bytes, source: str) -> Iterator[tuple[str, int, list[str], int]]:
    """Keyword, its byte, the words up to $end, and the byte after $end."""
    tokens = _TOKEN.finditer(text)
    for token in tokens:
        word = token[0].decode("latin-1")
        if not word.startswith("$"):
            raise CaptureError(
                f"expected a declaration such as $var, got {word[:40]!r}",
                source=source,
                byte=token.start() + 1,
            )
        inside: list[str] = []
        for inner in tokens:
            if inner[0] == b"$end":
                yield word, token.start(), inside, inner.end()
                break
            inside.append(inner[0].decode("latin-1"))
        else:
            return


def _declaration(inside: list[str], scope: tuple[str, ...], at: int, source: str) -> _Declared:
    if len(inside) < 4 or not re.fullmatch("[0-9]{1,9}", inside[1]):
        raise CaptureError(
            "expected $var TYPE WIDTH CODE NAME $end, got $var " + " ".join(inside)[:60],
            source=source,
            byte=at + 1,
        )
    kind, width = inside[0].lower(), int(inside[1])
    return _Declared(
        kind="real" if kind in _REAL else "text" if kind in _TEXT else kind,
        width=1 if kind in _EVENT else width,
        code=inside[2].encode("latin-1"),
        scope=scope,
        reference="".join(inside[3:]),
        at=at,
    )


def _header(timescale: str, declared: list[_Declared], size: int, source: str) -> Header:
    remarks = []
    scale = _TIMESCALE.fullmatch(timescale)
    if timescale and not scale:
        raise CaptureError(
            "expected a $timescale such as 10 ns (1, 10 or 100 of s to fs), "
            f"got {timescale[:40]!r}",
            source=source,
        )
    if not scale:
        remarks.append("no $timescale in the file: one tick is taken as 1 ns")
    power = _POWERS[scale[2].lower()] + len(scale[1]) - 1 if scale else -9
    variables, bits, reals = _variables(declared, source)
    texts = sum(one.kind == "text" for one in declared)
    if texts:
        remarks.append(f"{texts} of the variables are text and have been left out")
    return Header(
        tick=float(f"1e{power}"),
        timescale=timescale or "1ns",
        variables=tuple(variables.values()),
        lines=tuple(_lines(declared, variables)),
        bits=bits,
        reals=reals,
        size=size,
        remarks=tuple(remarks),
    )


def _variables(declared: list[_Declared], source: str) -> tuple[dict[bytes, Variable], int, int]:
    """Variables by code, in slots one after the other; an alias may be narrower or wider."""
    widths: dict[bytes, int] = {}
    kinds: dict[bytes, str] = {}
    for one in declared:
        kind = one.kind if one.kind in ("real", "text") else "bits"
        if kinds.setdefault(one.code, kind) != kind:
            raise CaptureError(
                f"code {one.code.decode('latin-1')!r} is both {kinds[one.code]} and {kind}",
                source=source,
                byte=one.at + 1,
            )
        widths[one.code] = max(widths.get(one.code, 1), one.width)
        if sum(widths.values()) > MOST_BITS if one.width > 1 else len(widths) > MOST_BITS:
            raise CaptureError(
                f"expected at most {MOST_BITS} bits in all variables, got more with "
                f"{one.reference!r} of {one.width} bits",
                source=source,
                byte=one.at + 1,
            )
    made: dict[bytes, Variable] = {}
    free = {"bits": 0, "real": 0, "text": 0}
    for code, kind in kinds.items():
        width = widths[code] if kind == "bits" else 1
        made[code] = Variable(code=code, kind=kind, width=width, slot=free[kind])
        free[kind] += width
    return made, free["bits"], free["real"]


def _lines(declared: list[_Declared], variables: dict[bytes, Variable]) -> Iterator[Line]:
    """The channels, highest bit first; names without the scopes that all share, and never twice."""
    shared = _shared([one.scope for one in declared])
    taken: dict[str, int] = {}
    for one in declared:
        if one.kind == "text":
            continue
        slot = variables[one.code].slot
        path = ".".join((*one.scope[shared:], one.reference))
        kind = one.kind if one.kind in ("real", "event") else "bit"
        for name, bit in _bits(path, one.width if kind == "bit" else 1):
            if taken.get(name) == slot + bit:
                continue
            unique, n = name, 2
            while unique in taken:
                unique, n = f"{name}~{n}", n + 1
            taken[unique] = slot + bit
            yield Line(name=unique, slot=slot + bit, kind=kind)


def _bits(path: str, width: int) -> Iterator[tuple[str, int]]:
    """Name of every bit, and its number from the lowest."""
    found = _RANGE.fullmatch(path)
    if width <= 1:
        yield path, 0
        return
    stem, high, low = path, width - 1, 0
    if found and found[3] is not None and abs(int(found[2]) - int(found[3])) + 1 == width:
        stem, high, low = found[1], int(found[2]), int(found[3])
    step = -1 if high >= low else 1
    for bit in range(width - 1, -1, -1):
        yield f"{stem}[{high + step * (width - 1 - bit)}]", bit


def _shared(scopes: list[tuple[str, ...]]) -> int:
    """How many scopes from the top all variables have in common."""
    if not scopes:
        return 0
    first, last = min(scopes), max(scopes)
    same = [a == b for a, b in zip(first, last, strict=False)]
    return same.index(False) if False in same else len(same)
