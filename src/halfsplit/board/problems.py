"""What is found wrong while a file is read: all of it, each place once."""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.board.model import Spot
from halfsplit.errors import Problem, nearest

__all__ = ["Problems"]

_HINTS = 100
"""Nearest words are looked up for so many problems; a file of junk must not take minutes."""


class Problems:
    """A list that grows; a second error at the same place (a copy of a line) is left out."""

    def __init__(self) -> None:
        self._found: list[Problem] = []
        self._places: set[tuple[int, int]] = set()
        self.errors = 0
        """Errors so far, copies included; compare before and after to see if a line was good."""

    def error(self, spot: Spot, message: str, *, name: str = "", known: Iterable[str] = ()) -> None:
        """Add an error, with the word of ``known`` nearest to ``name``."""
        self.errors += 1
        place = (spot.line, spot.column)
        if place in self._places:
            return
        self._places.add(place)
        hint = nearest(name, known) if name and len(self._found) < _HINTS else None
        self._add("error", spot, message, hint)

    def warning(self, spot: Spot, message: str, *, hint: str | None = None) -> None:
        """Add a warning."""
        self._add("warning", spot, message, hint)

    def sorted(self) -> tuple[Problem, ...]:
        """All problems in the order of the file."""
        return tuple(sorted(self._found, key=lambda problem: (problem.line, problem.column)))

    def _add(self, severity: str, spot: Spot, message: str, hint: str | None) -> None:
        self._found.append(
            Problem(
                line=spot.line,
                column=spot.column,
                severity="error" if severity == "error" else "warning",
                message=message,
                nearest=hint,
            )
        )
