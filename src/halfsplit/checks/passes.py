"""Many passes in a row, counted: what a claim about a repair rests on."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from halfsplit.belief.acceptance import trials_needed
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._words import read_word, shorten
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError, UnknownName
from halfsplit.solve.law import Array

__all__ = [
    "ALL_RIGHT", "CONFIDENCE", "KIND", "NEEDED", "PASSES", "RELIABILITY", "Passes",
]  # fmt: skip

PASSES = "passes"
RELIABILITY, CONFIDENCE = 0.99, 0.95
"""What the usual run shows: 99 passes of 100 are right, at 95 % confidence (a choice of ours)."""
NEEDED = trials_needed(RELIABILITY, CONFIDENCE)
_SOUND = 1e-4
"""Passes of a sound board that go wrong, or are miscounted (judgement)."""
_RATES = np.geomspace(5e-4, 0.95, 40)
"""Shares of passes that a fault spoils, each decade as likely as another: an intermittent's own
rate is not known before it has been counted (assumed)."""
_FLOOR = 1e-5
"""Likelihood that no count goes below: somebody may have watched another thing."""
_COUNT = re.compile(r"^(\d{1,9})(?:\s*(?:of|/|out of)\s*(\d{1,9}))?$")
ALL_RIGHT, SOME_WRONG = "all right", "some wrong"
_LABELS = (ALL_RIGHT, SOME_WRONG)


class Passes(Kind):
    """Offered once, named by the first output of the board."""

    name = PASSES
    title = "many passes in a row, counted"
    help = (
        "So many passes (seeks, strokes, cycles) without one that goes wrong show how rare a "
        "failure is on this unit under these conditions: 299 of them that 99 of 100 are right, at "
        "95 % confidence. It comes after a repair. Type how many were right: 299, or 297 of 299."
    )
    takes = "output"
    words = {  # noqa: RUF012 - declared in Kind
        ALL_RIGHT: f"{NEEDED} passes and more, each of them right",
        SOME_WRONG: "at least one went wrong; better type the counts",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys((ALL_RIGHT, "all", "right", "all good", "none wrong"), ALL_RIGHT),
        **dict.fromkeys((SOME_WRONG, "wrong", "not all", "failed"), SOME_WRONG),
    }
    usual_setup = "watching"
    usual_minutes = 15.0

    def offers(self, world: World) -> Sequence[Check]:
        return [Check(kind=self.name, places=(one.name,)) for one in world.board.outputs[:1]]

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Make {NEEDED} passes and watch {check.places[0]}: both ways, short and long ones, a "
            "third from cold, a third warm, a third with the supplies at their limits; see where "
            "it stands by your own mark, not by what the controller says. How many were right?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Nothing that cannot be had again goes in: no wanted medium, no writing, until it has "
            "passed.",
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        found = _COUNT.match(" ".join(text.split()).casefold())
        if found is None:
            said = read_word(text, self.synonyms, what=f"the passes (or how many: 297 of {NEEDED})")
            if said.word != ALL_RIGHT:
                return said
            right = of = NEEDED
        else:
            right, of = (int(each or found[1]) for each in found.groups())
        if not 0 <= right <= of or not of:
            raise ReadingError(f"cannot read {shorten(text)}: {right} right of {of} passes")
        word = _LABELS[right < of]
        return Reading(text=text, value=float(right), low=0.0, high=float(of), word=word)

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        right = self._rows(world, NEEDED, 0)
        table = np.stack([right, 1.0 - right], axis=-1)
        return [Outcomes(labels=_LABELS, p=table) for _ in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        if reading.nothing:
            return np.ones(len(world.faults) + 1)
        if reading.value is None or reading.high is None:
            if reading.word not in _LABELS:
                raise UnknownName("answer", reading.word, _LABELS)
            rows = self.outcomes([check], world, meter)[0].p[:, _LABELS.index(reading.word)]
        else:
            of, right = int(reading.high), int(reading.value)
            rows = self._rows(world, of, of - right)
            if right < of:  # the count of ways is left out, so only ratios count
                rows = rows / rows.max()
        # what is on no list spoils passes as any fault does
        found: Array = np.maximum(np.append(rows, rows[-1]), _FLOOR)
        return found

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return f"{NEEDED} of {NEEDED}"

    @staticmethod
    def _rows(world: World, of: int, wrong: int) -> Array:
        """[F] chance of so many wrong, but for the count of ways."""
        faulty = float(np.mean(_RATES**wrong * (1.0 - _RATES) ** (of - wrong)))
        rows = np.full(len(world.faults), faulty)
        rows[0] = _SOUND**wrong * (1.0 - _SOUND) ** (of - wrong)
        return rows


KIND = Passes()
