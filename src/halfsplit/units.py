"""Quantities at the edge: what a person types or reads, and SI floats inside.

``parse("4k7")`` keeps decimal exactness: ``100n`` is ``float("100e-9")``, not ``100 * 1e-9``.
Prefixes follow the SI; ``k7``-style infix and the letter ``R`` for ohms follow IEC 60062,
where ``R47`` is 0.47 ohm and ``p33`` 0.33 pF. ``meg`` for mega is a habit of
old schematics (common practice, no source).
"""

from __future__ import annotations

import math
import re
from decimal import Decimal

from halfsplit.errors import UnitError

__all__ = [
    "UNITS",
    "format_percent",
    "format_quantity",
    "format_span",
    "format_typed",
    "parse",
    "parse_percent",
]

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

_SYMBOLS = {
    -15: "f", -12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T",
}  # fmt: skip

_NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,4}(?![0-9]))?"
_PLAIN = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<tail>.*)")
_INFIX = re.compile(
    r"(?P<whole>[+-]?[0-9]*)(?P<mark>[fpnuµμmkKMGTRV])(?P<part>[0-9]+)\s*(?P<tail>.*)"
)
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9])")
_PLAIN_UNITS = ("", "°C", "min", "%")
"""Units that people write without prefixes."""


def parse(text: str, unit: str = "") -> float:
    """Read a typed quantity as an SI float.

    Accepts ``4.7k``, ``4k7``, ``4R7``, ``100n``, ``100 nF``, ``680 mV``, ``1e3``, a decimal
    comma, and the bare number. ``unit`` is the symbol expected (a key of :data:`UNITS`, or
    ``""`` for a pure number); leaving it out is fine, another one is an error.

    Raises :class:`UnitError`.
    """
    stripped = text.strip()
    if _THOUSANDS.match(stripped):
        raise UnitError(
            f"expected a quantity, got {text!r}, where the comma may mark thousands or decimals; "
            "use a point for decimals and nothing for thousands"
        )
    infix = _INFIX.fullmatch(stripped)
    if infix:
        mark = infix["mark"]
        power = 0 if mark in "RV" else PREFIXES[mark]
        number = f"{infix['whole']}.{infix['part']}"
        implied = {"R": "Ω", "V": "V"}.get(mark)
        if implied and unit and implied != unit:
            raise _refuse(text, unit)
        _require_unit(infix["tail"], unit, text)
    else:
        plain = _PLAIN.fullmatch(stripped)
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
    stripped = text.strip().removeprefix("+-").removeprefix("±").strip()
    number = stripped.removesuffix("%").rstrip()
    if number == stripped or not re.fullmatch(_NUMBER, number):
        raise UnitError(f"expected a percentage such as 5%, got {text!r}")
    value = float(_shift(number.replace(",", "."), -2))
    if not 0.0 <= value < 10.0:
        raise UnitError(f"expected a percentage from 0% to 1000%, got {text!r}")
    return value


def format_quantity(value: float, unit: str = "", digits: int = 3) -> str:
    """Write a float as people do: ``4.7 kΩ``, ``680 mV``, ``100 nF``.

    ``digits`` is the number of significant digits. Pure numbers, degrees, minutes and percent
    take no prefix. Not-a-number is ``unresolved``, an infinite resistance ``open``.
    """
    if math.isnan(value):
        return "unresolved"
    if math.isinf(value):
        return "open" if unit == "Ω" else _with_unit("-∞" if value < 0 else "∞", "", unit)
    step = _step(value, unit, digits)
    if step is None:
        return _with_unit(f"{value:.{digits}g}", "", unit)
    return _with_unit(_trim(_decimal(value, step, digits)), _SYMBOLS[step], unit)


