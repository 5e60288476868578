"""One thread that does what takes long, one job after another, beside the event loop."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from queue import SimpleQueue
from threading import Thread
from typing import Any, TypeVar

__all__ = ["Worker"]

T = TypeVar("T")


class Worker:
    """Runs jobs in order. The thread is a daemon: stopping the program does not wait for it, and
    nothing is lost by that, since jobs only work things out."""

    def __init__(self) -> None:
        self._jobs: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._thread = Thread(target=self._work, name="worker", daemon=True)
        self._thread.start()

    async def run(self, job: Callable[[], T]) -> T:
        """The job's result, when its turn has come; raises what the job raises."""
        loop = asyncio.get_running_loop()
        future: asyncio.Future[T] = loop.create_future()

        def settle(result: Any, error: BaseException | None) -> None:
            if future.done():
                return
            if error is None:
                future.set_result(result)
            else:
                future.set_exception(error)

        def work() -> None:
            result: Any = None
            failed: BaseException | None = None
            try:
                result = job()
            except BaseException as error:
                failed = error
            if not loop.is_closed():
                loop.call_soon_threadsafe(settle, result, failed)

        self._jobs.put(work)
        return await future

    def stop(self, last: Callable[[], None]) -> None:
        """After one last job no further ones; the one that runs is left to itself."""
        self._jobs.put(last)
        self._jobs.put(None)

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            job()
