"""The tables of a case file, made by ordered, named steps that the file records."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from halfsplit.errors import CaseError

__all__ = ["APPLICATION_ID", "MIGRATIONS", "check_form", "check_tables", "migrate"]

# "HSPL" in the header of the database, where tools that name file types look.
APPLICATION_ID = 0x4853504C


def first_tables(connection: sqlite3.Connection) -> None:
    """Events and the moment the case was made, both append-only."""
    connection.execute("CREATE TABLE made (at TEXT NOT NULL)")
    # AUTOINCREMENT keeps the highest number in a table of its own, so a lost tail is noticed.
    connection.execute(
        "CREATE TABLE event ("
        "number INTEGER PRIMARY KEY AUTOINCREMENT, "
        "at TEXT NOT NULL, "
        "kind TEXT NOT NULL, "
        "data TEXT NOT NULL, "
        "previous TEXT NOT NULL, "
        "seal TEXT NOT NULL)"
    )
    connection.execute(
        "CREATE TRIGGER made_once BEFORE INSERT ON made WHEN EXISTS (SELECT 1 FROM made) "
        "BEGIN SELECT raise(ABORT, 'a case is made once'); END"
    )
    # Refuses gaps, and with them INSERT OR REPLACE, which need not fire the trigger on DELETE.
    connection.execute(
        "CREATE TRIGGER event_in_order BEFORE INSERT ON event "
        "WHEN new.number <> (SELECT coalesce(max(number), 0) + 1 FROM event) "
        "BEGIN SELECT raise(ABORT, 'events are numbered without gaps'); END"
    )
    for table in ("made", "event", "migration"):
        _only_added_to(connection, table)


def attachments(connection: sqlite3.Connection) -> None:
    """Photos and captures in pieces, found by the SHA-256 of the whole, append-only too."""
    connection.execute("CREATE TABLE attachment (sha256 TEXT PRIMARY KEY, size INTEGER NOT NULL)")
    connection.execute(
        "CREATE TABLE piece ("
        "sha256 TEXT NOT NULL, "
        "number INTEGER NOT NULL, "
        "data BLOB NOT NULL, "
        "PRIMARY KEY (sha256, number))"
    )
    for table, same in (
        ("attachment", "sha256 = new.sha256"),
        ("piece", "sha256 = new.sha256 AND number = new.number"),
    ):
        connection.execute(
            f"CREATE TRIGGER {table}_once BEFORE INSERT ON {table} "  # noqa: S608 - own names
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
            "BEGIN SELECT raise(ABORT, 'an attachment is added once'); END"
        )
        _only_added_to(connection, table)


def _only_added_to(connection: sqlite3.Connection, table: str) -> None:
    for deed in ("UPDATE", "DELETE"):
        connection.execute(
            f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} "
            f"BEGIN SELECT raise(ABORT, 'a case is only ever added to'); END"
        )


# To change the form of the file, add a function at the end; never edit one that was released.
MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (first_tables, attachments)


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables up to date, inside the caller's transaction."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version == 0:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(
            "CREATE TABLE migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL)"
        )
    for number, step in enumerate(MIGRATIONS[version:], version + 1):
        step(connection)
        connection.execute("INSERT INTO migration VALUES (?, ?)", (number, step.__name__))
        connection.execute(f"PRAGMA user_version = {number}")


def check_form(connection: sqlite3.Connection, source: str) -> bool:
    """Say whether the file is up to date; CaseError when it is no case or of a newer version."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    if pages == 0:
        raise CaseError(
            f"{source}: expected a case, got a file too short to be one; "
            "if the making was cut short, delete it and make the case again"
        )
    if application != APPLICATION_ID or version < 1:
        raise CaseError(
            f"{source}: expected a case, got a SQLite database of another program; "
            "open it with the program that made it"
        )
    if version > len(MIGRATIONS):
        raise CaseError(
            f"{source}: expected a case file of version {len(MIGRATIONS)} or older, got version "
            f"{version}; a newer Halfsplit wrote it, so update Halfsplit"
        )
    return bool(version == len(MIGRATIONS))


def check_tables(connection: sqlite3.Connection, source: str) -> None:
    """CaseError unless the file holds just the tables and triggers that the steps make."""
    scratch = sqlite3.connect(":memory:")
    try:
        migrate(scratch)
        expected, steps = _tables(scratch), _steps(scratch)
    finally:
        scratch.close()
    found = _tables(connection)
    wrong = sorted({name for _, name, _ in expected ^ found})
    if wrong:
        raise CaseError(
            f"{source}: expected the tables and triggers of a case, got others or none for "
            f"{', '.join(wrong)}; the file was changed by another program or is damaged, "
            "so go back to a copy or rescue what is readable"
        )
    if _steps(connection) != steps:
        raise CaseError(
            f"{source}: expected the steps {steps} in its table 'migration', got "
            f"{_steps(connection)}; go back to a copy or rescue what is readable"
        )


def _tables(connection: sqlite3.Connection) -> set[tuple[str, str, str]]:
    rows = connection.execute("SELECT type, name, sql FROM sqlite_master")
    return {
        (str(kind), str(name), str(sql))
        for kind, name, sql in rows
        if not str(name).startswith("sqlite_")
    }


def _steps(connection: sqlite3.Connection) -> list[tuple[object, object]]:
    return list(connection.execute("SELECT number, name FROM migration ORDER BY number"))
