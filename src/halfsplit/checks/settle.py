"""How long a line takes to come to rest after it is switched off."""

from __future__ import annotations

from halfsplit.checks._grid import Grid, seconds_grid
from halfsplit.checks._switched import Switched, SwitchedKind
from halfsplit.solve.law import Array

__all__ = ["KIND", "Settle"]


class Settle(SwitchedKind):
    """Given by a capture, at the switched end of coils."""

    name = "settle"
    title = "time to rest after switching off"
    help = (
        "From leaving its level to resting within a tenth of the swing. A coil's current decays "
        "through its clamp: shorted turns and a missing clamp shorten it, a clamp that lost its "
        "resistor lengthens it, a slow driver shows as a late edge. What each fault gives comes "
        "from the transient engine. A capture with the exercise told gives this reading; it is "
        "never offered."
    )
    unit = "s"
    spread = 0.3
    asks = "How long does it take to rest, from the edge on, after it is switched off?"

    def grid(self) -> Grid:
        return seconds_grid()

    def of(self, found: Switched) -> Array:
        return found.settle


KIND = Settle()
