"""The account of phase lines: recognised, written in a ledger, explained; as data for programs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict

from halfsplit.frozen import dataclass
from halfsplit.waves.digitise import Digitised
from halfsplit.waves.explain import Explanation, explain, order_words
from halfsplit.waves.ledger import Ledger, ledger
from halfsplit.waves.line import Line
from halfsplit.waves.recognise import Recognised, recognise

__all__ = ["Account", "account", "digitised_data"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """Everything that phase lines tell."""

    found: Recognised
    ledger: Ledger
    explanation: Explanation

    def to_json(self) -> dict[str, object]:
        """For programs; times in s, rates per s."""
        best, words = self.found.best, self.explanation
        return {
            "verdict": words.kind,
            "lines": list(words.lines),
            "sentence": words.words,
            "also": [{"verdict": kind, "lines": list(lines)} for kind, lines in words.also],
            "sequence": best.sequence.name,
            "phases": best.sequence.phases,
            "order": order_words(self.found).split(),
            "active": "low" if best.active_low else "high",
            "step_seconds": self.found.tidy.step,
            "margin": _finite(self.found.margin),
            "steps": [_plain(asdict(step)) for step in self.ledger.steps],
            "moves": [_plain(asdict(move)) for move in self.ledger.moves],
            "oddities": [_plain(asdict(one)) for one in self.ledger.oddities],
        }


def account(
    lines: Sequence[Line],
    *,
    phases: int | None = None,
    active_low: bool | None = None,
    order_known: bool = False,
    first_way: int | None = None,
) -> Account:
    """Recognise, write down and explain; arguments and errors as
    :func:`halfsplit.waves.recognise.recognise`, ``first_way`` as
    :func:`halfsplit.waves.explain.explain`."""
    found = recognise(lines, phases=phases, active_low=active_low, order_known=order_known)
    written = ledger(found)
    return Account(
        found=found,
        ledger=written,
        explanation=explain(found, written, order_known=order_known, first_way=first_way),
    )


def digitised_data(found: Digitised) -> dict[str, object]:
    """How volts became logic, for programs."""
    return {
        "line": found.line.name,
        "low": found.levels.low,
        "high": found.levels.high,
        "below": found.thresholds.low,
        "above": found.thresholds.high,
        "why": found.thresholds.why,
        "undefined": found.undefined,
        "counts": found.counts,
        "blemishes": [asdict(one) for one in found.blemishes],
    }


def _plain(data: Mapping[str, object]) -> dict[str, object]:
    return {key: _finite(value) for key, value in data.items()}


def _finite(value: object) -> object:
    if isinstance(value, tuple):
        return list(value)
    return None if isinstance(value, float) and not math.isfinite(value) else value
