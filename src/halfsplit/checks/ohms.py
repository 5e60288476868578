"""Resistance between two places, power off."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.board.model import Part
from halfsplit.build.world import World
from halfsplit.checks._answers import read_number
from halfsplit.checks._base import Kind
from halfsplit.checks._expected import expected_span
from halfsplit.checks._grid import ohms_grid
from halfsplit.checks._numeric import MISFIT, Predicted, likelihood, outcome_tables
from halfsplit.checks._places import ground_place, leg, legs_by_net, where
from halfsplit.checks._resistance import predict
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError
from halfsplit.solve.law import Array

__all__ = ["KIND", "Ohms"]


METAL = 3.0
"""Ohm; what reads less is metal: no junction conducts so well at a meter's milliamp."""


class Ohms(Kind):
    """Offered from every net to ground once, and across every part with two legs, both at its own
    legs and from other legs on its nets, which takes its joints in."""

    name = "ohms"
    title = "ohms in circuit, power off"
    help = (
        "What is expected counts everything that lies in parallel. OL means open: no path at "
        "all, the opposite of a short. Rails to ground come first when a supply is dragged down."
    )
    takes = "pair"
    unit = "Ω"
    words = {"OL": "open: above 20 MΩ, no path between the probes"}  # noqa: RUF012 - declared in Kind
    usual_setup = "off"
    usual_minutes = 0.8

    def offers(self, world: World) -> Sequence[Check]:
        ground, by_net = ground_place(world), legs_by_net(world)
        pairs = [
            (legs[0], ground)
            for net, legs in by_net.items()
            if net != world.board.ground and ground in world.places
        ]
        for part in world.board.parts:
            if len(part.pins) == 2 and len(set(part.pins.values())) == 2:
                red, black = (leg(part.designator, pin) for pin in part.pins)
                if red in world.places and black in world.places:
                    pairs.append((red, black))
                around = tuple(_elsewhere(part, pin, by_net) for pin in part.pins)
                if all(around) and world.board.ground not in part.pins.values():
                    pairs.append((around[0], around[1]))
        return [Check(kind=self.name, places=pair) for pair in dict.fromkeys(pairs)]

    def sentence(self, check: Check, world: World) -> str:
        red, black = check.places
        return (
            f"Power off, supply unplugged: measure ohms from {where(red, world)}, red probe, to "
            f"{where(black, world)}, black probe."
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        reading = read_number(text, "Ω", over=True, what=f"ohms at {' to '.join(check.places)}")
        if any(end is not None and end < 0.0 for end in (reading.value, reading.high)):
            raise ReadingError(
                "ohms below zero: something on the board is still charged or powered. Unplug it, "
                "discharge the capacitors, and measure again"
            )
        return reading

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        if not checks:
            return []
        what = _with_misfit(predict(checks, world, meter)[1], meter)
        return outcome_tables(ohms_grid(), what, meter.misread)

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        what = predict([check], world, meter)[1]
        if reading.value is None or reading.value >= METAL:
            what = _with_misfit(what, meter)
        return likelihood(ohms_grid(), what, reading, meter.misread)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        numbers, what = predict([check], world, meter)
        return expected_span(what, numbers, ohms_grid())


KIND = Ohms()


def _with_misfit(what: Predicted, meter: Meter) -> Predicted:
    """With the chance that a path through unpowered silicon is not in the model; a short is metal,
    and reads as one whatever lies beside it."""
    share = np.where(what.mean < math.log1p(METAL), what.loose, meter.misread + MISFIT)
    return replace(what, loose=np.maximum(what.loose, share))


def _elsewhere(part: Part, pin: str, legs: Mapping[str, Sequence[str]]) -> str:
    """Another part's leg on the net of that pin, or "" when there is none."""
    own = f"{part.designator}."
    others = (name for name in legs.get(part.pins[pin], ()) if not name.startswith(own))
    return next(others, "")
