"""What is closed when its ``with`` block ends."""

from __future__ import annotations

from types import TracebackType
from typing import Self

__all__ = ["Closing"]


class Closing:
    """A class with a ``close`` of its own becomes a context manager that gives itself."""

    __slots__ = ()

    def close(self) -> None:
        """Let go of what is held; closing twice does no harm."""
        raise NotImplementedError

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()
