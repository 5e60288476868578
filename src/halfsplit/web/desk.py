"""The case as all pages share it: what is known now, who is told, and the work in the background.

Readings are written down at once, through a bench of their own; what follows from them is worked
out by another, in one thread, and told to every page that is open.
"""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from anyio import to_thread

from halfsplit.bench import Bench
from halfsplit.checks.kind import Check
from halfsplit.diagnose.views import plain_json
from halfsplit.errors import HalfsplitError, PlaceError, ReadingError, UnknownName
from halfsplit.web.snapshot import Data, asked, board_mark, expectation, outputs_table, snapshot
from halfsplit.web.worker import Worker

__all__ = ["Desk"]

T = TypeVar("T")

LOOK = 0.5
"""Seconds between looks at the case file, which another program may add to."""


class Desk:
    """Open on one case. `start` it inside the event loop, `stop` it there."""

    def __init__(self, path: Path) -> None:
        """Raises CaseError for a file that is no case."""
        self.pen = Bench.open(path)
        self._bench = Bench.open(path)
        self._worker = Worker()
        self._expected: dict[str, str] = {}
        self._weighed_by = (self._bench.board.text, self._bench.told.meter)
        self._state: Data = {"ready": False, "last_event": 0, "working": "reading the board"}
        self._watchers: set[asyncio.Queue[str]] = set()
        self._wanted = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []

    async def start(self) -> None:
        """Begin to work."""
        self._state |= self._board_data()
        self._wanted.set()
        self._tasks = [asyncio.create_task(self._work()), asyncio.create_task(self._look())]

    async def stop(self) -> None:
        """Stop working and close the case. A prediction that is being made is given up."""
        for task in self._tasks:
            task.cancel()
        for task in self._tasks:
            with contextlib.suppress(asyncio.CancelledError):
                await task
        self._worker.stop(self._bench.close)
        self.pen.close()

    @property
    def state(self) -> Data:
        """What is known now: ``ready`` when it follows from the whole log, else ``working`` says
        what is being worked out."""
        return self._state

    def watch(self) -> asyncio.Queue[str]:
        """A queue on which every new state comes as JSON, the present one first. Only the newest
        waits."""
        queue: asyncio.Queue[str] = asyncio.Queue(maxsize=1)
        queue.put_nowait(_text(self._state))
        self._watchers.add(queue)
        return queue

    def leave(self, queue: asyncio.Queue[str]) -> None:
        """No more states for this one."""
        self._watchers.discard(queue)

    async def write(
        self, check: str, text: str, *, source: str = "", since: int | None = None
    ) -> int:
        """Write a reading down and return the number of its event. With ``since``, the last event
        the person saw before trying: a reading just like it that came later is the same one, sent
        again because its answer was lost."""

        def job() -> int:
            if since is not None and (found := self._written(check, text, since)):
                return found
            return self.pen.write(check, text, source=source)

        number = await to_thread.run_sync(job)
        self._wanted.set()
        return number

    async def write_many(
        self, pairs: Sequence[tuple[str, str]], *, since: int | None = None
    ) -> list[dict[str, Any]]:
        """Write many readings down, each as `write` does; one that is not understood is answered
        by its ``error`` and keeps no other back."""

        def one(check: str, text: str) -> dict[str, Any]:
            try:
                found = self._written(check, text, since) if since is not None else None
                return {"number": found or self.pen.write(check, text)}
            except (ReadingError, PlaceError, UnknownName) as error:
                return {"error": str(error)}

        found = await to_thread.run_sync(lambda: [one(check, text) for check, text in pairs])
        self._wanted.set()
        return found

    async def tell(self, job: Callable[[Bench], T]) -> T:
        """Do what adds to the log, at once, beside what is being worked out."""
        done = await to_thread.run_sync(lambda: job(self.pen))
        self._wanted.set()
        return done

    async def ask(self, job: Callable[[Bench], T]) -> T:
        """What follows from the log, in its turn."""

        def brought_up_to_date() -> T:
            self._bench.refresh()
            return job(self._bench)

        return await self._worker.run(brought_up_to_date)

    def wake(self) -> None:
        """The log has grown: work out what follows."""
        self._wanted.set()

    @property
    def mark(self) -> str:
        """Tells this case from any other, for what a browser keeps."""
        made = f"{self.pen.path.absolute()} {self.pen.made}"
        return hashlib.sha256(made.encode()).hexdigest()[:16]

    @property
    def watched(self) -> bool:
        """Whether a page looks at this case."""
        return bool(self._watchers)

    async def asked(self, text: str) -> Data:
        """The check of an id, described."""

        def job() -> Data:
            return asked(self._bench, self._bench.check(text), self._expected)

        return await self._worker.run(job)

    async def expected(self, place: str, state: str) -> Data:
        """What a good board reads at a place, and which faults read otherwise."""

        def job() -> Data:
            (one,) = self._bench.expected([place], [state])
            data = one.to_json()
            check = self._bench.check(f"volts {place} @{state}")
            data["words"] = expectation(self._bench, check, self._expected)
            data["check"] = check.id
            return data

        return await self._worker.run(job)

    def _written(self, check: str, text: str, since: int) -> int | None:
        self.pen.refresh()
        wanted = self.pen.check(check).id
        for one in self.pen.told.readings:
            if one.number > since and one.check.id == wanted and one.reading.text == text:
                return one.number
        return None

    async def _work(self) -> None:
        while True:
            await self._wanted.wait()
            self._wanted.clear()
            try:
                await self._work_out()
            except HalfsplitError as error:
                self._tell(ready=False, working="", trouble=str(error))

    async def _work_out(self) -> None:
        await self._worker.run(self._bench.refresh)
        weighed_by = (self._bench.board.text, self._bench.told.meter)
        if weighed_by != self._weighed_by:
            self._expected.clear()
            self._weighed_by = weighed_by
        self._tell(ready=False, working="weighing the readings", trouble="", **self._board_data())
        states = [state.name for state in self._bench.board.states if state.powered]
        for at, state in enumerate(states, 1):
            if self._knows(state):
                continue
            self._tell(working=f"working out state {state}, {at} of {len(states)}")
            await self._worker.run(lambda state=state: self._predict(state))  # type: ignore[misc]  # mypy does not infer a lambda with a default
            self._tell(**self._board_data())
        data = await self._worker.run(lambda: snapshot(self._bench, self._expected))
        if self._wanted.is_set() and data["last_event"] != self.pen.last_event:
            self._tell(**data)
            return
        self._tell(**data, ready=True, working="")

    def _predict(self, state: str) -> None:
        world = self._bench.world
        world.volts(state, [])
        for output in self._bench.board.outputs:
            check = Check(kind="symptom", places=(output.name,), state=state)
            expectation(self._bench, check, self._expected)

    def _knows(self, state: str) -> bool:
        outputs = self._bench.board.outputs
        checks = (Check(kind="symptom", places=(one.name,), state=state) for one in outputs)
        return all(check.id in self._expected for check in checks)

    def _board_data(self) -> Data:
        board = self._bench.board
        return {"board": board_mark(board), "outputs": outputs_table(board, self._expected)}

    def _tell(self, **news: object) -> None:
        self._state = {**self._state, **news}
        if not self._watchers:
            return
        text = _text(self._state)
        for queue in self._watchers:
            if queue.full():
                queue.get_nowait()
            queue.put_nowait(text)

    async def _look(self) -> None:
        seen = _stamp(self.pen.path)
        while True:
            await asyncio.sleep(LOOK)
            now = _stamp(self.pen.path)
            if now != seen:
                seen = now
                if await self._added():
                    self._wanted.set()

    async def _added(self) -> bool:
        look: Callable[[], bool] = self.pen.refresh
        with contextlib.suppress(HalfsplitError):
            return await to_thread.run_sync(look)
        return True


def _text(state: Data) -> str:
    return json.dumps(plain_json(state), allow_nan=False)


def _stamp(path: Path) -> tuple[int, int]:
    try:
        found = path.stat()
    except OSError:
        return 0, 0
    return found.st_mtime_ns, found.st_size
