"""Chips whose likes only a table knows: comparators, timers, line drivers and receivers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.parts.registry import KINDS as PART_KINDS
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.operating import Points
from halfsplit.replacement.pinout import differences, functions
from halfsplit.replacement.sorts._base import Asked, Sort
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table
from halfsplit.solve.law import Array

__all__ = ["KIND"]

_SPAN = "voltage between its pins"
_SUPPLIES = ("supply", "positive supply")
_CURRENTS = ("output current", "low output current")
"""Names of limits, as kinds of chip call them."""


class Chips(Sort):
    """Volts over the whole chip, current into each output."""

    name = "chip"
    kinds = frozenset(table("alike"))

    def quantities(self, site: Site) -> Sequence[Quantity]:
        supply, amps = _first(site, _SUPPLIES), _first(site, _CURRENTS)
        roles = {pin.name: pin.role for pin in site.kind.word.pins}
        outs = [pin for pin in site.part.pins if roles.get(pin) in ("oc", "out", "tri")]
        found = [
            Quantity(name=_SPAN, unit="V", limit=supply[0], source=supply[1],
                     of=lambda points: _highest(site, points)),
        ]  # fmt: skip
        found += [
            Quantity(name=f"current into output {pin}", unit="A", limit=amps[0], source=amps[1],
                     of=lambda points, pin=pin: site.amps(pin, points))  # type: ignore[misc]  # pin is bound here
            for pin in outs
        ]  # fmt: skip
        return found

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return list(_listed(asked))


def _first(site: Site, names: Sequence[str]) -> tuple[float | None, str]:
    """The first of some limits that the part has, and its source."""
    return next((found for name in names if (found := site.rating(name))), (None, ""))


def _highest(site: Site, points: Points) -> Array:
    found: Array = np.fmax.reduce([site.volts(pin, points) for pin in site.part.pins])
    return found


def _listed(asked: Asked) -> Iterator[Candidate]:
    part = asked.site.part
    known = table("alike").get(part.kind, {})
    for name, why in known.get("serves", ()):
        wrong: Sequence[str] = ()
        moved: Sequence[str] = ()
        tried = name in PART_KINDS and name != part.kind
        if tried:
            word = PART_KINDS.get(name).word
            moved = differences(functions(asked.site.kind.word), functions(word), part.pins)
            wrong = asked.tryout(replace(part, kind=name))
        yield judge(name, against=[*moved, *wrong], notes=[why], tried=tried)
    for name, why in known.get("change", ()):
        yield judge(name, changes=[why])
    for name, why in known.get("no", ()):
        yield judge(name, against=[why])


KIND = Chips()
