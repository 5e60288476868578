"""Whether somebody has worked on a part before: repairs break things too."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Worked"]

USUAL = 0.03
"""Parts that were worked on and have nothing to do with the fault."""
JOINTS, INSIDE = 0.4, 0.12
"""Of bad joints, bridges and tracks, and of bad parts, those where somebody had worked before
(judgement, no source)."""


class Worked(AtPart):
    """Offered for parts with joints; worth entering whenever the history is known."""

    name = "worked"
    title = "has somebody worked on it?"
    help = (
        "Flux, shiny joints, a part of another age, or the owner's word. Work on a board is a "
        "suspect of its own: a new symptom after a part was changed points first at its joints, "
        "the tracks beside them, bridges, and the part put in the wrong way round."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "untouched": "as it left the factory",
        "reworked": "resoldered, changed or pulled since",
    }
    elsewhere = (1.0 - USUAL, USUAL)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("no", "original", "factory", "never", "old"), "untouched"),
        **dict.fromkeys(
            ("yes", "worked", "replaced", "changed", "resoldered", "soldered", "new", "recapped",
             "repaired", "pulled"),
            "reworked",
        ),
    }  # fmt: skip
    usual_setup = "off"
    usual_minutes = 1.5

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return any(fault.where in ("joint", "bridge", "track") for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        worked = INSIDE if fault.where == "part" else JOINTS
        return 1.0 - worked, worked

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Look at {the_part(check, world).designator} and ask the owner: untouched, or "
            "reworked since it left the factory?"
        )


KIND = Worked()
