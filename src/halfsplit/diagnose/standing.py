"""How the bench stands, and what it takes to change it.

The minutes are common practice, no source: enough to group checks that share a setup.
"""

from __future__ import annotations

from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Setup
from halfsplit.frozen import dataclass

__all__ = ["CAREFUL", "Standing", "change_minutes"]

POWER = 2.0
"""On to off or back, waiting for the capacitors to empty included."""
STATE = 0.5
"""To bring a powered board from one state to another."""
LIFT, LAY = 5.0, 3.0
"""Unsolder one pin and lift it; put it back."""
TAKE_OUT, PUT_IN = 8.0, 6.0
"""Unsolder a part; solder it in again."""
UNPLUG = 1.0
"""Take a part out of its socket, or put it back."""
CAREFUL = frozenset({"pin lifted", "part out"})
"""Setups that take unsoldering, or a part out of its socket."""
OFF = frozenset({"off", "part out"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The present setup. ``at`` names what is lifted or out; ``state`` is empty when off."""

    setup: Setup = "off"
    state: str = ""
    at: tuple[str, ...] = ()

    @classmethod
    def for_check(cls, check: Check, setup: Setup) -> Standing:
        """How the bench must stand for a check."""
        return cls(
            setup=setup,
            state=check.state if setup not in OFF else "",
            at=check.places if setup in CAREFUL else (),
        )

    @property
    def powered(self) -> bool:
        return self.setup not in OFF


def change_minutes(now: Standing, then: Standing, world: World) -> float:
    """Minutes from one standing to another."""
    minutes = 0.0
    rework = (now.setup in CAREFUL or then.setup in CAREFUL) and (now.setup, now.at) != (
        then.setup,
        then.at,
    )
    if rework:
        minutes += _back(now, world) + _into(then, world)
        minutes += POWER * (now.powered + then.powered)
    elif now.powered != then.powered:
        minutes += POWER
    if then.powered and then.state and now.powered and now.state and now.state != then.state:
        minutes += STATE
    return minutes


def _into(then: Standing, world: World) -> float:
    if then.setup == "pin lifted":
        return LIFT
    if then.setup == "part out":
        return UNPLUG if _socketed(then, world) else TAKE_OUT
    return 0.0


def _back(now: Standing, world: World) -> float:
    if now.setup == "pin lifted":
        return LAY
    if now.setup == "part out":
        return UNPLUG if _socketed(now, world) else PUT_IN
    return 0.0


def _socketed(standing: Standing, world: World) -> bool:
    part = world.board.part(standing.at[0].split(".")[0]) if standing.at else None
    return part is not None and part.remarks.socketed
