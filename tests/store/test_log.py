"""The case log: what goes in comes out, in order, and nothing is ever changed."""

import math
import os
import shutil
import sqlite3
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.errors import CaseError, ConflictError
from halfsplit.store.event import Json, data_text, seal_of, stamp
from halfsplit.store.examine import first_link
from halfsplit.store.log import CaseLog
from halfsplit.store.salvage import read_events

AT = "2024-02-29T12:00:00.000Z"
LATER = "2024-02-29T12:00:01.500Z"

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "floppy drive, #2?.hsplit"


@pytest.fixture
def log(path: Path) -> Iterator[CaseLog]:
    with CaseLog.create(path, at=AT) as made:
        yield made


@settings(max_examples=25)
@given(st.lists(st.dictionaries(st.text(), JSON, max_size=4), max_size=4))
def test_what_goes_in_comes_out(
    tmp_path_factory: pytest.TempPathFactory, items: list[Json]
) -> None:
    path = tmp_path_factory.mktemp("case") / "one.hsplit"
    with CaseLog.create(path, at=AT) as log:
        made = [log.append("reading", item, at=LATER) for item in items if isinstance(item, dict)]
    with CaseLog.open(path) as log:
        assert log.events() == tuple(made)
    assert [e.data for e in made] == items
    assert [(e.number, e.at, e.kind) for e in made] == [
        (n, LATER, "reading") for n in range(1, len(items) + 1)
    ]


def test_tuples_come_back_as_lists_at_once(log: CaseLog) -> None:
    assert log.append("reading", {"volts": (1.0, 2)}, at=AT).data == {"volts": [1.0, 2]}


def test_the_moment_of_making_is_kept(log: CaseLog, path: Path) -> None:
    assert log.made == AT
    with CaseLog.open(path) as again:
        assert again.made == AT
        assert again.events() == ()


def test_what_was_acknowledged_is_in_the_one_file(log: CaseLog, path: Path) -> None:
    """A copy of the file alone, taken while the case is open, holds every event."""
    event = log.append("reading", {"volts": 4.9}, at=AT)
    assert os.listdir(path.parent) == [path.name]
    copy = shutil.copy(path, path.with_name("copy.hsplit"))
    assert read_events(copy).events == (event,)


def test_sqlite_is_told_to_wait_for_the_disk(log: CaseLog) -> None:
    # Values by SQLite's documentation of PRAGMA synchronous: 3 is EXTRA.
    assert log._connection.execute("PRAGMA synchronous").fetchone() == (3,)
    assert log._connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert log._connection.execute("PRAGMA fullfsync").fetchone() == (1,)


def test_a_file_put_into_another_journal_mode_is_put_back(path: Path) -> None:
    with CaseLog.create(path, at=AT) as log:
        event = log.append("note", {}, at=AT)
    other = sqlite3.connect(path)
    assert other.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    other.close()
    with CaseLog.open(path) as log:
        assert log.events() == (event,)
        assert log._connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_after_tells_that_somebody_else_added(log: CaseLog, path: Path) -> None:
    assert log.append("reading", {}, at=AT, after=0).number == 1
    with CaseLog.open(path) as other:
        other.append("note", {}, at=AT, after=1)
    with pytest.raises(ConflictError, match="expected event 1 to be the last, got 2"):
        log.append("reading", {}, at=AT, after=1)
    with pytest.raises(ConflictError):
        log.undo(at=AT, after=1)
    assert [e.kind for e in log.events()] == ["reading", "note"]
    assert log.append("reading", {}, at=AT).number == 3


def test_an_undo_must_take_back_what_is_in_effect(log: CaseLog) -> None:
    log.append("reading", {}, at=AT)
    undo = log.append("undo", {"takes_back": 1}, at=AT)
    with pytest.raises(CaseError, match="got event 1, which is taken back already"):
        log.append("undo", {"takes_back": 1}, at=AT)
    with pytest.raises(CaseError, match="got 7"):
        log.append("undo", {"takes_back": 7}, at=AT)
    assert log.events()[-1] == undo
    assert log.live() == ()
    assert log.redo(at=AT).data == {"takes_back": 2}
    assert [e.number for e in log.live()] == [1]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET data = '{}' WHERE number = 1",
        "DELETE FROM event",
        "INSERT OR REPLACE INTO event SELECT 1, at, kind, '{}', previous, seal FROM event",
        "INSERT INTO event SELECT 9, at, kind, data, previous, seal FROM event",
        "INSERT INTO made VALUES ('2024-02-29T12:00:00.000Z')",
        "UPDATE made SET at = ''",
        "DELETE FROM made",
        "DELETE FROM migration",
        "UPDATE migration SET name = 'x'",
    ],
)
def test_nothing_is_ever_changed(path: Path, statement: str) -> None:
    with CaseLog.create(path, at=AT) as log:
        event = log.append("reading", {"volts": 5}, at=AT)
    other = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match=r"only ever added|made once|without gaps"):
        other.execute(statement)
    other.rollback()
    other.close()
    assert read_events(path).events == (event,)


