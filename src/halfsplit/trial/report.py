"""What came of a trial: one row a fault, shares, and why faults were missed."""

from __future__ import annotations

import json
import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, field
from itertools import compress

from halfsplit.diagnose.cost import LIMITLESS, MINUTES_PER_PRICE
from halfsplit.frozen import dataclass
from halfsplit.trial.patient import Bill

__all__ = ["Outcome", "TrialReport"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One fault played.

    ``visible`` names the check that shows it, empty when none does (then nothing was asked).
    ``right``: its suspect was named first, or tied with the first and said to be. ``mended``: the
    first repair of the plan puts it right; ``cured``: in the end nothing was wrong, at the cost of
    ``bill``. ``checks`` and ``minutes`` are those before the first repair, ``bits_after_symptoms``
    what was open about the repair when the symptoms had been told. ``led`` are the suspects that
    led before each check, with their probabilities. ``needed`` are the minutes of the right
    repairs alone: whoever knew what is wrong would take no less. ``why`` is a class of
    miss, ``detail`` the evidence. ``weight`` is how often the fault is met beside the others of its
    list. ``failed`` says why the fault could not be played at all.
    """

    fault: str
    suspect: str
    visible: str
    right: bool = False
    mended: bool = False
    verdict: str = ""
    probability: float = 0.0
    named: tuple[tuple[str, float], ...] = ()
    led: tuple[tuple[str, float], ...] = ()
    needed: float = 0.0
    checks: int = 0
    checks_after_symptoms: int = 0
    bits_after_symptoms: float = 0.0
    minutes: float = 0.0
    unresolved: int = 0
    misread: int = 0
    why: str = ""
    detail: str = ""
    failed: str = ""
    cured: bool = False
    bill: Bill = field(default_factory=Bill)
    seconds: float = 0.0
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialReport:
    """All outcomes of a trial of one board."""

    board: str
    seed: int
    outcomes: tuple[Outcome, ...]

    @property
    def asked(self) -> tuple[Outcome, ...]:
        """Faults that were played and can be seen."""
        return tuple(one for one in self.outcomes if one.visible and not one.failed)

    @property
    def right_share(self) -> float:
        """Of the visible faults, the share found (1 when there were none)."""
        return _share([one.right for one in self.asked])

    @property
    def mended_share(self) -> float:
        """Of the visible faults, the share that the first repair would put right."""
        return _share([one.mended for one in self.asked])

    @property
    def misses(self) -> tuple[Outcome, ...]:
        """Visible faults that were not found."""
        return tuple(one for one in self.asked if not one.right)

    def summary(self) -> dict[str, float | int | str | dict[str, int]]:
        """The figures, for JSON."""
        checks = [one.checks for one in self.asked] or [0]
        minutes = [one.minutes for one in self.asked] or [0.0]
        sure = [one for one in self.asked if one.verdict == "repair"]
        return {
            "board": self.board,
            "seed": self.seed,
            "faults": len(self.outcomes),
            "visible": len(self.asked),
            "not visible": sum(not one.visible and not one.failed for one in self.outcomes),
            "could not be played": sum(bool(one.failed) for one in self.outcomes),
            "right share": round(self.right_share, 4),
            "mended share": round(self.mended_share, 4),
            "right when a repair was proposed": round(_share([one.right for one in sure]), 4),
            "repairs proposed": len(sure),
            "checks mean": round(statistics.fmean(checks), 2),
            "checks median": statistics.median(checks),
            "checks 90th percentile": sorted(checks)[int(0.9 * (len(checks) - 1))],
            "checks after the symptoms mean": _mean([o.checks_after_symptoms for o in self.asked]),
            "bits left after them mean": _mean([o.bits_after_symptoms for o in self.asked]),
            "checks over bits left": _ratio(
                [o.checks_after_symptoms for o in self.asked],
                [o.bits_after_symptoms for o in self.asked],
            ),
            **self._by_rate(),
            "minutes mean": round(statistics.fmean(minutes), 1),
            "cured share": round(_share([one.cured for one in self.asked]), 4),
            "no good part replaced": round(
                _share([one.bill.good_parts == 0 for one in self.asked]), 4
            ),
            "no repair in vain": round(_share([one.bill.needless == 0 for one in self.asked]), 4),
            "needless repairs mean": _mean([one.bill.needless for one in self.asked]),
            "minutes to the cure mean": _mean([one.bill.minutes for one in self.asked]),
            "minutes over those of the right repair": _ratio(
                [one.bill.minutes for one in self.asked], [one.needed for one in self.asked]
            ),
            "money mean": _mean([one.bill.money for one in self.asked]),
            "cost mean": _mean([_cost(one) for one in self.asked]),
            "seconds a fault": round(
                statistics.fmean([one.seconds for one in self.outcomes] or [0.0]), 2
            ),
            "misses": dict(Counter(one.why for one in self.misses)),
        }

    def _by_rate(self) -> dict[str, float]:
        """Figures of a whole list, each fault counted as often as it is met."""
        weights = [one.weight for one in self.asked]
        if len(set(weights)) < 2:
            return {}

        def share(good: Sequence[bool]) -> float:
            return round(sum(compress(weights, good)) / sum(weights), 4)

        return {
            "right share by rate": share([one.right for one in self.asked]),
            "no good part replaced by rate": share([not one.bill.good_parts for one in self.asked]),
            "no repair in vain by rate": share([not one.bill.needless for one in self.asked]),
            "cured share by rate": share([one.cured for one in self.asked]),
            "checks over bits left by rate": _ratio(
                [one.weight * one.checks_after_symptoms for one in self.asked],
                [one.weight * one.bits_after_symptoms for one in self.asked],
            ),
        }

    def json(self) -> str:
        """Figures and all outcomes."""
        return json.dumps(
            {"summary": self.summary(), "outcomes": [asdict(one) for one in self.outcomes]},
            indent=2,
        )

    def table(self, most: int = 30) -> str:
        """Figures and the misses, as text; ``most`` rows of misses."""
        rows = []
        for name, value in self.summary().items():
            if isinstance(value, dict):
                value = ", ".join(f"{count} {why}" for why, count in value.items()) or "none"
            rows.append(f"{name:38} {value}")
        for one in self.misses[:most]:
            first = f"{one.named[0][0]} {one.named[0][1]:.0%}" if one.named else "nothing"
            rows.append(f"  {one.fault}: {one.verdict}, named {first}; {one.why}: {one.detail}")
        if len(self.misses) > most:
            rows.append(f"  and {len(self.misses) - most} more")
        for one in self.outcomes:
            if one.failed:
                rows.append(f"  {one.fault}: not played: {one.failed}")
        return "\n".join(rows) + "\n"


def _cost(one: Outcome) -> float:
    """Minutes and money to the cure; who gives up without one loses what going on without a lead
    is reckoned at."""
    lost = 0.0 if one.cured else LIMITLESS
    return one.bill.minutes + MINUTES_PER_PRICE * one.bill.money + lost


def _share(right: Sequence[bool]) -> float:
    return sum(right) / len(right) if right else 1.0


def _mean(values: Sequence[float]) -> float:
    return round(statistics.fmean(values), 2) if values else 0.0


def _ratio(values: Sequence[float], least: Sequence[float]) -> float:
    """Mean over mean; 0 when there is nothing to compare with."""
    return round(sum(values) / sum(least), 3) if sum(least) > 0.0 else 0.0
