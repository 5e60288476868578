"""Quantities at the edge: what a person types or reads, and SI floats inside.

``parse("4k7")`` keeps decimal exactness: ``100n`` is ``float("100e-9")``, not ``100 * 1e-9``.
Prefixes follow the SI; ``k7``-style infix and the letter ``R`` for ohms follow IEC 60062.
"""

from __future__ import annotations

import math
import re

from halfsplit.errors import UnitError

__all__ = ["UNITS", "format_quantity", "format_span", "parse", "parse_percent"]

PREFIXES = {
    "f": -15, "p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3,
    "": 0, "k": 3, "K": 3, "M": 6, "G": 9, "T": 12,
}  # fmt: skip
"""Prefix letter -> power of ten (SI brochure, table 7). ``K`` is accepted for ``k``."""

UNITS = {
    "V": ("V", "volt", "volts"),
    "A": ("A", "amp", "amps", "ampere"),
    "Ω": ("Ω", "Ω", "ohm", "ohms", "R", "Ohm", "Ohms", "OHM"),
    "F": ("F", "farad"),
    "H": ("H", "henry"),
    "W": ("W", "watt", "watts"),
    "s": ("s", "sec"),
    "Hz": ("Hz", "hz"),
    "°C": ("°C", "degC", "C"),
    "min": ("min", "minutes", "minute"),
}
"""Unit symbol -> accepted spellings."""

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_PLAIN = re.compile(rf"^(?P<number>{_NUMBER})\s*(?P<tail>.*)$")
_INFIX = re.compile(r"^(?P<whole>[+-]?\d+)(?P<mark>[fpnuµμmkKMGTRV])(?P<part>\d+)\s*(?P<tail>.*)$")


def parse(text: str, unit: str = "") -> float:
    """Read a typed quantity as an SI float.

    Accepts ``4.7k``, ``4k7``, ``4R7``, ``100n``, ``100 nF``, ``680 mV``, ``1e3``, a decimal
    comma, and the bare number. ``unit`` is the symbol expected (a key of :data:`UNITS`, or
    ``""`` for a pure number); leaving it out is fine, another one is an error.

    Raises :class:`UnitError`.
    """
    stripped = text.strip()
    infix = _INFIX.match(stripped)
    if infix:
        mark = infix["mark"]
        power = 0 if mark in "RV" else PREFIXES[mark]
        number = f"{infix['whole']}.{infix['part']}"
        implied = {"R": "Ω", "V": "V"}.get(mark)
        if implied and unit and implied != unit:
            raise _refuse(text, unit)
        _require_unit(infix["tail"], unit, text)
    else:
        plain = _PLAIN.match(stripped)
        if not plain:
            raise _refuse(text, unit)
        number = plain["number"].replace(",", ".")
        power = _power(plain["tail"].strip(), unit, text)
    value = float(_shift(number, power))
    if not math.isfinite(value):
        raise _refuse(text, unit)
    return value


def parse_percent(text: str) -> float:
    """Read ``5%`` or ``+-5 %`` as the fraction 0.05. Raises :class:`UnitError`."""
    stripped = text.strip().removeprefix("+-").removeprefix("±")
    if not stripped.endswith("%"):
        raise UnitError(f"expected a percentage such as 5%, got {text!r}")
    try:
        value = float(_shift(stripped[:-1].strip().replace(",", "."), -2))
    except ValueError as error:
        raise UnitError(f"expected a percentage such as 5%, got {text!r}") from error
    if not 0.0 <= value < 10.0:
        raise UnitError(f"expected a percentage from 0% to 1000%, got {text!r}")
    return value


def format_quantity(value: float, unit: str = "", digits: int = 3) -> str:
    """Write a float as people do: ``4.7 kΩ``, ``680 mV``, ``0.7 V`` stays ``700 mV``.

    ``digits`` is the number of significant digits; not-a-number is ``unresolved``.
    """
    if math.isnan(value):
        return "unresolved"
    if math.isinf(value):
        return ("-" if value < 0 else "") + "open"
    space = " " if unit else ""
    if value == 0:
        return f"0{space}{unit}"
    exponent = math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}"))))
    step = max(-15, min(12, 3 * (exponent // 3)))
    symbol = {power: name for name, power in reversed(PREFIXES.items()) if name not in "Kµμ" or not name}
    scaled = value / 10.0**step
    decimals = max(0, digits - 1 - (exponent - step))
    text = f"{scaled:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text}{space}{symbol[step]}{unit}"


def format_span(low: float, high: float, unit: str = "") -> str:
    """Write an interval in one unit of size: ``0.1-0.3 V``; one value when both print alike."""
    if math.isnan(low) or math.isnan(high):
        return "unresolved"
    largest = max(abs(low), abs(high))
    if unit == "V":
        decimals = 1 if largest >= 10 else 2
        first, second = f"{low:.{decimals}f}", f"{high:.{decimals}f}"
        first, second = (text.replace("-0.00", "0.00").replace("-0.0", "0.0") if float(text) == 0 else text
                         for text in (first, second))
        return f"{first} V" if first == second else f"{first} to {second} V"
    first, second = format_quantity(low, unit), format_quantity(high, unit)
    return first if first == second else f"{first} to {second}"


def _power(tail: str, unit: str, text: str) -> int:
    """Power of ten of what follows the number, after checking the unit."""
    if not tail:
        return 0
    if unit and tail in UNITS.get(unit, (unit,)):
        return 0
    if tail[0] in PREFIXES:
        _require_unit(tail[1:], unit, text)
        return PREFIXES[tail[0]]
    raise _refuse(text, unit)


def _require_unit(tail: str, unit: str, text: str) -> None:
    tail = tail.strip()
    if tail and (not unit or tail not in UNITS.get(unit, (unit,))):
        raise _refuse(text, unit)


def _refuse(text: str, unit: str) -> UnitError:
    example = {"Ω": "4k7 or 220", "F": "100n", "V": "0.68 or 680m", "": "2.5"}.get(unit, f"1.5{unit}")
    return UnitError(f"expected a quantity{f' in {unit}' if unit else ''} such as {example}, got {text!r}")


def _shift(number: str, power: int) -> str:
    """Move the decimal exponent of a number written in decimal, keeping it exact."""
    mantissa, _, exponent = number.lower().partition("e")
    return f"{mantissa}e{int(exponent or 0) + power}"
