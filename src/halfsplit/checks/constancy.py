"""Whether the trouble is always there: what comes and goes is looked for in another way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._vague import with_else
from halfsplit.checks._words import read_word, said_column
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.solve.law import Array

__all__ = ["ALWAYS", "CONSTANCY", "FITFUL", "KIND", "Constancy", "is_loose"]

CONSTANCY, ALWAYS, FITFUL = "constancy", "always", "comes and goes"
LOOSE, OTHER = 0.3, 0.05
"""Faults of metal that touches or does not, and all others, that somebody has seen come and go
(judgement, no source)."""


class Constancy(Kind):
    """Offered once, named by the first output of the board."""

    name = CONSTANCY
    title = "whether it is always there"
    help = (
        "Whoever used it knows: every time, or now and then, when cold, when knocked? Watch it a "
        "few times where nobody can be asked. Readings taken while all is well clear nothing then."
    )
    takes = "output"
    words = {  # noqa: RUF012 - declared in Kind
        ALWAYS: "it is wrong every time it is tried",
        FITFUL: "it is right at some times and wrong at others",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(("always", "every time", "constant", "steady", "yes", "all the time"),
                        ALWAYS),
        **dict.fromkeys((FITFUL, "sometimes", "now and then", "intermittent", "no", "at times",
                         "not always", "when cold", "when warm", "on and off"), FITFUL),
    }  # fmt: skip
    usual_setup = "watching"
    usual_minutes = 0.5

    def offers(self, world: World) -> Sequence[Check]:
        return [Check(kind=self.name, places=(one.name,)) for one in world.board.outputs[:1]]

    def sentence(self, check: Check, world: World) -> str:
        return "Is the trouble there every time it is tried, or does it come and go?"

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what="whether it is always there")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        return [Outcomes(labels=tuple(self.words), p=_rows(world)) for _ in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(_rows(world), np.array([0.5, 0.5]), 1.0)
        return said_column(p, reading, self.words)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return ALWAYS


def is_loose(fault: Fault) -> bool:
    """Whether it is a fault of metal that touches or does not."""
    return fault.where in ("joint", "contact", "track", "bridge") or "contact" in fault.mode


def _rows(world: World) -> Array:
    """[F, 2] always, comes and goes."""
    fitful = np.array([LOOSE if is_loose(fault) else OTHER for fault in world.faults])
    return np.stack([1.0 - fitful, fitful], axis=1)


KIND = Constancy()
