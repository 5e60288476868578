"""How hard a mechanism drags one way and the other, power off."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_motor import AtMotor, binds
from halfsplit.checks._at_part import the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Drag"]

SOUND = (0.93, 0.04, 0.03)
"""A sound mechanism, by how it is told."""
BINDING = (0.25, 0.35, 0.40)
"""One that binds. Judgement, no source."""


class Drag(AtMotor):
    """Offered once for each motor with windings."""

    name = "drag"
    title = "drag both ways, power off"
    help = (
        "Pull what it moves with a spring balance, or hang a weight on it, and compare one way "
        "with the other, at both ends and in the middle. A mechanism that goes one way only, or "
        "loses steps when cold, often drags; old grease and a dry lead screw do it. Keep the "
        "weight that just moves it: it is the friction that the motion's file asks for."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "alike": "the same light pull both ways, all along",
        "one way": "clearly harder one way, or at one place",
        "heavy": "heavy both ways",
    }
    elsewhere = SOUND
    elsewhere_else = 0.3
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("same", "equal", "ok", "good", "even", "light", "free"), "alike"),
        **dict.fromkeys(
            ("harder one way", "uneven", "tight spot", "one place", "at one end"), "one way"
        ),
        **dict.fromkeys(("stiff", "hard", "both", "tight", "seized", "both ways"), "heavy"),
    }
    usual_minutes = 2.0

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        return BINDING if binds(fault) else SOUND

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power off: pull what {the_part(check, world).designator} and its sisters move, one "
            "way and the other, all along: alike, harder one way, or heavy?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Slowly: a motor turned fast makes volts that reach the board. Do not touch heads, "
            "pens or lenses; never move what rests on a medium.",
        )


KIND = Drag()
