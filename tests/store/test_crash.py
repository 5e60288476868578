"""Whatever was acknowledged is there after SIGKILL at any moment, and two programs lose nothing."""

import itertools
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from tests.store.appender import AT, body

from halfsplit.errors import CaseError
from halfsplit.store.event import Event
from halfsplit.store.log import CaseLog

APPENDER = Path(__file__).with_name("appender.py")
KILLS = 30


def start(path: Path, word: str, most: int, how: str = "add") -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, str(APPENDER), str(path), word, str(most), how],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        bufsize=0,  # else a line read takes others into a buffer that `communicate` passes over
    )


def killed(child: "subprocess.Popen[bytes]", *, first: bool, delay: float) -> list[int]:
    """Numbers acknowledged by a child that is killed ``delay`` s after its start or first event."""
    assert child.stdout is not None
    head = child.stdout.readline() if first else b""
    time.sleep(delay)
    child.kill()
    rest, errors = child.communicate()
    assert child.returncode == -signal.SIGKILL, errors
    return [int(line) for line in (head + rest).splitlines()]


def opens_or_is_empty(path: Path) -> bool:
    try:
        with CaseLog.open(path):
            return True
    except CaseError as error:
        return "the making was cut short" in str(error)


def by_word(events: tuple[Event, ...], word: str) -> list[Event]:
    return [e for e in events if e.data["word"] == word]


def test_every_acknowledged_event_survives_sigkill(
    tmp_path: Path, rng: np.random.Generator
) -> None:
    path = tmp_path / "one.hsplit"
    CaseLog.create(path, at=AT).close()
    acknowledged: dict[str, list[int]] = {}
    before: tuple[Event, ...] = ()
    cut_short = 0
    for kill in range(KILLS):
        word = f"round {kill}"
        child = start(path, word, 0)
        # Every third is killed anywhere from its start on, the others while they write.
        anywhere = kill % 3 == 0
        delay = float(rng.uniform(0, 0.2 if anywhere else 0.04))
        acknowledged[word] = killed(child, first=not anywhere, delay=delay)
        cut_short += path.with_name(path.name + "-journal").exists()
        with CaseLog.open(path) as log:
            events = log.events()
        assert events[: len(before)] == before
        assert [e.number for e in events] == list(range(1, len(events) + 1))
        mine = by_word(events, word)
        assert [e.data for e in mine] == [body(word, i) for i in range(len(mine))]
        numbers = [e.number for e in mine]
        assert numbers[: len(acknowledged[word])] == acknowledged[word]
        # At most the one event in hand when the signal came was written but not acknowledged.
        assert len(numbers) - len(acknowledged[word]) in (0, 1)
        before = events
    assert sum(map(len, acknowledged.values())) >= KILLS
    # A write was really caught half way at least once, or this test shows nothing.
    assert cut_short >= 1


def test_a_case_killed_in_the_making_is_whole_or_said_to_be_empty(
    tmp_path: Path, rng: np.random.Generator
) -> None:
    for kill in range(8):
        path = tmp_path / f"{kill}.hsplit"
        child = start(path, "making", 0, "make")
        while not path.exists():
            assert child.poll() is None
        said = killed(child, first=False, delay=float(rng.uniform(0, 0.004)))
        if said:
            with CaseLog.open(path) as log:
                assert len(log.events()) >= len(said) - 1
        else:
            assert opens_or_is_empty(path)


def test_two_programs_adding_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "one.hsplit"
    most = 120
    CaseLog.create(path, at=AT).close()
    children = {word: start(path, word, most, "wait") for word in ("bench", "page")}
    for child in children.values():
        assert child.stdout is not None
        assert child.stdout.readline() == b"ready\n"
    for child in children.values():
        assert child.stdin is not None
        child.stdin.write(b"go\n")
        child.stdin.flush()
    with CaseLog.open(path) as log:
        seen = [len(log.events()) for _ in range(20)]
        outcome = {word: child.communicate(timeout=60) for word, child in children.items()}
        events = log.events()
    assert seen == sorted(seen)
    assert [e.number for e in events] == list(range(1, 2 * most + 1))
    words = [e.data["word"] for e in events]
    turns = sum(a != b for a, b in itertools.pairwise(words))
    assert turns >= 2, "one program came after the other, so nothing is shown"
    for word, (printed, errors) in outcome.items():
        assert errors == b""
        mine = by_word(events, word)
        assert [e.number for e in mine] == [int(line) for line in printed.splitlines()]
        assert [e.data for e in mine] == [body(word, i) for i in range(most)]


def test_a_program_that_holds_the_case_is_waited_for_and_then_named(tmp_path: Path) -> None:
    path = tmp_path / "one.hsplit"
    with CaseLog.create(path, at=AT) as holder, CaseLog.open(path, wait=0.05) as other:
        with holder._writing(), pytest.raises(CaseError, match="another program holds the case"):
            other.append("note", {}, at=AT)
        assert other.append("note", {}, at=AT).number == 1
