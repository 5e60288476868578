"""Waveforms as an SVG text: one strip for each quantity, the lines of several cases in it.

Lines differ in dashes as well as in colour (the hues of B. Okabe and K. Ito, Color universal
design, 2008, which the colour-blind tell apart).
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity

__all__ = ["Strip", "traces_svg"]

Array = npt.NDArray[np.float64]

_WIDTH, _LEFT, _RIGHT, _HEIGHT, _GAP, _TOP = 900, 90, 20, 120, 26, 30
_LINES = (
    ("#000000", ""), ("#d55e00", "7 3"), ("#0072b2", "2 3"), ("#009e73", "9 3 2 3"),
    ("#cc79a7", "4 4"), ("#e69f00", "1 2"),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One quantity: ``values`` [C, K] of C cases at K times, in ``unit``; gaps are not-a-number.
    ``steps``: a level holds until the next time."""

    title: str
    unit: str
    values: Array
    steps: bool = False


def traces_svg(
    time: Array, names: Sequence[str], strips: Sequence[Strip], *, title: str = ""
) -> str:
    """``time`` [K] seconds; ``names`` of the C cases; ``title`` is read out, not drawn."""
    height = _TOP + len(strips) * (_HEIGHT + _GAP) + 30
    inside = [f'<rect width="{_WIDTH}" height="{height}" fill="#ffffff"/>', _legend(names)]
    for k, strip in enumerate(strips):
        inside.append(_strip(time, strip, _TOP + _GAP + k * (_HEIGHT + _GAP)))
    inside.append(_time_axis(time, height - 24))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" '
        f'width="{_WIDTH}" height="{height}" font-family="sans-serif" font-size="12">'
        + (f"<title>{escape(title)}</title>" if title else "")
        + "".join(inside)
        + "</svg>\n"
    )


def _legend(names: Sequence[str]) -> str:
    found, x = [], _LEFT
    for k, name in enumerate(names):
        found.append(
            f'<path d="M{x} 18h34" {_pen(k)}/><text x="{x + 40}" y="22">{escape(name)}</text>'
        )
        x += 60 + 7 * len(name)
    return "".join(found)


def _strip(time: Array, strip: Strip, top: int) -> str:
    low, high = _range(strip.values)
    across = (_WIDTH - _LEFT - _RIGHT) / max(float(time[-1] - time[0]), 1e-15)
    x = _LEFT + (time - time[0]) * across
    found = [
        f'<rect x="{_LEFT}" y="{top}" width="{_WIDTH - _LEFT - _RIGHT}" height="{_HEIGHT}" '
        'fill="none" stroke="#999999"/>',
        f'<text x="{_LEFT}" y="{top - 5}">{escape(strip.title)}</text>',
    ]
    for value, y in ((high, top + 10), (low, top + _HEIGHT)):
        shown = escape(format_quantity(value, strip.unit))
        found.append(f'<text x="{_LEFT - 6}" y="{y}" text-anchor="end">{shown}</text>')
    for k, row in enumerate(strip.values):
        y = top + _HEIGHT - (row - low) / (high - low) * _HEIGHT
        found.append(f'<path d="{_path(x, y, strip.steps)}" {_pen(k)}/>')
    return "".join(found)


def _path(x: Array, y: Array, steps: bool) -> str:
    words, down = [], False
    for a, b in zip(x.tolist(), y.tolist(), strict=True):
        if b != b:
            down = False
        elif not down:
            words.append(f"M{a:.1f} {b:.1f}")
            down = True
        else:
            words.append(f"H{a:.1f}V{b:.1f}" if steps else f"L{a:.1f} {b:.1f}")
    return "".join(words)


def _time_axis(time: Array, y: int) -> str:
    span = _WIDTH - _LEFT - _RIGHT
    found = []
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        shown = escape(format_quantity(float(time[0] + share * (time[-1] - time[0])), "s"))
        found.append(
            f'<text x="{_LEFT + share * span:.0f}" y="{y + 14}" text-anchor="middle">{shown}</text>'
        )
    return "".join(found)


def _range(values: Array) -> tuple[float, float]:
    good = values[np.isfinite(values)]
    low, high = (float(good.min()), float(good.max())) if good.size else (0.0, 1.0)
    if high - low < 1e-9:
        return low - 0.5, high + 0.5
    return low, high


def _pen(k: int) -> str:
    colour, dashes = _LINES[k % len(_LINES)]
    return f'fill="none" stroke="{colour}" stroke-width="1.5" stroke-dasharray="{dashes}"'
