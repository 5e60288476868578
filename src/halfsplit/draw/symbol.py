"""What a symbol is: its strokes, what is written on it, and where its pins leave.

Signal runs from left to right. Pins that are wired leave on the left or on the right at multiples
of ten units; pins on rails and ground may leave at the top and at the bottom too, because nothing
is routed to them. Strokes are SVG path data.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from halfsplit.draw.model import Pin
from halfsplit.frozen import dataclass

__all__ = ["HEAD", "OUTPUTS", "TEST_POINT", "Labelled", "Port", "Side", "Symbol", "text_width"]

HEAD = 20
"""Units above the body for the designator."""

TEST_POINT = "test point"
"""Kind of a box that is no part but a place to measure."""

OUTPUTS = frozenset({"out", "oc", "tri", "io"})

Side = Literal["left", "right", "up", "down"]
Labelled = Callable[[str], bool]
"""Whether a net is written at each pin, not drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """Where a pin leaves the symbol: ``x``, ``y`` from its top left corner."""

    pin: Pin
    x: int
    y: int
    side: Side

    @property
    def right(self) -> bool:
        return self.side == "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """``lines`` are strokes only, ``shapes`` closed outlines that take the colour of suspicion;
    ``words`` are (x, y, anchor, text), ``name`` (x, y) where the designator begins, and
    ``transform`` is what SVG does with lines and shapes."""

    width: int
    height: int
    ports: tuple[Port, ...]
    lines: tuple[str, ...] = ()
    shapes: tuple[str, ...] = ()
    words: tuple[tuple[int, int, str, str], ...] = ()
    name: tuple[int, int] = (0, 13)
    transform: str = f"translate(0 {HEAD})"
    numbered: bool = False
    """Pin numbers are written at the pins."""


def text_width(text: str, size: float = 9.0) -> int:
    """Generous width of a text in a plain system font."""
    return int(0.62 * size * len(text) + 0.999)
