"""The journal of a trial: outcomes line by line, so that a run that was stopped goes on."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from halfsplit.checks.kind import Meter
from halfsplit.errors import TrialError
from halfsplit.trial.hidden import Hidden
from halfsplit.trial.patient import Bill
from halfsplit.trial.report import Outcome

__all__ = ["Journal", "told_apart"]


def told_apart(
    board: str, hidden: Sequence[Hidden], seed: int, misread: float, meter: Meter | None = None
) -> str:
    """A digest that two trials share only when they play the same."""
    usual = meter is None or meter == Meter()
    whole = json.dumps(
        [board, [one.name for one in hidden], seed, misread, *([] if usual else [repr(meter)])]
    )
    return hashlib.sha256(whole.encode()).hexdigest()[:16]


class Journal:
    """A text file of one JSON object a line: first the trial, then its outcomes, each with its
    number and who examined. A line that was cut off by a stop is dropped."""

    def __init__(self, path: Path, trial: str | None) -> None:
        """Open or begin it; without a ``trial``, open one of any trial to look at. Raises
        :class:`TrialError` for a file that is not this trial's."""
        if trial is None and not path.exists():
            raise TrialError(f"expected a journal of a trial at {path}, found no such file")
        self.path = path
        self.known: dict[str, dict[int, Outcome]] = defaultdict(dict)
        """Who examined -> number -> outcome."""
        try:
            lines = path.read_bytes().splitlines(keepends=True) if path.exists() else []
            if lines and not lines[-1].endswith(b"\n"):
                path.write_bytes(b"".join(lines[:-1]))
                lines.pop()
            if not lines:
                self._write({"trial": trial})
        except OSError as error:
            raise TrialError(f"expected a journal at {path}, got: {error}") from error
        for at, line in enumerate(lines, start=1):
            self._read(at, line, trial)

    def add(self, who: str, number: int, outcome: Outcome) -> None:
        """Keep one more. Raises :class:`TrialError` when it cannot be written."""
        try:
            self._write({"who": who, "number": number, "outcome": asdict(outcome)})
        except OSError as error:
            raise TrialError(
                f"expected to write to the journal {self.path}, got: {error}"
            ) from error
        self.known[who][number] = outcome

    def _write(self, row: dict[str, Any]) -> None:
        with self.path.open("a", encoding="utf-8", newline="\n") as file:
            file.write(json.dumps(row) + "\n")

    def _read(self, at: int, line: bytes, trial: str | None) -> None:
        try:
            row = json.loads(line)
            if at == 1:
                found = row["trial"]
            else:
                self.known[row["who"]][row["number"]] = _outcome(row["outcome"])
        except (ValueError, KeyError, TypeError) as error:
            raise TrialError(
                f"expected a line of a trial's journal, got at {self.path}:{at}: {line[:60]!r}"
            ) from error
        if at == 1 and trial is not None and found != trial:
            raise TrialError(
                f"expected the journal of this trial, {self.path} is of another one (another "
                "board, seed, list of faults or share of slips): name another file, or remove it"
            )


def _outcome(fields: dict[str, Any]) -> Outcome:
    pairs = {
        field: tuple((name, probability) for name, probability in fields[field])
        for field in ("named", "led")
    }
    return Outcome(**fields | pairs | {"bill": Bill(**fields["bill"])})