def format_span(low: float, high: float, unit: str = "") -> str:
    """Write an interval in one unit of size: ``0.1 to 0.3 V``; one value when both print alike.

    Volts stay volts down to 0.1 V, as a meter shows them. An open end is ``above 10 MΩ``.
    """
    if math.isnan(low) or math.isnan(high):
        return "unresolved"
    if low == high or (math.isinf(low) and math.isinf(high)):
        return format_quantity(low, unit) if low == high else "anything"
    if math.isinf(high):
        return f"above {format_quantity(low, unit)}"
    if math.isinf(low):
        return f"below {format_quantity(high, unit)}"
    largest = max(abs(low), abs(high))
    step = _step(largest, unit, 3)
    if unit == "V" and largest >= 0.1 and step == -3:
        step = 0
    if step is None:
        first, second = f"{low:.3g}", f"{high:.3g}"
        symbol = ""
    else:
        places = max(0, 2 - (_exponent(largest, 3) - step))
        pair = [f"{float(_shift(repr(end), -step)):.{places}f}" for end in (low, high)]
        while all("." in text and text[-1] in "0." for text in pair):
            pair = [text[:-1].removesuffix(".") for text in pair]
        first, second = (text.lstrip("-") if float(text) == 0 else text for text in pair)
        symbol = _SYMBOLS[step]
    return _with_unit(first if first == second else f"{first} to {second}", symbol, unit)


def format_typed(value: float, unit: str = "") -> str:
    """Write a float as it is typed in a board file: ``4k7``, ``100n``, ``0R47``, ``5V``.

    ``parse(format_typed(value, unit), unit) == value``, to the last bit. Raises
    :class:`UnitError` for a value that is not finite.
    """
    if not math.isfinite(value):
        raise UnitError(f"expected a finite value in {unit or 'figures'}, got {value}")
    exact = Decimal(repr(value))
    step = _step(value, unit, 17)
    if step is None:
        return repr(value)
    text = _trim(f"{exact.scaleb(-step):f}")
    mark = _SYMBOLS[step].replace("µ", "u")
    if unit == "Ω" and step <= 0:
        text, mark, unit = f"{exact:f}", "R", ""
        if "." not in text or text.endswith(".0"):
            return text.removesuffix(".0")
    if unit in ("Ω", "F", "") and mark and "." in text:
        return text.replace(".", mark)
    return f"{text}{mark}{'' if unit in ('Ω', 'F') else unit}"


def format_percent(fraction: float) -> str:
    """Write 0.05 as ``5%``; ``parse_percent`` gives the same fraction back."""
    return _trim(f"{Decimal(repr(fraction)).scaleb(2):f}") + "%"


def _power(tail: str, unit: str, text: str) -> int:
    """Power of ten of what follows the number, after checking the unit."""
    if not tail:
        return 0
    if unit and tail in UNITS.get(unit, (unit,)):
        return 0
    if tail[:3].casefold() == "meg":
        _require_unit(tail[3:], unit, text)
        return PREFIXES["M"]
    if tail[0] in PREFIXES:
        _require_unit(tail[1:], unit, text)
        return PREFIXES[tail[0]]
    raise _refuse(text, unit)


def _require_unit(tail: str, unit: str, text: str) -> None:
    tail = tail.strip()
    if tail and (not unit or tail not in UNITS.get(unit, (unit,))):
        raise _refuse(text, unit)


def _exponent(value: float, digits: int) -> int:
    """Power of ten of the first digit, after rounding to ``digits``."""
    return int(f"{value:.{digits - 1}e}".partition("e")[2])


def _step(value: float, unit: str, digits: int) -> int | None:
    """Power of ten of the prefix; ``None`` when no prefix reaches."""
    if value == 0:
        return 0
    exponent = _exponent(value, digits)
    if unit in _PLAIN_UNITS:
        return 0 if -7 < exponent < 15 else None
    return 3 * (exponent // 3) if -15 <= exponent < 15 else None


def _decimal(value: float, step: int, digits: int) -> str:
    """``value`` over ten to the power of ``step``, with so many significant digits."""
    if value == 0:
        return "0"
    places = max(0, digits - 1 - (_exponent(value, digits) - step))
    return f"{float(_shift(repr(value), -step)):.{places}f}"


def _trim(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _with_unit(number: str, symbol: str, unit: str) -> str:
    """With a space before the unit (SI brochure, 5.4.3), none before a prefix alone."""
    return f"{number}{' ' if unit else ''}{symbol}{unit}"


def _refuse(text: str, unit: str) -> UnitError:
    example = {"Ω": "4k7 or 220", "F": "100n", "V": "0.68 or 680m", "": "2.5"}.get(
        unit, f"1.5{unit}"
    )
    return UnitError(
        f"expected a quantity{f' in {unit}' if unit else ''} such as {example}, got {text!r}"
    )


def _shift(number: str, power: int) -> str:
    """Move the decimal exponent of a number written in decimal, keeping it exact."""
    mantissa, _, exponent = number.lower().partition("e")
    return f"{mantissa}e{int(exponent or 0) + power}"
