"""Capacitance between two places, power off."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.world import Numbers, World
from halfsplit.checks._grid import Grid, farads_grid
from halfsplit.checks._storage import StorageKind
from halfsplit.checks.kind import Meter

__all__ = ["KIND", "Capacitance"]

USUAL_HERTZ = 120.0
"""Where makers state electrolytics (IEC 60384-4: 100 or 120 Hz)."""
LEAST = 1e-9


class Capacitance(StorageKind):
    """Offered across every capacitor of a nanofarad and more."""

    name = "capacitance"
    title = "capacitance in circuit, power off"
    help = (
        "What is expected counts all that lies in parallel: capacitors add up, and beside a low "
        "resistance no meter finds any. It is offered when the meter has the range."
    )
    unit = "F"
    asks = "capacitance"

    def wanted(self, part: Part) -> bool:
        return part.value is None or part.value >= LEAST

    def grid(self) -> Grid:
        return farads_grid()

    def numbers(self, pairs: Sequence[tuple[str, str]], world: World, meter: Meter) -> Numbers:
        return world.storage(pairs, meter.capacitance_hertz or USUAL_HERTZ).farads


KIND = Capacitance()
