"""The home sensor set off by hand, while its report is watched."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.motion import follows_home
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._vague import FLOOR, with_else
from halfsplit.checks._words import read_word, said_column
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import UnknownName
from halfsplit.solve.law import Array

__all__ = ["KIND", "Homing"]

SEEN = 0.97
"""A report that is told as it is (judgement, no source)."""


class Homing(Kind):
    """Offered for the output that tells a sensor which two states set differently."""

    name = "homing"
    title = "sensor by hand"
    help = (
        "With the power on, put a card into the slot, a magnet to it, or the switch over by hand, "
        "and watch what the board makes of it. The sensor is all that such a unit knows of where "
        "it is; from there on it counts steps blindly. A lamp of the room may fool an open sensor."
    )
    takes = "output"
    words = {  # noqa: RUF012 - declared in Kind
        "follows": "the report changes each time",
        "stays": "the report stays as it is",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(("follows", "changes", "yes", "works", "ok", "good", "right"), "follows"),
        **dict.fromkeys(("stays", "no change", "no", "nothing", "stuck", "dead"), "stays"),
    }
    usual_setup = "powered"
    usual_minutes = 1.0

    def offers(self, world: World) -> Sequence[Check]:
        found = follows_home(world)
        return [] if found is None else [Check(kind=self.name, places=(found[0],))]

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power on, motion held back: set the sensor off by hand some times and watch "
            f"{check.places[0]}: does it follow, or stay?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Unplug the motor first, or it may start under your fingers.",
        )

    def risk(self, check: Check, world: World) -> float:
        return 0.2

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what="the sensor by hand")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        return [Outcomes(labels=tuple(self.words), p=_rows(check, world)) for check in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(_rows(check, world), np.array([0.5, 0.5]))
        return said_column(p, reading, self.words)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return "follows"


def _rows(check: Check, world: World) -> Array:
    """[F, 2]. Raises :class:`UnknownName`."""
    found = follows_home(world)
    if found is None or found[0] != check.places[0]:
        raise UnknownName("output of a sensor", check.places[0], [found[0]] if found else [])
    follows = np.where(found[1], SEEN, 1.0 - SEEN)
    p = np.stack([follows, 1.0 - follows], axis=-1)
    told: Array = (1.0 - FLOOR) * p + 0.5 * FLOOR
    return told


KIND = Homing()
