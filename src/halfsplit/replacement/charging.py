"""What a supply's reservoirs ask of it at the first moment, and of a current limit."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfsplit.board.model import Board, Part, Rail
from halfsplit.frozen import dataclass

__all__ = ["Charging", "charging"]

_CAPACITORS = frozenset({"electrolytic", "tantalum", "capacitor", "film-capacitor"})
_LEAST_FARADS = 1e-6
"""Below that a supply does not notice (judgement)."""
_MOST_OHMS = 10.0
"""A resistor below that lets a reservoir charge at once (judgement)."""
_FUSE_OHMS = 0.05
"""A fuse of an ampere and its clips (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Charging:
    """The empty reservoirs ``parts`` of one supply at ``volts``, ``farads`` together, charged
    through ``ohms``: the supply's own and what lies in its way, exact for one reservoir and an
    upper limit for several."""

    net: str
    parts: tuple[str, ...]
    farads: float
    ohms: float
    volts: float

    @property
    def peak(self) -> float:
        """Ampere at the first moment, at most: Ohm's law."""
        return self.volts / self.ohms

    @property
    def melting(self) -> float:
        """Ampere squared seconds of the charge, ``C V^2 / 2 R``: the integral of a discharge
        ``V/R exp(-t / RC)`` squared. A fuse stands it when its own figure is above."""
        return self.farads * self.volts**2 / (2.0 * self.ohms)

    def seconds(self, limit: float, load: float = 0.0) -> float:
        """Until full, at a current ``limit`` of which the board itself takes ``load``; inf when
        nothing is left."""
        left = limit - load
        return self.farads * self.volts / left if left > 0.0 else math.inf


def charging(board: Board, rail: Rail) -> Charging | None:
    """The charging of what lies behind one supply; ``None`` without a reservoir."""
    ohms_to = _reach(board, rail)
    held = [
        part
        for part in board.parts
        if part.kind in _CAPACITORS
        and (part.value or 0.0) >= _LEAST_FARADS
        and board.ground in part.pins.values()
        and set(part.pins.values()) & set(ohms_to)
    ]
    if not held:
        return None
    ways = [min(ohms_to[net] for net in part.pins.values() if net in ohms_to) for part in held]
    return Charging(
        net=rail.net,
        parts=tuple(part.designator for part in held),
        farads=sum(part.value or 0.0 for part in held),
        ohms=min(ways),
        volts=abs(rail.volts) * (1.0 + rail.tolerance),
    )


def _reach(board: Board, rail: Rail) -> dict[str, float]:
    """Nets that the supply reaches at once -> ohm on the way, the supply's own with it."""
    found = {rail.net: max(rail.ohms, 1e-3)}
    todo = [rail.net]
    while todo:
        net = todo.pop()
        for part, ohms in _links(board):
            ends = list(part.pins.values())
            if net in ends and len(ends) == 2:
                other = ends[1 - ends.index(net)]
                if other not in found and other != board.ground:
                    found[other] = found[net] + ohms
                    todo.append(other)
    return found


def _links(board: Board) -> Iterator[tuple[Part, float]]:
    """Two-pin parts that let a reservoir charge at once, with their ohms."""
    for part in board.parts:
        if part.kind == "fuse":
            yield part, _FUSE_OHMS
        elif part.kind == "resistor" and part.value is not None and part.value < _MOST_OHMS:
            yield part, part.value
