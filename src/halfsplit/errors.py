"""One tree of errors.

::

    HalfsplitError
    |-- BoardError        a board file that cannot be used; carries Problems with line and column
    |-- UnitError         a quantity that cannot be read ("4k7x")
    |-- UnknownName       a name nobody registered; carries the nearest known one
    |-- RegistryError     a module that registers nothing, or a name taken twice (a bug in a kind)
    |-- ReadingError      a typed reading that a check cannot understand
    |-- PlaceError        a pin, pad or test point that is not on this board
    |-- CaseError         a case file that is missing, damaged or of another version
    |   `-- ConflictError a case that moved on since the caller last looked
    |-- CaptureError      a signal record that cannot be read; carries line and byte
    |-- SolveError        a circuit that cannot be set up at all (a case that merely does not
    |                     converge is reported as unresolved, not raised)
    |-- ScheduleError     a schedule of states over time that cannot be played
    |-- WaveError         a record from which nothing can be told
    |-- MotionError       a mechanism or a motion that cannot be
    |-- InstrumentError   a meter, scope or supply that does not do what was asked of it
    |   |-- LinkError         it cannot be reached, or went away
    |   |-- SilenceError      nothing came in time, or it stopped in the middle
    |   |-- AnswerError       what came is not what was asked for
    |   `-- RefusedError      it reports errors itself
    `-- TrialError        the independent simulator is missing or refused a circuit

Every message says what was expected, what came, where, and what to do.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from halfsplit.frozen import dataclass

__all__ = [
    "AnswerError",
    "BoardError",
    "CaptureError",
    "CaseError",
    "ConflictError",
    "HalfsplitError",
    "InstrumentError",
    "LinkError",
    "MotionError",
    "PlaceError",
    "Problem",
    "ReadingError",
    "RefusedError",
    "RegistryError",
    "ScheduleError",
    "SilenceError",
    "SolveError",
    "TrialError",
    "UnitError",
    "UnknownName",
    "WaveError",
    "nearest",
]


class HalfsplitError(Exception):
    """Anything the program refuses to do, said in words a person can act on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong, or doubtful, in a board file.

    ``line`` and ``column`` count from 1; 0 means the file as a whole. ``severity`` is
    ``"error"`` (the line cannot be used) or ``"warning"`` (it can, but a repairer would ask).
    """

    line: int
    column: int
    severity: Literal["error", "warning"]
    message: str
    nearest: str | None = None

    def __str__(self) -> str:
        """``line:column: severity: message (did you mean X?)``; no place for the whole file."""
        hint = f" (did you mean {self.nearest}?)" if self.nearest else ""
        place = f"{self.line}:{self.column}: " if self.line else ""
        return f"{place}{self.severity}: {self.message}{hint}"

    def at(self, source: str) -> str:
        """The same with its file before it: ``drive.board:3:1: error: ...``."""
        return f"{source}:{'' if self.line else ' '}{self}"


class BoardError(HalfsplitError):
    """A board file that cannot be used as it stands."""

    def __init__(self, problems: Iterable[Problem], *, source: str = "board") -> None:
        self.problems = tuple(problems)
        self.source = source
        super().__init__("\n".join(problem.at(source) for problem in self.problems))


class UnitError(HalfsplitError):
    """A quantity that cannot be read."""


class UnknownName(HalfsplitError):  # noqa: N818 - reads as a sentence where it is raised
    """A name that nobody registered."""

    def __init__(self, what: str, name: str, known: Iterable[str]) -> None:
        names = sorted(known)
        self.what, self.name = what, name
        self.nearest = nearest(name, names)
        hint = f"; did you mean {self.nearest}?" if self.nearest else ""
        shown = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
        super().__init__(f"unknown {what} {name!r}{hint} (known: {shown or 'none'})")


class RegistryError(HalfsplitError):
    """A kind that is not registered as it should be."""


class ReadingError(HalfsplitError):
    """A typed reading that the check cannot understand."""


class PlaceError(HalfsplitError):
    """A place that is not on this board."""


class CaseError(HalfsplitError):
    """A case file that cannot be used."""


class ConflictError(CaseError):
    """A case to which somebody else added while the caller was looking."""


class CaptureError(HalfsplitError):
    """A signal record, or the file it came in, that cannot be used as it stands.

    ``line`` and ``byte`` count from 1; 0 means that the place is not known so.
    """

    def __init__(self, message: str, *, source: str, line: int = 0, byte: int = 0) -> None:
        self.source, self.line, self.byte = source, line, byte
        self.bare = message
        place = f"line {line}" if line else f"byte {byte}" if byte else ""
        super().__init__(f"{source}{f', {place}' if place else ''}: {message}")


class SolveError(HalfsplitError):
    """A circuit that cannot be set up."""


class ScheduleError(HalfsplitError):
    """A schedule of states over time that cannot be played."""


class WaveError(HalfsplitError):
    """A record from which nothing can be told."""


class MotionError(HalfsplitError):
    """A mechanism, or a motion asked of it, that cannot be."""


class InstrumentError(HalfsplitError):
    """An instrument that does not do what was asked of it; a reading can always be typed instead.

    ``at`` is its address, ``expected`` and ``got`` say what should have come and what came,
    ``do`` what to try.
    """

    def __init__(self, at: str, *, expected: str, got: str, do: str) -> None:
        self.at, self.expected, self.got, self.do = at, expected, got, do
        super().__init__(f"{at}: expected {expected}, got {got}; {do}")


class LinkError(InstrumentError):
    """An instrument that cannot be reached, or went away."""


class SilenceError(InstrumentError):
    """An instrument that did not answer in time, or stopped in the middle."""


class AnswerError(InstrumentError):
    """An answer that is not what was asked for."""


class RefusedError(InstrumentError):
    """An instrument that says itself that it could not do what was asked."""


class TrialError(HalfsplitError):
    """The independent simulator cannot play this board."""


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name most like ``name``, letters' case ignored; ``None`` when none is like it."""
    by_fold = {candidate.casefold(): candidate for candidate in known}
    from difflib import get_close_matches

    found = get_close_matches(name.casefold(), by_fold, n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None
