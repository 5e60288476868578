"""The form of the file changes by ordered steps that it records."""

import sqlite3
from pathlib import Path

import pytest

from halfsplit.errors import CaseError
from halfsplit.store import schema
from halfsplit.store.log import CaseLog

AT = "2024-02-29T12:00:00.000Z"


def photo_table(connection: sqlite3.Connection) -> None:
    connection.execute("CREATE TABLE photo (name TEXT PRIMARY KEY, content BLOB NOT NULL)")


def broken_step(connection: sqlite3.Connection) -> None:
    connection.execute("CREATE TABLE half_done (x)")
    connection.execute("CREATE TABLE event (x)")


def rows(path: Path, query: str) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    try:
        return connection.execute(query).fetchall()
    finally:
        connection.close()


STEPS = [(1, "first_tables"), (2, "attachments")]


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "one.hsplit"
    with CaseLog.create(path, at=AT) as log:
        log.append("reading", {"volts": 5}, at=AT)
    return path


def test_the_header_says_what_the_file_is(old: Path) -> None:
    # Bytes 68 to 71 hold the application id, 60 to 63 the version (SQLite file format, 1.3).
    head = old.read_bytes()[:100]
    assert head[68:72] == b"HSPL"
    assert head[60:64] == bytes([0, 0, 0, 2])
    assert rows(old, "SELECT * FROM migration") == STEPS


def test_an_old_case_is_brought_up_to_date(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with CaseLog.open(old) as log:
        events = log.events()
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, photo_table))
    with pytest.raises(CaseError, match="got an older one; open it once for writing"):
        CaseLog.open(old, writable=False)
    with CaseLog.open(old) as log:
        assert log.events() == events
    assert rows(old, "SELECT * FROM migration") == [*STEPS, (3, "photo_table")]
    with CaseLog.open(old, writable=False) as log:
        assert log.events() == events
    monkeypatch.undo()
    with pytest.raises(CaseError, match="version 2 or older, got version 3"):
        CaseLog.open(old)


def test_a_step_that_fails_changes_nothing(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, broken_step))
    with pytest.raises(CaseError, match="already exists"):
        CaseLog.open(old)
    monkeypatch.undo()
    with CaseLog.open(old) as log:
        assert [e.data for e in log.events()] == [{"volts": 5}]


def test_steps_under_other_names_are_refused(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def renamed(connection: sqlite3.Connection) -> None:
        schema.first_tables(connection)

    monkeypatch.setattr(schema, "MIGRATIONS", (renamed, schema.attachments))
    with pytest.raises(CaseError, match=r"expected the steps \[\(1, 'renamed'\), "):
        CaseLog.open(old)
