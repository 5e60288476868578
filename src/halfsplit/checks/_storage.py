"""What capacitance and series resistance share: across capacitors, power off, on a log axis."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar

import numpy as np

from halfsplit.board.model import Part
from halfsplit.build.world import Numbers, World
from halfsplit.checks._answers import read_number
from halfsplit.checks._base import Kind
from halfsplit.checks._expected import expected_span
from halfsplit.checks._grid import Grid
from halfsplit.checks._numeric import MISFIT, Predicted, likelihood, outcome_tables, predicted
from halfsplit.checks._places import leg, where
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError
from halfsplit.solve.law import Array

__all__ = ["ERROR", "StorageKind"]

ERROR = 0.05
"""Of the natural log: how true such meters are (hand-held meters: 1 to 5 %)."""
CAPACITORS = frozenset({"capacitor", "film-capacitor", "electrolytic", "tantalum"})


class StorageKind(Kind):
    """Offered across every capacitor that :meth:`wanted` takes."""

    takes = "pair"
    usual_setup = "off"
    usual_minutes = 1.0
    asks: ClassVar[str]

    @abstractmethod
    def wanted(self, part: Part) -> bool:
        """Whether such a capacitor is worth the check."""

    @abstractmethod
    def grid(self) -> Grid:
        """Bins of the readings."""

    @abstractmethod
    def numbers(self, pairs: Sequence[tuple[str, str]], world: World, meter: Meter) -> Numbers:
        """What is predicted."""

    def offers(self, world: World) -> Sequence[Check]:
        found = []
        for part in world.board.parts:
            places = tuple(leg(part.designator, pin) for pin in part.pins)
            wanted = part.kind in CAPACITORS and len(places) == 2 and self.wanted(part)
            if wanted and all(place in world.places for place in places):
                found.append(Check(kind=self.name, places=places))
        return found

    def sentence(self, check: Check, world: World) -> str:
        red, black = check.places
        return (
            f"Power off, capacitors discharged: measure {self.asks} from {where(red, world)} to "
            f"{where(black, world)}."
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        reading = read_number(
            text, self.unit, over=False, what=f"{self.name} at {' to '.join(check.places)}"
        )
        if any(end is not None and end < 0.0 for end in (reading.value, reading.high)):
            raise ReadingError(
                f"{self.asks} below zero: the capacitor is still charged, or the meter must be "
                "set to nought with its leads first. Discharge it and measure again"
            )
        return reading

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        if not checks:
            return []
        what = self._predict(checks, world, meter)[1]
        return outcome_tables(self.grid(), what, meter.misread + MISFIT)

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        what = self._predict([check], world, meter)[1]
        return likelihood(self.grid(), what, reading, meter.misread + MISFIT)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        numbers, what = self._predict([check], world, meter)
        return expected_span(what, numbers, self.grid())

    def _predict(
        self, checks: Sequence[Check], world: World, meter: Meter
    ) -> tuple[Numbers, Predicted]:
        pairs = [(check.places[0], check.places[1]) for check in checks]
        numbers, grid = self.numbers(pairs, world, meter), self.grid()
        known = np.where(np.isfinite(numbers.mean), numbers.mean, 0.0)
        share = known / (grid.least + known)
        sigma = np.hypot(share * np.hypot(numbers.spread, ERROR), 0.02)
        return numbers, predicted(replace(numbers, spread=sigma), grid)
