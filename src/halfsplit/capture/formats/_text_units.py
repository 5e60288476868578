"""What headings of delimited text mean: names, units, intervals."""

from __future__ import annotations

import re
from collections.abc import Sequence

from halfsplit.frozen import dataclass

__all__ = ["Heading", "heading", "interval_of", "scale_of"]

_PREFIXES = {
    "f": -15, "p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3, "k": 3, "M": 6, "G": 9,
}  # fmt: skip
_BASES = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("v", "volt", "volts"), "V"),
    **dict.fromkeys(("a", "amp", "amps", "ampere"), "A"),
    **dict.fromkeys(("hz",), "Hz"),
    **dict.fromkeys(("sa/s", "samples/s", "s/s", "sps"), "Hz"),
    **dict.fromkeys(("w", "watt", "watts"), "W"),
    **dict.fromkeys(("ohm", "ohms", "ω"), "Ω"),
}
_UNIT = re.compile(r"(.*?)\s*[(\[]\s*([A-Za-zµμΩ/]{1,9})\s*[)\]]")
_NUMBER = r"([+-]?[0-9]+(?:[.,][0-9]*)?(?:[eE][+-]?[0-9]+)?)"
_INTERVAL = re.compile(
    r"(?i:sampl\w*\s*(?:interval|period|time)|time\s*(?:interval|step|increment)|x\s*-?incr\w*|interval"
    r"|increment|delta\s*t|\bdt\b|\btstep\b)[^0-9+-]{0,24}?" + _NUMBER + r"\s*([A-Za-zµμ]{0,5})"
)
_RATE = re.compile(
    r"(?i:sampl\w*\s*(?:rate|freq\w*|clock)|\brate\b)[^0-9+-]{0,24}?"
    + _NUMBER
    + r"\s*([A-Za-z/]{0,12})"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """Of one column. ``unit`` is an SI unit, and ``scale`` takes the numbers to it."""

    name: str
    unit: str
    scale: float


def heading(name: str, unit: str, number: int) -> Heading:
    """Of column ``number`` (from 1), from what stands above it: ``CH1 (mV)``, or a row of units."""
    found = _UNIT.fullmatch(name)
    if found and (unit or scale_of(found[2]) is not None):
        name, unit = found[1], unit or found[2]
    unit = unit.strip("()[] ")
    known = scale_of(unit)
    base, scale = known if known else (unit, 1.0)
    return Heading(name=name or f"column {number}", unit=base, scale=scale)


def scale_of(unit: str) -> tuple[str, float] | None:
    """SI unit and factor of a unit as it is written; ``None`` for one that is not known."""
    whole = _BASES.get(unit.lower())
    if whole:
        return whole, 1.0
    base = _BASES.get(unit[1:].lower()) if unit else None
    if base is None or unit[0] not in _PREFIXES:
        return None
    return base, float(f"1e{_PREFIXES[unit[0]]}")


def interval_of(lines: Sequence[str]) -> float:
    """Seconds between samples, as the lines before the rows say it; 0 when they do not."""
    for line in lines:
        for pattern, unit in ((_INTERVAL, "s"), (_RATE, "Hz")):
            found = pattern.search(line)
            if not found:
                continue
            base, scale = scale_of(found[2]) or (unit if not found[2] else "", 1.0)
            value = float(found[1].replace(",", ".")) * scale
            if base == unit and 0 < value < float("inf"):
                return value if unit == "s" else 1.0 / value
    return 0.0
