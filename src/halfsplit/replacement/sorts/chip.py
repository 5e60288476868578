"""Chips whose likes only a table knows: comparators, amplifiers and their kin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.parts.registry import KINDS as PART_KINDS
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.operating import Points
from halfsplit.replacement.pinout import differences, functions
from halfsplit.replacement.sorts._base import Asked, Sort, limited
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table
from halfsplit.solve.law import Array

__all__ = ["KIND"]

_SPAN = "voltage between its pins"


class Chips(Sort):
    """Volts over the whole chip, current into each output."""

    name = "chip"
    kinds = frozenset({"LM339", "LM239", "LM2901", "LM393", "LM293", "LM2903", "LM358"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        supply, amps = limited(site, "supply"), limited(site, "output current")
        roles = {pin.name: pin.role for pin in site.kind.word.pins}
        outs = [pin for pin in site.part.pins if roles.get(pin) in ("oc", "out")]
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


def _highest(site: Site, points: Points) -> Array:
    found: Array = np.fmax.reduce([site.volts(pin, points) for pin in site.part.pins])
    return found


def _listed(asked: Asked) -> Iterator[Candidate]:
    part = asked.site.part
    known = table("alike").get(part.kind, {})
    for name, why in known.get("serves", ()):
        wrong: Sequence[str] = ()
        moved: Sequence[str] = ()
        tried = name in PART_KINDS
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
