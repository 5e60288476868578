"""A harness moved along its length while the fault shows."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Flex"]

HARNESSES = frozenset({"connector", "cable"})
CHANCE = 0.015
"""Something else changes just then."""
WIRES = (("contact", 0.45), ("broken", 0.4), ("resistive", 0.4), ("bridged", 0.3), ("open", 0.3))
"""Word in where or how it is wrong -> chance that moving the harness changes it. All judgement,
no source."""


class Flex(AtPart):
    """Offered for connectors and cables."""

    name = "flex"
    title = "move the harness while watching"
    help = (
        "Wires break where they bend: at the plug and where a carriage drags them. Move them along "
        "their length, and the carriage end to end, while the fault shows. No change says "
        "little. A fault that comes at one place of the travel only is a wire before it is a chip."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault is the same wherever the harness is",
        "changes": "it comes, goes or alters as the harness moves",
    }
    elsewhere = (1.0 - CHANCE, CHANCE)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("none", "no", "same", "the same", "nothing", "steady"), "no change"),
        **dict.fromkeys(
            ("change", "changed", "yes", "comes and goes", "at one place", "flickers on bending"),
            "changes",
        ),
    }  # fmt: skip
    usual_setup = "touching"
    usual_minutes = 1.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return part.kind in HARNESSES

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        how = f"{fault.where} {fault.mode}"
        moved = next((share for word, share in WIRES if word in how), 0.0)
        changes = moved + (1.0 - moved) * CHANCE
        return 1.0 - changes, changes

    def risk(self, check: Check, world: World) -> float:
        return 0.3

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Old insulation cracks: move it gently, not by the plug, and keep bare strands apart.",
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"While the fault shows, move the wires at {the_part(check, world).designator} gently "
            "along their length: no change, or does it change?"
        )


KIND = Flex()
