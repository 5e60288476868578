"""What is felt and smelt at a part after some minutes with the power on."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Heat"]

HOT, SMELL = 0.05, 0.01
"""Good parts that seem too hot, or smell of old scars."""
RUNS_HOT = (("short", 0.5), ("leak", 0.35), ("stuck", 0.2), ("low value", 0.2))
"""Word in the fault's mode -> chance that the part runs hotter than it should. All judgement,
no source."""


class Heat(AtPart):
    """Offered for parts with a fault that turns power into heat."""

    name = "heat"
    title = "hot or smelling?"
    help = (
        "A part that is too hot is shorted, leaks, or works against a short elsewhere: it is "
        "often the victim. Heat raises a probability and settles nothing; a cool part is not "
        "cleared."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "usual": "as warm as such a part may be",
        "hot": "hotter than its like, or than it should be",
        "smells": "it smells burnt or of electrolyte",
    }
    elsewhere = (1.0 - HOT - SMELL, HOT, SMELL)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("cool", "cold", "normal", "ok", "warm", "nothing", "fine"), "usual"),
        **dict.fromkeys(("too hot", "very hot", "burns", "burning", "scorching"), "hot"),
        **dict.fromkeys(("smell", "smelly", "burnt smell", "smoke", "smokes", "fishy"), "smells"),
    }
    usual_setup = "watching"
    usual_minutes = 1.5

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return any(_runs_hot(fault) > 0.3 for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        hot = HOT + (1.0 - HOT - SMELL) * _runs_hot(fault) * 0.8
        smells = SMELL + (1.0 - HOT - SMELL) * _runs_hot(fault) * 0.2
        return 1.0 - hot - smells, hot, smells

    def risk(self, check: Check, world: World) -> float:
        return 0.3

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Back of the hand near it, not a finger on it; never at mains or a high rail. At "
            "smoke, power off at once.",
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"After some minutes with the power on, hold the back of your hand near "
            f"{the_part(check, world).designator}: usual, hot, or does it smell?"
        )


def _runs_hot(fault: Fault) -> float:
    if fault.where != "part":
        return 0.0
    return next((share for word, share in RUNS_HOT if word in fault.mode), 0.0)


KIND = Heat()
