"""What the faces show: frozen, made of plain values, each with `to_json` as docs/json.md says."""

from __future__ import annotations

import math
from collections.abc import Mapping

from halfsplit.checks.kind import Check, Reading
from halfsplit.diagnose.choose import Suggestion
from halfsplit.diagnose.explain import Explanation, Weight
from halfsplit.diagnose.session import Ranked
from halfsplit.diagnose.verdict import Verdict
from halfsplit.frozen import dataclass

__all__ = [
    "EnteredView",
    "EntryView",
    "NextView",
    "SuggestionView",
    "SuspectView",
    "VerdictView",
    "number_json",
    "plain_json",
]

Data = dict[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectView:
    """A suspect: ``probability`` 0 to 1, its faults, and with ``reasons`` what moved it."""

    suspect: Ranked
    reasons: Explanation | None = None

    @property
    def id(self) -> str:
        return self.suspect.suspect.id

    @property
    def repair(self) -> str:
        return self.suspect.suspect.repair

    @property
    def probability(self) -> float:
        return self.suspect.probability

    def to_json(self, most_faults: int | None = None) -> Data:
        """Names and values for JSON."""
        suspect, reasons = self.suspect.suspect, self.reasons
        return {
            "id": suspect.id,
            "repair": suspect.repair,
            "designator": suspect.designator,
            "probability": self.probability,
            "minutes": suspect.minutes,
            "price": suspect.price,
            "faults": [
                {"id": fault.id, "words": fault.words, "probability": probability}
                for fault, probability in self.suspect.faults[:most_faults]
            ],
            "summary": reasons.summary if reasons else "",
            "raised_by": [_weight(weight) for weight in reasons.raised] if reasons else [],
            "lowered_by": [_weight(weight) for weight in reasons.lowered] if reasons else [],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestionView:
    """One thing to do next; ``number`` counts from 1, best first."""

    number: int
    suggestion: Suggestion

    def to_json(self) -> Data:
        """Names and values for JSON."""
        one = self.suggestion
        return {
            "number": self.number,
            "id": one.id,
            "kind": one.kind,
            "place": one.places[0] if one.places else "",
            "places": list(one.places),
            "state": one.state,
            "setup": one.setup,
            "sentence": one.sentence,
            "unit": one.unit,
            "words": dict(one.words),
            "minutes": one.minutes,
            "gain_bits": one.gain,
            "setup_minutes": one.setup_minutes,
            "risk_minutes": one.risk,
            "why": one.why,
            "meanings": list(one.meanings),
            "cautions": list(one.cautions),
            "expected": one.expected,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictView:
    """Where the case stands."""

    verdict: Verdict

    def to_json(self) -> Data:
        """Names and values for JSON."""
        judged = self.verdict
        against = judged.contradiction
        return {
            "kind": judged.kind,
            "sentence": judged.sentence,
            "probability": judged.probability,
            "order": [
                {
                    "suspect": step.suspect.id,
                    "repair": step.suspect.repair,
                    "probability": step.probability,
                    "minutes": step.suspect.minutes,
                    "price": step.suspect.price,
                    "also": list(step.also),
                }
                for step in judged.order
            ],
            "ties": list(judged.ties),
            "contradiction": None
            if against is None
            else {
                "sentence": against.sentence,
                "misread": against.misread.number if against.misread else None,
                "unexplained": list(against.unexplained),
            },
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class NextView:
    """The verdict, what to do next, and the likeliest suspects. ``number`` is the last event's."""

    number: int
    verdict: VerdictView
    suggestions: tuple[SuggestionView, ...]
    suspects: tuple[SuspectView, ...]

    def to_json(self) -> Data:
        """Names and values for JSON."""
        return {
            "last_event": self.number,
            "verdict": self.verdict.to_json(),
            "suggestions": [one.to_json() for one in self.suggestions],
            "suspects": [one.to_json(most_faults=3) for one in self.suspects],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryView:
    """One event of the log.

    ``source`` is the instrument or capture a reading came from, empty when it was typed.
    ``counts`` is False for what was taken back; ``why_not`` says why a reading that was not taken
    back moves nothing all the same (its place is no longer on the board). ``takes_back`` is the
    event that an undo takes back. ``surprise`` is in bits, ``None`` for what is no reading or
    does not count.
    """

    number: int
    at: str
    kind: str
    data: Mapping[str, object]
    check: Check | None = None
    reading: Reading | None = None
    unit: str = ""
    words: str = ""
    takes_back: int | None = None
    surprise: float | None = None
    counts: bool = True
    why_not: str = ""
    source: str = ""

    def to_json(self) -> Data:
        """Names and values for JSON."""
        return {
            "number": self.number,
            "at": self.at,
            "kind": self.kind,
            "words": self.words,
            "takes_back": self.takes_back,
            "check": self.check.id if self.check else None,
            "unit": self.unit,
            "reading": reading_json(self.reading) if self.reading else None,
            "surprise_bits": number_json(self.surprise) if self.surprise is not None else None,
            "counts": self.counts,
            "why_not": self.why_not,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class EnteredView:
    """A reading entered: how it was understood, and how the case stands with it."""

    entry: EntryView
    next: NextView

    def to_json(self) -> Data:
        """Names and values for JSON."""
        first = self.next.suggestions[0].to_json() if self.next.suggestions else None
        return {
            "event": self.entry.to_json(),
            "surprise_bits": number_json(self.entry.surprise or 0.0),
            "verdict": self.next.verdict.to_json(),
            "suspects": [one.to_json(most_faults=3) for one in self.next.suspects],
            "next": first,
        }


def reading_json(reading: Reading) -> Data:
    """How a reading was understood; numbers in SI units, ``"open"`` for infinite ones."""
    return {
        "text": reading.text,
        "value": _bound(reading.value),
        "word": reading.word,
        "low": _bound(reading.low),
        "high": _bound(reading.high),
        "nothing": reading.nothing,
    }


def number_json(value: float) -> float | str | None:
    """A number that JSON can hold: ``null`` for unresolved, ``"open"`` or ``"-open"`` for
    infinite."""
    if math.isnan(value):
        return None
    if math.isinf(value):
        return "open" if value > 0 else "-open"
    return value


def plain_json(value: object) -> object:
    """Nested mappings, sequences and numbers as JSON can hold them, see :func:`number_json`."""
    if isinstance(value, Mapping):
        return {str(name): plain_json(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain_json(item) for item in value]
    return number_json(value) if isinstance(value, float) else value


def _bound(value: float | None) -> float | str | None:
    return None if value is None else number_json(value)


def _weight(weight: Weight) -> Data:
    return {"entry": weight.number, "bits": weight.bits, "sentence": weight.sentence}
