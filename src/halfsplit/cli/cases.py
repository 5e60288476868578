"""Cases on the command line: which file is meant."""

from __future__ import annotations

import sys
from pathlib import Path

from halfsplit.bench import Bench
from halfsplit.build.cache import amount
from halfsplit.errors import CaseError
from halfsplit.store.log import SUFFIX

__all__ = ["case_path", "have_patience", "is_case_name", "new_case_path", "open_case"]


def case_path(word: str | None) -> Path:
    """The case file named, or the only one in the current folder.

    Raises :class:`CaseError` when none is named and there is not exactly one here.
    """
    if word is not None:
        path = Path(word)
        if not path.suffix and not _is_file(path) and _is_file(with_suffix := _suffixed(path)):
            return with_suffix
        return path
    here = sorted(path for path in Path().glob(f"*{SUFFIX}") if path.is_file())
    if len(here) == 1:
        return here[0]
    if not here:
        raise CaseError(
            f"expected a case file (*{SUFFIX}) in this folder, found none; name one, "
            "or begin with: halfsplit new --board BOARD"
        )
    raise CaseError(
        f"expected one case file in this folder, found {len(here)}; name one of "
        + ", ".join(str(path) for path in here)
    )


def open_case(word: str | None) -> Bench:
    """The case named, open; see :func:`case_path`."""
    bench = Bench.open(case_path(word))
    have_patience(bench)
    return bench


def have_patience(bench: Bench) -> None:
    """Say on a terminal why the first answer about a board takes longer than later ones."""
    if sys.stderr.isatty() and amount(bench.world) == 0:
        said = "Working out what every fault would read; this is kept for the next time ..."
        print(said, file=sys.stderr, flush=True)


def new_case_path(word: str | None, board_name: str) -> Path:
    """Where a new case goes: as named, with our ending, or named after the board."""
    path = Path(word) if word is not None else Path(board_name)
    return path if path.suffix else _suffixed(path)


def is_case_name(word: str) -> bool:
    """Whether a word on the command line names a case file, not a check or a reading."""
    return word.endswith(SUFFIX)


def _suffixed(path: Path) -> Path:
    return path.with_name(path.name + SUFFIX) if path.name else path


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
