"""The board run for an hour and more, warm, before the case is closed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._vague import with_else
from halfsplit.checks._words import read_word, said_column
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.solve.law import Array

__all__ = ["KIND", "SOAK", "Soak"]

SOAK = "soak"
STEADY = 0.98
"""A sound board that runs on."""
HIDDEN = 0.1
"""A fault that keeps still for as long (judgement, no source)."""


class Soak(Kind):
    """Offered once, named by the first output of the board."""

    name = SOAK
    title = "run it warm, and wait"
    help = (
        "An hour at least, closed up and warm, better over night; then once more from cold. A "
        "socket that is loose and a part that gives way when warm show only so. It comes after a "
        "repair, not before."
    )
    takes = "output"
    words = {  # noqa: RUF012 - declared in Kind
        "steady": "everything stayed right, warm and cold",
        "came back": "the fault came back, if only once",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(("steady", "good", "right", "ok", "held", "stays right"), "steady"),
        **dict.fromkeys(
            ("came back", "comes back", "failed", "wrong", "once", "flaky", "bad"), "came back"
        ),
    }
    usual_setup = "watching"
    usual_minutes = 59.0

    def offers(self, world: World) -> Sequence[Check]:
        return [Check(kind=self.name, places=(one.name,)) for one in world.board.outputs[:1]]

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Run the board closed and warm for an hour or more and watch {check.places[0]}; then "
            "once more from cold: steady, or did it come back?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (*super().cautions(check, world), "Do not leave it alone the first time.")

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what="the long run")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        return [Outcomes(labels=tuple(self.words), p=_rows(world)) for _ in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(_rows(world), np.array([HIDDEN, 1.0 - HIDDEN]), 1.0)
        return said_column(p, reading, self.words)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return "steady"


def _rows(world: World) -> Array:
    """[F, 2]."""
    steady = np.full(len(world.faults), HIDDEN)
    steady[0] = STEADY
    return np.stack([steady, 1.0 - steady], axis=-1)


KIND = Soak()
