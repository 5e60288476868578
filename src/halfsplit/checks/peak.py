"""The highest voltage of a line after it is switched off."""

from __future__ import annotations

from halfsplit.checks._grid import Grid, peak_grid
from halfsplit.checks._switched import Switched, SwitchedKind
from halfsplit.solve.law import Array

__all__ = ["KIND", "Peak"]


class Peak(SwitchedKind):
    """Given by a capture, at the switched end of coils."""

    name = "peak"
    title = "highest volts after switching off"
    help = (
        "A coil that is switched off drives its end above the supply until the clamp takes its "
        "current: a diode allows a volt, a clamp to a higher rail its volts, no clamp at all what "
        "breaks down first. What each fault gives comes from the waveforms that the transient "
        "engine plays. A capture with the exercise told gives this reading; it is never offered."
    )
    unit = "V"
    spread = 0.1
    asks = "What is the highest voltage just after it is switched off?"

    def grid(self) -> Grid:
        return peak_grid()

    def of(self, found: Switched) -> Array:
        return found.peak


KIND = Peak()
