"""The desks that are open: one for each case that a page looks at, by the name of the case."""

from __future__ import annotations

import asyncio
from pathlib import Path

from halfsplit.errors import CaseError
from halfsplit.shelf import Shelf, name_of
from halfsplit.web.desk import Desk

__all__ = ["Desks"]

MOST_IDLE = 4
"""Desks kept open that no page looks at."""


class Desks:
    """``named`` is a case, which the page then shows first, or a folder of cases."""

    def __init__(self, named: Path) -> None:
        """Raises CaseError for a file that is no case."""
        self.shelf = Shelf(named if named.is_dir() else named.parent)
        self.first = None if named.is_dir() else named
        self._open: dict[str, Desk] = {}
        self._opening = asyncio.Lock()
        if self.first is not None:
            self._open[name_of(self.first)] = Desk(self.first)

    async def start(self) -> None:
        """Begin to work, inside the event loop."""
        for desk in self._open.values():
            await desk.start()

    async def stop(self) -> None:
        """Close all."""
        for desk in self._open.values():
            await desk.stop()

    async def get(self, name: str) -> Desk:
        """The desk of a case, opened when it is first asked for; the first case has no name.

        Raises CaseError.
        """
        if not name:
            if self.first is None:
                raise CaseError("expected the name of a case in the address, got none")
            name = name_of(self.first)
        async with self._opening:
            if name not in self._open:
                await self._close_idle()
                desk = Desk(self.shelf.path(name))
                await desk.start()
                self._open[name] = desk
            return self._open[name]

    async def _close_idle(self) -> None:
        first = name_of(self.first) if self.first is not None else ""
        idle = [name for name, desk in self._open.items() if not desk.watched and name != first]
        for name in idle[: max(0, len(idle) - MOST_IDLE + 1)]:
            await self._open.pop(name).stop()
