"""Threads that share work."""

import os
import threading
from functools import partial

import pytest

from halfsplit.solve.crew import Crew


@pytest.mark.parametrize("count", [0, 1, 2, 5])
def test_every_job_is_done_once_and_waited_for(count: int) -> None:
    crew = Crew("test-crew")
    for _ in range(20):
        done: list[int] = []
        crew.share([partial(done.append, k) for k in range(count)])
        assert sorted(done) == list(range(count))


def test_jobs_run_at_the_same_time() -> None:
    meeting = threading.Barrier(3, timeout=30.0)

    def meet() -> None:
        meeting.wait()

    Crew("test-crew").share([meet] * 3)
    assert not meeting.broken


def test_threads_are_used_again_by_several_callers_at_once() -> None:
    crew = Crew("test-crew-kept")
    found: list[int] = []
    callers = [
        threading.Thread(target=crew.share, args=([partial(found.append, k)] * 2,))
        for k in range(8)
    ]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join(30.0)
    assert sorted(found) == sorted([*range(8), *range(8)])
    assert 1 <= sum(t.name.startswith("test-crew-kept") for t in threading.enumerate()) <= 8


def test_a_forked_process_has_threads_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    crew, name = Crew("test-crew-forked"), "test-crew-forked-0"
    done: list[int] = []
    crew.share([partial(done.append, k) for k in range(2)])
    # To its own eyes a forked process has another number, and the threads are not there.
    monkeypatch.setattr(os, "getpid", lambda: -1)
    crew.share([partial(done.append, k) for k in range(2)])
    assert sorted(done) == [0, 0, 1, 1]
    assert [thread.name for thread in threading.enumerate()].count(name) == 2
