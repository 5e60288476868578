"""The repair record as plain, frozen data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace

from halfsplit.album import Photo
from halfsplit.board.model import Board
from halfsplit.finding import Finding
from halfsplit.frozen import dataclass

__all__ = ["MENDED", "Line", "Reason", "Record"]

MENDED = frozenset({"cured", "gone", "done"})
"""What is read of something on the board that was changed for good."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One reading: what was asked, what came, what a good board gives.

    ``odd`` says that a good board would hardly give it; ``why_not`` why it does not count.
    ``leader`` is the likeliest suspect after it and ``share`` its probability; ``source`` the
    instrument or capture that it came from, empty when it was typed.
    """

    number: int
    at: str
    kind: str
    check: str
    asked: str
    state: str
    read: str
    expected: str
    odd: bool
    why_not: str = ""
    leader: str = ""
    share: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One suspect: ``why`` and ``why_not`` are sentences about readings, strongest first."""

    suspect: str
    repair: str
    probability: float
    why: tuple[str, ...]
    why_not: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """All that the record says. ``short`` are sentences for somebody who reads no more.

    ``course`` [readings + 1][leaders] is the probability of each of ``leaders`` before the first
    reading and after each that counts.
    """

    title: str
    revision: str
    case: str
    begun: str
    last: str
    version: str
    standing: str
    short: tuple[str, ...]
    told: tuple[str, ...]
    """The notes that came with the board file: what was known beforehand."""
    symptoms: tuple[Line, ...]
    readings: tuple[Line, ...]
    repairs: tuple[Line, ...]
    acceptance: tuple[str, ...]
    """What the acceptance run has shown so far, ``missing`` what it still needs, ``proof`` how it
    stands in a sentence; all empty before a repair."""
    missing: tuple[str, ...]
    proof: str
    changed: tuple[str, ...]
    """What changed parts stand, and which types serve; ``power_up`` how to switch on again;
    ``weighed`` whether the repair was worth it; ``protected`` what must not be lost. All empty
    before a repair."""
    power_up: tuple[str, ...]
    weighed: tuple[str, ...]
    protected: tuple[str, ...]
    reasons: tuple[Reason, ...]
    """Of the likeliest suspects now or, once something was repaired, as they stood before."""
    leaders: tuple[str, ...]
    course: tuple[tuple[float, ...], ...]
    notes: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    photos: tuple[Photo, ...]
    findings: tuple[Finding, ...]
    meter: str
    glossary: Mapping[str, str]
    board_text: str
    board: Board | None = None
    """To be drawn; no part of `to_json`, which has its text."""

    @property
    def complaint(self) -> tuple[Line, ...]:
        """The symptoms as they were before anything was repaired, and those since that were not as
        on a good board: ``acceptance`` tells the others."""
        first = min((line.number for line in self.repairs if line.read in MENDED), default=None)
        return tuple(
            line
            for line in self.symptoms
            if first is None or line.number < first or line.read not in ("right", line.expected)
        )

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        data = asdict(replace(self, board=None))
        del data["board"]
        data["findings"] = [finding.to_json() for finding in self.findings]
        data["photos"] = [photo.to_json() for photo in self.photos]
        data["notes"] = [{"at": at, "words": words} for at, words in self.notes]
        return data
