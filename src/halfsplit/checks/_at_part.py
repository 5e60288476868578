"""Actions at one part with a few outcomes in words: test, swap, look, press, reseat.

Faults at the part have their own chances; all others share one row that holds false alarms.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._places import part_named
from halfsplit.checks._vague import AT_ONE_PART, with_else
from halfsplit.checks._words import read_word
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import UnknownName
from halfsplit.solve.law import Array

__all__ = ["AtPart", "faults_by_part", "the_part"]


class AtPart(Kind):
    """Subclass with ``elsewhere`` (probabilities in the order of ``words``) and :meth:`chances`."""

    takes = "part"
    elsewhere: ClassVar[tuple[float, ...]]
    elsewhere_else: ClassVar[float] = AT_ONE_PART
    synonyms: ClassVar[Mapping[str, str]]

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        """Probabilities of the outcomes under a fault at the part, before misreads."""
        raise NotImplementedError

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        """Whether to offer the check for a part with these faults at it."""
        raise NotImplementedError

    def offers(self, world: World) -> Sequence[Check]:
        at = faults_by_part(world)
        return [
            Check(kind=self.name, places=(part.designator,))
            for part in world.board.parts
            if self.useful(part, [world.faults[f] for f in at.get(part.designator, ())])
        ]

    def read(self, check: Check, text: str, world: World) -> Reading:
        known = {**{word: word for word in self.words}, **self.synonyms}
        return read_word(text, known, what=f"{self.title} ({check.places[0]})")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        at = faults_by_part(world)
        labels = tuple(self.words)
        return [Outcomes(labels=labels, p=self._rows(check, world, meter, at)) for check in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = self._rows(check, world, meter, faults_by_part(world))
        labels = tuple(self.words)
        if reading.nothing:
            return np.ones(len(p) + 1)
        if reading.word not in labels:
            raise UnknownName("answer", reading.word, labels)
        even = np.full(len(labels), 1.0 / len(labels))
        column: Array = with_else(p, even, self.elsewhere_else)[:, labels.index(reading.word)]
        return column

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return tuple(self.words)[int(np.argmax(self.elsewhere))]

    def _rows(
        self, check: Check, world: World, meter: Meter, at: Mapping[str, Sequence[int]]
    ) -> Array:
        """[F, O] probabilities of the outcomes."""
        part = the_part(check, world)
        p = np.tile(np.array(self.elsewhere), (len(world.faults), 1))
        for f in at.get(part.designator, ()):
            p[f] = self.chances(world.faults[f], part)
            p[f] = (1.0 - meter.misread) * p[f] + meter.misread / p.shape[1]
        return p


def the_part(check: Check, world: World) -> Part:
    """The part a check names. Raises :class:`UnknownName`."""
    part = part_named(world, check.places[0])
    if part is None:
        known = [part.designator for part in world.board.parts]
        raise UnknownName("part", check.places[0], known)
    return part


def faults_by_part(world: World) -> dict[str, list[int]]:
    """Designator -> rows of the faults in the part or at its pins."""
    found: dict[str, list[int]] = {}
    for f, fault in enumerate(world.faults):
        names = {pin.designator for pin in fault.pins} | {fault.designator}
        for name in names - {""}:
            found.setdefault(name, []).append(f)
    return found
