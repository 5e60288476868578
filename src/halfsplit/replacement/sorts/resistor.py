"""Resistors, and packs of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.sorts._base import Asked, Sort, limited, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.units import format_quantity

__all__ = ["KINDS"]

_WATTS = (0.125, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
_E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
_E24 = (*_E12, 1.1, 1.3, 1.6, 2.0, 2.4, 3.0, 3.6, 4.3, 5.1, 6.2, 7.5, 9.1)
"""IEC 60063."""
_COOL = 2.0
"""A resistor lasts when it is rated for twice its heat (common practice, no source)."""


class Resistors(Sort):
    """One value between two leads."""

    name = "resistor"
    kinds = frozenset({"resistor"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        watts = limited(site, "dissipation")
        return (
            Quantity(name="dissipation", unit="W", limit=watts[0], source=watts[1], of=site.watts,
                     steady=True),
            Quantity(name="voltage", unit="V",
                     of=lambda points: abs(site.across("1", "2", points))),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        part = asked.site.part
        if part.value is None:
            return ()
        needed = asked.worst("dissipation")
        said = format_quantity(part.value, "Ω", 3)
        rated = limited(asked.site, "dissipation")[0] or 0.25
        fits = [watts for watts in _WATTS if watts >= min(_COOL * needed, rated)]
        found = [
            _same(said, watts, needed) for watts in sorted({*fits[:2], rated}) if watts in _WATTS
        ]
        one, other = (format_quantity(each, "Ω", 3) for each in _pair(part.value))
        found.append(
            judge(f"{one} and {other} in a row", notes=["within 2 %; the larger takes more heat"])
        )
        for value in _neighbours(part.value):
            name = format_quantity(value, "Ω", 3)
            wrong = asked.tryout(replace(part, value=value))
            found.append(
                judge(name, against=wrong, tried=True, changes=[
                    f"{value / part.value - 1.0:+.0%}: outside the tolerance typed; every output "
                    "of the board stays right all the same"
                ])
            )  # fmt: skip
        return found

    def remarks(self, asked: Asked) -> Sequence[str]:
        if asked.worst("dissipation") * _COOL > (limited(asked.site, "dissipation")[0] or 0.25):
            return ("It runs warm: leave a gap to the board, and look for a brown patch.",)
        return ()


class Packs(Sort):
    """Several resistors in one case."""

    name = "resistor pack"
    kinds = frozenset({"bussed-network", "isolated-network"})

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        part = asked.site.part
        said = format_quantity(part.value, "Ω", 3) if part.value else "the same value"
        common = part.kind == "bussed-network"
        other = "isolated" if common else "bussed"
        return (
            judge(f"{'bussed' if common else 'isolated'} pack of {said}",
                  notes=["the dot is pin 1", "check which end is common"]),
            judge(f"single resistors of {said}, standing", changes=[
                "one end of each into its hole" + (", the others joined above" if common else "")]),
            judge(f"{other} pack of {said}", against=["its resistors are joined otherwise inside"]),
        )  # fmt: skip


def _same(said: str, watts: float, needed: float) -> Candidate:
    against, note = over("", needed, watts, "W")
    return judge(f"{said} {format_quantity(watts, 'W')}", against=[against], notes=[note])


def _pair(value: float) -> tuple[float, float]:
    """Two values of the E24 series that add up to ``value`` within 2 %, as even as may be."""
    decades = [10.0**n for n in range(-2, 8)]
    series = [each * decade for decade in decades for each in _E24]
    fits = [
        (abs(a - b), a, b)
        for a in series
        if a <= value / 2 * 1.01
        for b in series
        if b >= a and abs(a + b - value) <= 0.02 * value
    ]
    _, less, more = min(fits)
    return more, less


def _neighbours(value: float) -> list[float]:
    """The values of the E12 series below and above."""
    exponent = 0
    scaled = value
    while scaled >= 10.0:
        scaled, exponent = scaled / 10.0, exponent + 1
    while scaled < 1.0:
        scaled, exponent = scaled * 10.0, exponent - 1
    series = [0.82, *_E12, 10.0]
    below = max(each for each in series if each < scaled * 0.995)
    above = min(each for each in series if each > scaled * 1.005)
    return [float(f"{each:g}e{exponent}") for each in (below, above)]


KINDS = (Resistors(), Packs())
