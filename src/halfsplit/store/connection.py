"""How a case file is reached: SQLite set to keep what it confirmed, and its errors in our words.

A rollback journal and ``synchronous=EXTRA``: docs/decisions/0008-rollback-journal.md says why.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from halfsplit.errors import CaseError

__all__ = ["connect", "is_writable", "make_file", "primary_code", "said_plainly"]

# A damaged length must not make SQLite ask for gigabytes; an event is smaller (event.MOST_BYTES).
_MOST_BYTES_IN_A_ROW = 32_000_000
_DAMAGED = "the file is damaged; go back to a copy or rescue what is readable"


def connect(path: Path, *, writable: bool, wait: float, empty: bool = False) -> sqlite3.Connection:
    """Connect to an existing file; ``wait`` in s is how long another program may hold it.

    ``empty`` says that the file was made for this moment and holds nothing yet.
    The file is never opened by other means: closing it anywhere in this process would drop the
    locks that SQLite holds on it (POSIX fcntl, as SQLite's "How To Corrupt" page warns).
    """
    _look(path, writable=writable, empty=empty)
    with said_plainly(path):
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={'rw' if writable else 'ro'}",
            uri=True,
            timeout=wait,
            isolation_level=None,
            check_same_thread=False,
        )
        try:
            _set_up(connection, path, writable=writable)
        except BaseException:
            connection.close()
            raise
    return connection


def make_file(path: Path) -> None:
    """Make an empty file; CaseError when there is one already or there cannot be one."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except FileExistsError:
        raise CaseError(
            f"{path}: expected no file yet, got one; open it or choose another name"
        ) from None
    except (OSError, ValueError) as error:
        raise CaseError(
            f"{path}: a case cannot be made here ({_why(error)}); choose another folder"
        ) from error


def _why(error: OSError | ValueError) -> str:
    return getattr(error, "strerror", None) or str(error)


def is_writable(path: Path) -> bool:
    """Whether the file may be written; one marked read-only is left alone, even by root."""
    try:
        marked = path.stat().st_mode & 0o222
    except (OSError, ValueError):
        return False
    return bool(marked) and os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK)


@contextmanager
def said_plainly(source: Path) -> Iterator[None]:
    """Turn whatever SQLite and the disk say into a CaseError about ``source``."""
    try:
        yield
    except sqlite3.Error as error:
        raise CaseError(f"{source}: {_said(error)} ({error})") from error
    except OSError as error:
        raise CaseError(
            f"{source}: the file cannot be reached ({error}); check the disk"
        ) from error
    except UnicodeDecodeError as error:
        # SQLite quoted damaged text in its message, which Python's module then could not read.
        raise CaseError(f"{source}: {_DAMAGED}") from error


def primary_code(error: sqlite3.Error) -> int | None:
    """SQLite's primary result code, ``None`` when the error came from Python's own module."""
    code = getattr(error, "sqlite_errorcode", None)
    return None if code is None else int(code) & 0xFF


def _set_up(connection: sqlite3.Connection, path: Path, *, writable: bool) -> None:
    # Damaged text must arrive, so that its event can be named.
    connection.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _MOST_BYTES_IN_A_ROW)
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("PRAGMA mmap_size = 0")
    if not writable:
        connection.execute("PRAGMA query_only = ON")
        return
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA fullfsync = ON")
    (mode,) = connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    if mode != "delete":
        raise CaseError(f"{path}: expected a journal of kind 'delete', got {mode!r}; close others")


def _look(path: Path, *, writable: bool, empty: bool) -> None:
    try:
        status = path.stat()
    except FileNotFoundError:
        raise CaseError(f"{path}: expected a case, got no file; check the name") from None
    except (OSError, ValueError) as error:
        raise CaseError(f"{path}: the file cannot be reached ({error}); check the name") from error
    if not stat.S_ISREG(status.st_mode):
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "no ordinary file"
        raise CaseError(f"{path}: expected a case, got {what}; name the file itself")
    if status.st_size == 0 and not empty:
        raise CaseError(
            f"{path}: expected a case, got an empty file; if no other program is making it now, "
            "the making was cut short, so delete it and make the case again"
        )
    if writable and not is_writable(path):
        raise CaseError(
            f"{path}: expected a file and folder that may be written, got read-only ones; "
            "copy the case to a folder of yours, or open it for reading only"
        )


def _said(error: sqlite3.Error) -> str:
    match primary_code(error):
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return "another program holds the case; wait until it has done, or close it"
        case sqlite3.SQLITE_READONLY:
            return "the case is open for reading only; open it for writing"
        case sqlite3.SQLITE_FULL:
            return "the disk is full and nothing was added; make room and try again"
        case sqlite3.SQLITE_NOTADB:
            return "expected a case, got a file that is no SQLite database; check the name"
        case sqlite3.SQLITE_CORRUPT:
            return _DAMAGED
        case sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM | sqlite3.SQLITE_AUTH:
            return "the file or its journal cannot be opened; check who may write to its folder"
        case sqlite3.SQLITE_IOERR:
            return "the disk refused; look at the last event before trying again"
        case sqlite3.SQLITE_CONSTRAINT:
            return "a case is only ever added to, one event after another"
        case None:
            return "the case was closed; open it again"
        case _:
            return "expected a case in good order, and SQLite refused it; go back to a copy"
