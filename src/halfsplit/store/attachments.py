"""Photos and captures inside a case file: pieces of bytes, found by the SHA-256 of the whole."""

from __future__ import annotations

import hashlib
import sqlite3

from halfsplit.errors import CaseError

__all__ = ["MOST_BYTES", "add", "read", "sizes"]

MOST_BYTES = 1_000_000_000
"""Of one attachment: SQLite holds more, but it passes through memory."""
_PIECE = 1_000_000


def add(connection: sqlite3.Connection, data: bytes) -> str:
    """Add ``data`` unless it is there, inside the caller's transaction; its SHA-256 in hex."""
    if not 0 < len(data) <= MOST_BYTES:
        raise CaseError(f"an attachment holds 1 to {MOST_BYTES} bytes, got {len(data)}")
    sha256 = hashlib.sha256(data).hexdigest()
    known = "SELECT 1 FROM attachment WHERE sha256 = ?"
    if connection.execute(known, (sha256,)).fetchone() is None:
        connection.execute("INSERT INTO attachment VALUES (?, ?)", (sha256, len(data)))
        for number, start in enumerate(range(0, len(data), _PIECE)):
            row = (sha256, number, data[start : start + _PIECE])
            connection.execute("INSERT INTO piece VALUES (?, ?, ?)", row)
    return sha256


def read(connection: sqlite3.Connection, sha256: str) -> bytes:
    """The whole attachment; CaseError when it is missing or does not match."""
    rows = connection.execute("SELECT data FROM piece WHERE sha256 = ? ORDER BY number", (sha256,))
    pieces = [piece for (piece,) in rows]
    if not pieces:
        raise CaseError(f"expected an attachment {sha256[:12]}, found none in this case")
    data = b"".join(piece for piece in pieces if isinstance(piece, bytes))
    if hashlib.sha256(data).hexdigest() != sha256:
        raise CaseError(
            f"attachment {sha256[:12]} does not match its SHA-256: the file is damaged; "
            "go back to a copy"
        )
    return data


def sizes(connection: sqlite3.Connection) -> dict[str, int]:
    """SHA-256 -> size in bytes, of all."""
    rows = connection.execute("SELECT sha256, size FROM attachment ORDER BY sha256")
    return {str(sha256): int(size) for sha256, size in rows}
