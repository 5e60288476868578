"""What has been counted: passes since the last repair, and how often it failed before."""

from __future__ import annotations

import numpy as np

from halfsplit.belief.acceptance import Sequential, quiet_trials, upper_bound
from halfsplit.checks.passes import CONFIDENCE, PASSES
from halfsplit.diagnose.catalogue import SYMPTOM
from halfsplit.diagnose.session import Session
from halfsplit.frozen import dataclass

__all__ = ["Counted", "passes_of", "quiet_needed", "seen_before"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Passes since the last repair: ``right`` of ``of``."""

    right: int
    of: int

    @property
    def wrong(self) -> int:
        """How many went wrong."""
        return self.of - self.right

    @property
    def bound(self) -> float:
        """Upper limit of the share that fails, at :data:`~halfsplit.checks.passes.CONFIDENCE`; 1
        before any pass."""
        if not self.of:
            return 1.0
        return float(upper_bound(np.array(self.wrong), np.array(self.of), CONFIDENCE))

    def stands(self, test: Sequential) -> str:
        """How a sequential test of these passes stands: ``pass``, ``fail`` or ``go on``."""
        return test.verdict(self.wrong, self.of)

    @property
    def words(self) -> str:
        """The claim, or nothing before any pass."""
        if not self.of:
            return ""
        return (
            f"{self.right} of {self.of} passes right since the last repair: on this unit, under "
            f"the conditions tried, less than {100.0 * self.bound:.2g} % fail, at {CONFIDENCE:.0%} "
            "confidence."
        )


def passes_of(session: Session) -> Counted:
    """Passes entered since the last repair, added up."""
    right = of = 0
    for entry in session.entries:
        reading = entry.reading
        fresh = entry.check.kind == PASSES and entry.epoch == len(session.done)
        if fresh and reading.value is not None and reading.high is not None:
            right, of = right + int(reading.value), of + int(reading.high)
    return Counted(right=right, of=of)


def seen_before(session: Session) -> tuple[int, int]:
    """(wrong, of): what was watched before the first repair, pass by pass, and of the symptoms
    those that were wrong at least once; an intermittent's own rate. (0, 0) when it was never seen
    right: it is none then."""
    wrong = of = 0
    watched: dict[str, list[bool]] = {}
    for entry in session.entries:
        reading = entry.reading
        if entry.epoch or reading.nothing:
            continue
        if entry.check.kind == PASSES and reading.value is not None and reading.high is not None:
            wrong, of = wrong + int(reading.high - reading.value), of + int(reading.high)
        elif entry.check.kind == SYMPTOM:
            good = session.catalogue.kind(SYMPTOM).expected(
                entry.check, session.world, session.meter
            )
            watched.setdefault(entry.check.id, []).append(reading.word not in (good, "right"))
    for seen in watched.values():
        if any(seen):
            wrong, of = wrong + sum(seen), of + len(seen)
    return (wrong, of) if 0 < wrong < of else (0, 0)


def quiet_needed(session: Session, confidence: float = CONFIDENCE) -> int | None:
    """Quiet passes after which an intermittent of the rate seen before would have shown itself;
    ``None`` when no rate is known."""
    wrong, of = seen_before(session)
    return quiet_trials(wrong, of, confidence) if of else None
