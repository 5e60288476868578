"""Files that are no case, or a damaged one: always a CaseError, and never an event that was not."""

import os
import random
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.store.appender import body

from halfsplit.errors import CaseError
from halfsplit.store.event import Event
from halfsplit.store.log import CaseLog
from halfsplit.store.salvage import read_events, rescue

AT = "2024-02-29T12:00:00.000Z"
EVENTS = 40


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, tuple[Event, ...]]:
    """The bytes of a good case and its events."""
    path = tmp_path_factory.mktemp("whole") / "one.hsplit"
    with CaseLog.create(path, at=AT) as log:
        for i in range(EVENTS):
            log.append("reading", body("good", i), at=AT)
        events = log.events()
    return path.read_bytes(), events


def spoil(path: Path, *statements: str) -> None:
    """Change a case as another program would, past the triggers."""
    other = sqlite3.connect(path)
    triggers = other.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    for name, _ in triggers:
        other.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        other.execute(statement)
    for _, sql in triggers:
        other.execute(sql)
    other.commit()
    other.close()


def missing(path: Path) -> None:
    pass


def folder(path: Path) -> None:
    path.mkdir()


def empty(path: Path) -> None:
    path.touch()


def text(path: Path) -> None:
    path.write_text("board: floppy drive\n" * 100, encoding="utf-8")


def short_text(path: Path) -> None:
    path.write_text("x", encoding="utf-8")


def other_database(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE event (number INTEGER)")
    other.close()


def emptied_database(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE x (y)")
    other.execute("DROP TABLE x")
    other.close()


def newer(path: Path) -> None:
    CaseLog.create(path, at=AT).close()
    other = sqlite3.connect(path)
    other.execute("PRAGMA user_version = 99")
    other.close()


def read_only(path: Path) -> None:
    CaseLog.create(path, at=AT).close()
    path.chmod(0o444)


def another_table(path: Path) -> None:
    CaseLog.create(path, at=AT).close()
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE belief (fault TEXT)")
    other.close()


def no_trigger(path: Path) -> None:
    CaseLog.create(path, at=AT).close()
    other = sqlite3.connect(path)
    other.execute("DROP TRIGGER event_no_update")
    other.close()


def pipe(path: Path) -> None:
    os.mkfifo(path)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (missing, "expected a case, got no file; check the name"),
        (folder, "expected a case, got a folder; name the file itself"),
        (pipe, "expected a case, got no ordinary file"),
        (empty, "expected a case, got an empty file"),
        (text, "got a file that is no SQLite database"),
        (short_text, "got a file too short to be one"),
        (other_database, "got a SQLite database of another program"),
        (emptied_database, "got a SQLite database of another program"),
        (newer, "version 2 or older, got version 99; a newer Halfsplit wrote it"),
        (read_only, "got read-only ones; copy the case .* or open it for reading only"),
        (another_table, "got others or none for belief"),
        (no_trigger, "got others or none for event_no_update"),
    ],
)
def test_what_is_no_case_is_refused_in_words(
    tmp_path: Path, make: Callable[[Path], None], message: str
) -> None:
    path = tmp_path / "one.hsplit"
    make(path)
    with pytest.raises(CaseError, match=message) as caught:
        CaseLog.open(path)
    assert str(caught.value).startswith(str(path))


def test_a_name_that_no_system_takes_is_refused() -> None:
    with pytest.raises(CaseError, match="cannot be reached"):
        CaseLog.open("a\0b")
    with pytest.raises(CaseError, match="cannot be made here"):
        CaseLog.create("a\0b", at=AT)


def test_a_case_is_not_made_over_a_file_nor_in_no_folder(tmp_path: Path) -> None:
    path = tmp_path / "one.hsplit"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(CaseError, match="expected no file yet"):
        CaseLog.create(path, at=AT)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(CaseError, match="cannot be made here"):
        CaseLog.create(tmp_path / "none" / "one.hsplit", at=AT)


def test_a_read_only_case_is_read_but_not_added_to(tmp_path: Path) -> None:
    path = tmp_path / "one.hsplit"
    read_only(path)
    with CaseLog.open(path, writable=False) as log:
        assert log.events() == ()
        with pytest.raises(CaseError, match="open for reading only"):
            log.append("note", {}, at=AT)
    assert read_events(path, salvage=True).damage == ()


