"""Where a pin is on a part's case, seen from the parts side or, mirrored, from the solder side.

Dual in line: pin 1 is left of the notch, counted counter-clockwise seen from above (JEDEC MS-001).
Orders of legs are those of the usual data sheets, from memory; parts that were sold with their legs
in more than one order, or in a case that is not told by the type, have no outline here.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from typing import Literal

from halfsplit.frozen import dataclass

__all__ = ["Package", "package_of", "package_svg"]

_DUAL = frozenset({8, 14, 16, 18, 20, 22, 24, 28, 40})
"""Pins that cases in dual line have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """``legs`` by name: of a dual line in the order of their numbers, else from left to right with
    the marked face towards you."""

    name: str
    shape: Literal["dual", "half round", "tab", "row", "axial", "round"]
    legs: tuple[str, ...]


def package_of(kind: str, type_name: str, pins: Sequence[str]) -> Package | None:
    """The case of a part of that kind and type; ``pins`` are all that its kind has, or that were
    typed. ``None`` when it cannot be told."""
    for pattern, package in _TYPES:
        if re.fullmatch(pattern, type_name):
            return package
    if kind in _BANDED and set(pins) == {"a", "k"}:
        return Package(name="axial", shape="axial", legs=("a", "k"))
    if kind in _CANS and set(pins) == {"1", "2"}:
        return Package(name="polarised", shape="round", legs=("1", "2"))
    if kind == "led" and set(pins) == {"a", "k"}:
        return Package(name="LED", shape="round", legs=("a", "k"))
    numbers = sorted(int(pin) for pin in pins if pin.isascii() and pin.isdecimal())
    if len(numbers) != len(pins) or not numbers or kind in _LOOSE:
        return None
    if kind == "bussed-network":
        legs = tuple(str(number) for number in range(1, numbers[-1] + 1))
        return Package(name=f"SIP, {len(legs)} pins", shape="row", legs=legs)
    if numbers[-1] in _DUAL:
        legs = tuple(str(number) for number in range(1, numbers[-1] + 1))
        return Package(name=f"DIP, {len(legs)} pins", shape="dual", legs=legs)
    return None


def package_svg(package: Package, pin: str, solder: bool = False) -> str:
    """The outline as SVG with the pin marked; without a pin of that name none is marked."""
    width, height, shapes, spots = _DRAWN[package.shape](package)
    inside = []
    for shape in shapes:
        inside.append(f'<path class="case" d="{shape}"/>')
    turn = f' transform="translate({width} 0) scale(-1 1)"' if solder else ""
    parts = [f"<g{turn}>{''.join(inside)}</g>"]
    for name, x, y, number_x, number_y in spots:
        x, number_x = (width - x, width - number_x) if solder else (x, number_x)
        here = name == pin
        look = 'class="leg here" r="5"' if here else 'class="leg" r="3"'
        parts.append(f'<circle {look} cx="{x}" cy="{y}"/>')
        if here or name == package.legs[0] or package.shape != "dual":
            parts.append(
                f'<text class="{"here" if here else "other"}" x="{number_x}" y="{number_y}" '
                f'text-anchor="middle">{escape(name)}</text>'
            )
    side = "solder side" if solder else "parts side"
    words = f"{package.name}, seen from the {side}" + (f", pin {pin}" if pin else "")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="package" role="img" '
        f'aria-label="{escape(words, quote=True)}" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}">{"".join(parts)}</svg>'
    )


Spot = tuple[str, int, int, int, int]
"""A leg's name, where it is, and where its name is written."""
Shown = tuple[int, int, list[str], list[Spot]]
_STEP = 12


def _dual(package: Package) -> Shown:
    half = len(package.legs) // 2
    height = _STEP * half + 20
    body = f"M32 8H53A7 7 0 0 0 67 8H88V{height - 8}H32Z"
    spots = []
    for at, name in enumerate(package.legs):
        left = at < half
        y = 20 + _STEP * (at if left else len(package.legs) - 1 - at)
        x = 26 if left else 94
        spots.append((name, x, y, 10 if left else 110, y + 4))
    return 120, height, [body], spots


def _row(package: Package) -> Shown:
    width = _STEP * len(package.legs) + 28
    body = f"M10 8H{width - 10}V26H10Z"
    dot = "M16 20a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"
    spots = [
        (name, 20 + _STEP * at, 34, 20 + _STEP * at, 50) for at, name in enumerate(package.legs)
    ]
    return width, 56, [body, dot], spots


def _half_round(package: Package) -> Shown:
    return 120, 74, ["M24 46A40 40 0 0 1 96 46Z"], _three(package, 38)


def _tab(package: Package) -> Shown:
    return 120, 74, ["M18 10H102V18H18Z", "M24 18H96V46H24Z"], _three(package, 38)


def _three(package: Package, y: int) -> list[Spot]:
    return [(name, 36 + 24 * at, y, 36 + 24 * at, 62) for at, name in enumerate(package.legs)]


def _axial(package: Package) -> Shown:
    spots = [(package.legs[0], 10, 20, 10, 40), (package.legs[1], 110, 20, 110, 40)]
    return 120, 46, ["M34 8H86V32H34Z", "M74 8H80V32H74Z", "M10 20H34M86 20H110"], spots


def _round(package: Package) -> Shown:
    """The second leg is the negative one: at the stripe of a capacitor, the flat of an LED."""
    spots = [(package.legs[0], 46, 34, 46, 70), (package.legs[1], 74, 34, 74, 70)]
    return (
        120,
        76,
        ["M86 16A32 26 0 1 0 86 52Z", "M90 30H98" if package.name != "LED" else "M86 16V52"],
        spots,
    )


_DRAWN = {
    "dual": _dual, "row": _row, "half round": _half_round, "tab": _tab, "axial": _axial,
    "round": _round,
}  # fmt: skip
_BANDED = frozenset({"diode", "zener", "schottky", "germanium"})
_CANS = frozenset({"electrolytic", "tantalum"})
_LOOSE = frozenset({"connector", "cable", "unknown", "relay", "transformer", "resistor",
                    "isolated-network", "switch", "potentiometer"})  # fmt: skip


def _legs(name: str, shape: Literal["half round", "tab"], legs: str) -> Package:
    return Package(name=name, shape=shape, legs=tuple(legs.split()))


_TYPES: tuple[tuple[str, Package], ...] = (
    (r"2N39(04|06)|2N440[13]|MPSA1[34]", _legs("TO-92", "half round", "e b c")),
    (r"BC(54[78]|55[78]|3[23]7)", _legs("TO-92", "half round", "c b e")),
    (r"2N7000", _legs("TO-92", "half round", "s g d")),
    (r"78L\d\d", _legs("TO-92", "half round", "out gnd in")),
    (r"79L\d\d", _legs("TO-92", "half round", "gnd in out")),
    (r"TIP(29|3[0-2]|4[12]|11[0-7]|12[0-7])[A-C]?", _legs("TO-220", "tab", "b c e")),
    (r"IRF9?5[1-4]0", _legs("TO-220", "tab", "g d s")),
    (r"78[MS]?\d\d", _legs("TO-220", "tab", "in gnd out")),
    (r"79M?\d\d", _legs("TO-220", "tab", "gnd in out")),
    (r"BT13[678]", _legs("TO-220", "tab", "mt1 mt2 g")),
)
"""Type numbers, and their case."""
