"""Files that are handed in or out: never in place of another, their errors in our words."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from halfsplit.errors import CaseError

__all__ = ["new_file", "read_file"]

_MOST_BYTES = 1_000_000_000


@contextmanager
def new_file(path: Path) -> Iterator[IO[bytes]]:
    """A new file to write to, taken away again when the writing fails. Raises CaseError where
    there is one or there cannot be one."""
    try:
        stream = path.open("xb")
    except FileExistsError:
        raise CaseError(f"{path}: expected no file yet, got one; choose another name") from None
    except (OSError, ValueError) as error:
        raise CaseError(f"{path}: cannot be made here ({error}); choose another folder") from error
    try:
        with stream:
            yield stream
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def read_file(path: str | os.PathLike[str]) -> bytes:
    """The bytes of a file of at most 1 GB. Raises CaseError."""
    try:
        with Path(path).open("rb") as stream:
            data = stream.read(_MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise CaseError(f"{path}: cannot be read ({error}); check the name") from error
    if len(data) > _MOST_BYTES:
        raise CaseError(f"{path}: expected at most 1 GB, got more")
    return data
