"""Equivalent series resistance between two places, power off."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.world import Numbers, World
from halfsplit.checks._grid import Grid, series_grid
from halfsplit.checks._storage import StorageKind
from halfsplit.checks.kind import Meter

__all__ = ["KIND", "SeriesResistance"]

USUAL_HERTZ = 100e3
"""Where makers state the impedance of low-loss electrolytics, and such meters measure (common
practice, no source)."""
LEAST = 1e-6


class SeriesResistance(StorageKind):
    """Offered across every capacitor of a microfarad and more."""

    name = "esr"
    title = "series resistance of capacitors in circuit, power off"
    help = (
        "A dried-out electrolytic has many times the series resistance of a sound one. A sound one "
        "in parallel hides it. It is offered when the meter has the range."
    )
    unit = "Ω"
    asks = "series resistance (ESR)"

    def wanted(self, part: Part) -> bool:
        return part.value is None or part.value >= LEAST

    def grid(self) -> Grid:
        return series_grid()

    def numbers(self, pairs: Sequence[tuple[str, str]], world: World, meter: Meter) -> Numbers:
        return world.storage(pairs, meter.esr_hertz or USUAL_HERTZ).ohms


KIND = SeriesResistance()
