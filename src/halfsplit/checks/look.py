"""A close look at a part, its joints and the tracks beside it."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Look"]

SCARS, DULL = 0.03, 0.02
"""Harmless marks taken for damage, harmless joints taken for bad ones (judgement, no source)."""


class Look(AtPart):
    """Offered for every part with a fault in it or at its pins."""

    name = "look"
    title = "close look"
    help = (
        "With a magnifier and good light. What is seen raises a probability and settles nothing: "
        "old damage may be harmless, and most faults cannot be seen."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "nothing": "nothing wrong is seen",
        "damage": "the part is burnt, cracked, bulged or leaking",
        "bad joint": "a ring, crack, bridge, corrosion or lifted track at its pins",
    }
    elsewhere = (1.0 - SCARS - DULL, SCARS, DULL)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(
            ("nothing seen", "ok", "okay", "good", "fine", "clean", "looks good", "looks fine",
             "none", "no", "nothing wrong", "looks ok"),
            "nothing",
        ),
        **dict.fromkeys(
            ("damaged", "burnt", "burned", "scorched", "brown", "cracked", "bulged", "bulging",
             "leaking", "leaked", "blown", "chipped", "burnt or cracked", "discoloured", "charred"),
            "damage",
        ),
        **dict.fromkeys(
            ("joint", "cracked joint", "ring", "dry joint", "cold joint", "bridge", "solder bridge",
             "whisker", "corroded", "corrosion", "lifted track", "broken track", "dull", "green",
             "bent pin", "bad solder"),
            "bad joint",
        ),
    }  # fmt: skip
    usual_setup = "off"
    usual_minutes = 1.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return bool(faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        seen = fault.visible
        if fault.where == "part":
            damage, joint = SCARS + (1.0 - SCARS - DULL) * seen, DULL * (1.0 - seen)
        else:
            damage, joint = SCARS * (1.0 - seen), DULL + (1.0 - SCARS - DULL) * seen
        return 1.0 - damage - joint, damage, joint

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power off: look closely at {the_part(check, world).designator}, its joints on both "
            "sides and the tracks beside it: nothing, damage or a bad joint?"
        )


KIND = Look()
