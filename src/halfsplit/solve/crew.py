"""Threads that wait for a share of the work.

They do what a pool of ``concurrent.futures`` does, without the imports of that, which would be a
good part of a start.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from queue import SimpleQueue
from threading import Thread

__all__ = ["Crew"]

Job = Callable[[], None]


class Crew:
    """Grows to the most threads that were of use at once; they end with the program."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._begin()

    def share(self, jobs: Sequence[Job]) -> None:
        """Do all jobs at once, the first one here; back when all are done. Jobs do not raise."""
        if self._process != os.getpid():  # a fork takes no threads along
            self._begin()
        for number in range(self._members, len(jobs) - 1):
            Thread(target=self._serve, name=f"{self._name}-{number}", daemon=True).start()
            self._members += 1
        done: SimpleQueue[None] = SimpleQueue()
        for job in jobs[1:]:
            self._jobs.put((job, done))
        for job in jobs[:1]:
            job()
        for _ in jobs[1:]:
            done.get()

    def _begin(self) -> None:
        self._members, self._process = 0, os.getpid()
        self._jobs: SimpleQueue[tuple[Job, SimpleQueue[None]]] = SimpleQueue()

    def _serve(self) -> None:
        while True:
            job, done = self._jobs.get()
            try:
                job()
            finally:
                done.put(None)