def test_threads_may_share_a_log(log: CaseLog) -> None:
    def add(word: str) -> None:
        for _ in range(20):
            log.append("note", {"word": word}, at=AT)

    threads = [threading.Thread(target=add, args=(word,)) for word in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [e.number for e in log.events()] == list(range(1, 61))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"volts": math.nan}, "data.volts: expected a finite number, got nan"),
        ({"a": [0, {"b": -math.inf}]}, r"data.a\[1\].b: expected a finite number"),
        ({"n": 2**53}, "data.n: expected an integer within"),
        ({"n": -(10**5000)}, "data.n: expected an integer within"),
        ({1: 2}, "a name in data: expected text, got int"),
        ({"s": "\ud800"}, "data.s: expected text, got half a character"),
        ({"s": {1, 2}}, "data.s: expected text, a number.*got set"),
        ({"s": b"x"}, "got bytes"),
        (["x"], "expected the data of an event as names and values, got list"),
        ({"s": "x" * 16_000_001}, "holds at most 16000000 bytes"),
    ],
)
def test_data_that_do_not_fit_are_refused(
    log: CaseLog, data: dict[str, Json], message: str
) -> None:
    with pytest.raises(CaseError, match=message):
        log.append("reading", data, at=AT)
    assert log.events() == ()


def test_data_too_deep_are_refused() -> None:
    deep: dict[str, Json] = {}
    deep["a"] = deep
    with pytest.raises(CaseError, match="expected at most 64 levels"):
        data_text(deep)


@pytest.mark.parametrize("kind", ["", "Reading", "a b", "x" * 65, "1st", "é"])
def test_a_kind_is_one_small_word(log: CaseLog, kind: str) -> None:
    with pytest.raises(CaseError, match="expected the kind of an event as one word"):
        log.append(kind, {}, at=AT)


@pytest.mark.parametrize(
    "at", ["", "now", "2024-02-30T12:00:00.000Z", "2024-02-29T12:00:00Z", AT + "\n", AT[:-1]]
)
def test_a_moment_has_one_form(log: CaseLog, tmp_path: Path, at: str) -> None:
    with pytest.raises(CaseError, match="expected the time of an event like"):
        log.append("note", {}, at=at)
    with pytest.raises(CaseError, match="expected the time of an event like"):
        CaseLog.create(tmp_path / "other", at=at)
    assert not (tmp_path / "other").exists()


def test_stamp_writes_utc() -> None:
    east = timezone(timedelta(hours=5, minutes=30))
    assert stamp(datetime(2024, 2, 29, 17, 30, tzinfo=east)) == AT
    assert stamp(datetime(2024, 2, 29, 12, 0, 1, 500_999, tzinfo=UTC)) == LATER
    with pytest.raises(CaseError, match="with its zone"):
        stamp(datetime(2024, 2, 29))


def test_the_seal_is_the_one_that_sha256sum_gives() -> None:
    # Made with GNU coreutils 9.1, as docs/case-file.md shows.
    assert first_link(AT) == "d6074185782c2e18c13e6711bd4fe0d2d2f761650ca2bcfe83e70da590f4a172"
    seal = seal_of(previous=first_link(AT), number=1, at=AT, kind="note", data='{"text":"µA"}')
    assert seal == "a818e0f094d73a8a4c0a67b9a6ebef5b55077b36cc356880c41fb24a4f161d42"


def test_a_closed_log_says_so(path: Path) -> None:
    log = CaseLog.create(path, at=AT)
    log.close()
    log.close()
    with pytest.raises(CaseError, match="the case was closed"):
        log.events()
    with pytest.raises(CaseError, match="the case was closed"):
        log.append("note", {}, at=AT)


def test_a_case_made_from_events_takes_all_or_none(log: CaseLog, path: Path) -> None:
    events = (log.append("note", {"a": 1}, at=AT), log.append("reading", {}, at=LATER))
    copy = path.with_name("copy.hsplit")
    with pytest.raises(CaseError, match="expected event 2 next, got 1"):
        CaseLog.create(copy, at=AT, events=(*events[:1], *events))
    assert os.listdir(path.parent) == [path.name]
    with CaseLog.create(copy, at=AT, events=events) as other:
        assert other.events() == events
