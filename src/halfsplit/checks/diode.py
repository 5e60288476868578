"""Diode test between two places, power off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.build.world import Numbers, World
from halfsplit.checks._answers import read_number
from halfsplit.checks._base import Kind
from halfsplit.checks._expected import expected_span
from halfsplit.checks._grid import diode_grid
from halfsplit.checks._numeric import MISFIT, Predicted, likelihood, outcome_tables, predicted
from halfsplit.checks._places import ground_place, is_chip, leg, legs_by_net, where
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError
from halfsplit.solve.law import Array

__all__ = ["KIND", "Diode"]

CURRENT_ERROR = 0.03
"""Volt; meters differ in test current by three times, which moves a junction by nVt ln 3."""

KNOWN_ERROR = 0.005
"""Volt; the same for a meter whose test current was measured within a fifth."""

JUNCTIONS = (("b", "e"), ("b", "c"), ("a", "k"))
"""Pin names of junctions, anode side first for NPN; both ways are offered in any case."""


class Diode(Kind):
    """Offered both ways between ground and every net with a chip on it, and across junctions."""

    name = "diode"
    title = "diode test, power off"
    help = (
        "About 0.5 to 0.7 V across a good silicon junction one way, OL or what lies in parallel "
        "the other way; near 0 V is a short. It finds inputs and outputs of chips that died."
    )
    takes = "pair"
    unit = "V"
    words = {"OL": "no junction and no path: above the meter's limit"}  # noqa: RUF012 - declared in Kind
    usual_setup = "off"
    usual_minutes = 0.8

    def offers(self, world: World) -> Sequence[Check]:
        pairs = [pair for one, two in self._between(world) for pair in ((one, two), (two, one))]
        return [Check(kind=self.name, places=pair) for pair in dict.fromkeys(pairs)]

    def sentence(self, check: Check, world: World) -> str:
        red, black = check.places
        return (
            f"Power off, supply unplugged: diode test with red on {where(red, world)} and black "
            f"on {where(black, world)}."
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        what = f"the diode test {' to '.join(check.places)}"
        reading = read_number(text, "V", over=True, what=what)
        value = reading.value
        if value is not None and 100.0 <= value < 4000.0:
            raise ReadingError(
                f"{value:g} V is beyond {what}: many meters show millivolts here; type {value:g}m"
            )
        return reading

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        if not checks:
            return []
        what = self._predict(checks, world, meter)[1]
        return outcome_tables(diode_grid(meter.diode_limit), what, meter.misread + MISFIT)

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        what = self._predict([check], world, meter)[1]
        return likelihood(diode_grid(meter.diode_limit), what, reading, meter.misread + MISFIT)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        numbers, what = self._predict([check], world, meter)
        return expected_span(what, numbers, diode_grid(meter.diode_limit))

    def _predict(
        self, checks: Sequence[Check], world: World, meter: Meter
    ) -> tuple[Numbers, Predicted]:
        numbers = world.diode(
            [(check.places[0], check.places[1]) for check in checks], meter.source
        )
        shown = np.where(np.isfinite(numbers.mean), numbers.mean, 0.0)
        own = meter.volts_error(shown)
        unsure = KNOWN_ERROR if meter.calibrated else CURRENT_ERROR
        sigma = np.hypot(np.hypot(numbers.spread, own), unsure)
        sigma = np.where(np.isfinite(sigma), sigma, unsure)
        return numbers, predicted(replace(numbers, spread=sigma), diode_grid(meter.diode_limit))

    def _between(self, world: World) -> list[tuple[str, str]]:
        ground, board = ground_place(world), world.board
        chips = {part.designator for part in board.parts if is_chip(part)}
        pairs = []
        for net, names in legs_by_net(world).items():
            pins = [world.place(name).pin for name in names]
            if net != board.ground and any(pin and pin.designator in chips for pin in pins):
                pairs.append((names[0], ground))
        for part in board.parts:
            for pair in JUNCTIONS:
                one, two = (leg(part.designator, pin) for pin in pair)
                if one in world.places and two in world.places:
                    pairs.append((one, two))
        return [pair for pair in pairs if all(name in world.places for name in pair)]


KIND = Diode()