@pytest.mark.parametrize(
    ("statement", "number", "why", "lost"),
    [
        ("UPDATE event SET data = '{}' WHERE number = 7", 7, "does not match its seal", {7}),
        ("UPDATE event SET at = x'ff00' WHERE number = 7", 7, "an item is not of its kind", {7}),
        ("UPDATE event SET seal = '0' WHERE number = 7", 7, "does not match its seal", {7}),
        ("UPDATE event SET data = CAST(x'ff' AS TEXT) WHERE number = 7", 7, "seal", {7}),
        ("DELETE FROM event WHERE number = 7", 7, "is missing", {7}),
        (
            "DELETE FROM event WHERE number IN (7, 8)",
            7,
            "is missing, and all up to event 8",
            {7, 8},
        ),
        ("DELETE FROM event WHERE number = 1", 1, "is missing", {1}),
        ("DELETE FROM event WHERE number = 40", 40, "is missing", {40}),
        ("DELETE FROM event WHERE number > 38", 39, "is missing, and all up to event 40", {39, 40}),
        ("UPDATE event SET number = 41 WHERE number = 7", 7, "is missing", {7}),
        ("UPDATE event SET number = -1 WHERE number = 7", 7, "is missing", {7}),
        ("UPDATE sqlite_sequence SET seq = 3", 0, "the count of events is 3, the last", set()),
        ("UPDATE made SET at = 'x'", 0, "the moment the case was made cannot be read", set()),
    ],
)
def test_damage_is_named_and_the_rest_is_kept(
    tmp_path: Path,
    whole: tuple[bytes, tuple[Event, ...]],
    statement: str,
    number: int,
    why: str,
    lost: set[int],
) -> None:
    content, events = whole
    path, new = tmp_path / "one.hsplit", tmp_path / "new.hsplit"
    path.write_bytes(content)
    spoil(path, statement)
    with pytest.raises(CaseError, match=f"event {number}:" if number else f"file: {why}"):
        CaseLog.open(path)
    with pytest.raises(CaseError, match="got damage"):
        read_events(path)
    found = read_events(path, salvage=True)
    assert found.events == tuple(e for e in events if e.number not in lost)
    assert any(d.number == number and why in d.why for d in found.damage)
    with rescue(path, new, at=AT) as log:
        kept = log.events()
    assert [e for e in kept if e.kind != "lost"] == list(found.events)
    assert min(lost, default=None) == next((e.number for e in kept if e.kind == "lost"), None)
    assert read_events(new).events == kept


def test_an_event_of_another_case_is_noticed(
    tmp_path: Path, whole: tuple[bytes, tuple[Event, ...]]
) -> None:
    path, other = tmp_path / "one.hsplit", tmp_path / "other.hsplit"
    path.write_bytes(whole[0])
    with CaseLog.create(other, at=AT) as log:
        for i in range(EVENTS):
            log.append("reading", body("other", i), at=AT)
    spoil(
        path,
        f"ATTACH '{other}' AS other",
        "DELETE FROM event WHERE number = 7",
        "INSERT INTO main.event SELECT * FROM other.event WHERE number = 7",
    )
    with pytest.raises(CaseError, match="event 7: does not follow the one before it"):
        CaseLog.open(path)


def test_a_page_that_cannot_be_read_costs_only_what_was_on_it(
    tmp_path: Path, whole: tuple[bytes, tuple[Event, ...]]
) -> None:
    content, events = whole
    # A leaf of a table starts with 13 (SQLite file format, section 1.6).
    leaves = [at for at in range(4096, len(content), 4096) if content[at] == 13]
    path, new = tmp_path / "one.hsplit", tmp_path / "new.hsplit"
    for at in leaves[-3:]:
        path.write_bytes(content[:at] + bytes([99]) + content[at + 1 :])
        with pytest.raises(CaseError, match=r"event \d+: its part of the file cannot be read"):
            CaseLog.open(path)
        found = read_events(path, salvage=True)
        bad = {d.number for d in found.damage}
        assert 1 <= len(bad) < EVENTS
        assert found.events == tuple(e for e in events if e.number not in bad)
        with rescue(path, new, at=AT) as log:
            assert {e.number for e in log.events() if e.kind == "lost"} == bad
        new.unlink()


def test_garbled_and_truncated_files_raise_nothing_but_caseerror(
    tmp_path: Path, whole: tuple[bytes, tuple[Event, ...]]
) -> None:
    content, events = whole
    path = tmp_path / "one.hsplit"
    dice = random.Random(1980)
    outcomes = {"good": 0, "salvaged": 0, "refused": 0}
    for trial in range(400):
        spoiled = bytearray(content)
        match trial % 4:
            case 0:
                del spoiled[dice.randrange(len(spoiled)) :]
            case 1:
                at = dice.randrange(len(spoiled))
                spoiled[at : at + 64] = dice.randbytes(64)
            case 2:
                for _ in range(3):
                    spoiled[dice.randrange(len(spoiled))] ^= 1 << dice.randrange(8)
            case 3:
                # The header, the tables' own page and the starts of pages are where it hurts.
                at = dice.choice(
                    [dice.randrange(4096), 4096 * dice.randrange(len(spoiled) // 4096)]
                )
                spoiled[at] = dice.randrange(256)
        path.write_bytes(spoiled)
        outcomes[outcome(path, events)] += 1
    assert min(outcomes.values()) > 0, outcomes


def outcome(path: Path, events: tuple[Event, ...]) -> str:
    """What became of a spoiled case; whatever is read must be what was written."""
    try:
        with CaseLog.open(path, wait=0.1) as log:
            assert log.events() == events
            assert log.append("note", {}, at=AT).number == EVENTS + 1
            return "good"
    except CaseError:
        pass
    try:
        found = read_events(path, salvage=True, wait=0.1)
    except CaseError:
        return "refused"
    assert set(map(repr, found.events)) <= set(map(repr, events))
    return "salvaged"
