"""A part or connector pressed or flexed while the fault shows."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Touch"]

CHANCE = 0.01
"""Something else changes just then (judgement, no source)."""
WORTH = 0.1
"""Pressing is offered where a fault answers to it at least this often."""


class Touch(AtPart):
    """Offered for parts with a joint or contact that pressing can change."""

    name = "touch"
    title = "press or flex while watching"
    help = (
        "When the fault comes or goes as a part is pressed, a joint or contact under it is "
        "suspect. No change says little: many bad joints keep still."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault is the same all the while",
        "changes": "it comes, goes or alters as the part is pressed",
    }
    elsewhere = (1.0 - CHANCE, CHANCE)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("none", "no", "same", "the same", "nothing", "steady"), "no change"),
        **dict.fromkeys(
            ("change", "changed", "yes", "comes and goes", "works", "cured", "different",
             "works while touched", "works when pressed"),
            "changes",
        ),
    }  # fmt: skip
    usual_setup = "touching"
    usual_minutes = 0.7

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return any(fault.touch >= WORTH for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        changes = fault.touch + (1.0 - fault.touch) * CHANCE
        return 1.0 - changes, changes

    def risk(self, check: Check, world: World) -> float:
        return 0.3

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"While the fault shows, press {the_part(check, world).designator} gently with an "
            "insulated stick and flex the board beside it: no change, or does it change?"
        )


KIND = Touch()
