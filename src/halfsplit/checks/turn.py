"""A mechanism turned by hand, power off."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "MOVERS", "Turn"]

MOVERS = frozenset({"winding", "motor", "coil", "relay", "solenoid"})
"""Kinds of part that move something."""
STIFF, BEYOND = 0.03, 0.3
"""A sound mechanism called stiff; a fault that is on no list and shows here."""
FOUND = 0.85
"""A mechanical fault found by turning. These three: judgement, no source."""


class Turn(AtPart):
    """Offered once for each mechanism: the first of the windings that share a net."""

    name = "turn"
    title = "turn it by hand, power off"
    help = (
        "Right signals and a motor that grinds or does not move: the trouble is mechanical. It "
        "costs half a minute, so do it before any part is changed. A motor that is still plugged "
        "in or has a shorted winding turns with a drag: compare with it unplugged."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "free": "it turns or slides evenly all the way",
        "stiff": "it binds, grinds, rubs or is seized",
    }
    elsewhere = (1.0 - STIFF, STIFF)
    elsewhere_else = BEYOND
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("ok", "good", "smooth", "easy", "turns", "even", "moves"), "free"),
        **dict.fromkeys(
            ("binds", "grinds", "rubs", "seized", "stuck", "hard", "rough", "blocked", "heavy"),
            "stiff",
        ),
    }
    usual_setup = "off"
    usual_minutes = 0.5

    def offers(self, world: World) -> Sequence[Check]:
        found, known = [], set[str]()
        for part in world.board.parts:
            nets = set(part.pins.values())
            if part.kind in MOVERS:
                if not nets & known:
                    found.append(Check(kind=self.name, places=(part.designator,)))
                known |= nets
        return found

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return part.kind in MOVERS

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        if fault.where == "off-board" and fault.mode == "mechanical":
            return 1.0 - FOUND, FOUND
        if "turns" in fault.mode or "short" in fault.mode:  # a shorted winding brakes
            return 0.7, 0.3
        return self.elsewhere

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power off: turn or slide by hand what {the_part(check, world).designator} moves, "
            "all the way: free or stiff?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (*super().cautions(check, world), "Fingers clear of belts, gears and sharp edges.")


KIND = Turn()
