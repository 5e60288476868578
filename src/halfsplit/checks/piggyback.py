"""A known good chip held on top of a suspected one, pin on pin."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks._cautions import harm
from halfsplit.checks._places import is_chip
from halfsplit.checks.kind import Check

__all__ = ["KIND", "PiggyBack"]

MOST_PINS = 20
"""A larger package does not sit well enough on another."""
COVERAGE = (
    ("short", 0.03), ("stuck low", 0.05), ("leak", 0.05), ("stuck high", 0.4), ("weak", 0.8),
    ("output open", 0.85), ("supply open", 0.8), ("ground open", 0.5), ("open", 0.5),
    ("dead", 0.5),
)  # fmt: skip
"""Word in the fault's mode -> chance that the good chip takes over: it works in parallel, so it
replaces what is missing or weak and never undoes what is held (judgement, no source)."""
OTHERWISE = 0.2
SLIPPED = 0.01
"""The fault changes for another reason: the board is pressed, the chip may slip (judgement)."""


class PiggyBack(AtPart):
    """Offered for logic chips of at most 20 pins of which a good one can be had."""

    name = "piggyback"
    title = "good chip held on top"
    help = (
        "A good chip of the same type pressed on the suspected one, pin on pin, works in parallel "
        "with it. It shows open and weak outputs and inputs that do not listen; it never shows "
        "a hard short or an output that is held. Pressing may wake a bad joint as well."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault is as it was",
        "cured": "the board works while the good chip is held on",
    }
    elsewhere = (1.0 - SLIPPED, SLIPPED)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("none", "no", "same", "the same", "unchanged", "still bad"), "no change"),
        **dict.fromkeys(("cure", "fixed", "works", "yes", "good", "gone", "works now"), "cured"),
    }
    usual_setup = "touching"
    usual_minutes = 3.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        has = part.remarks.spare or part.remarks.price is not None
        fits = is_chip(part) and len(part.pins) <= MOST_PINS and not part.remarks.irreplaceable
        return has and fits and any(fault.where == "part" for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        if fault.where == "part":
            cured = next((share for word, share in COVERAGE if word in fault.mode), OTHERWISE)
        else:
            cured = 0.5 * fault.touch
        cured += (1.0 - cured) * SLIPPED
        return 1.0 - cured, cured

    def risk(self, check: Check, world: World) -> float:
        return 0.02 * harm(the_part(check, world)) + 0.5

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Power off while you put it on and take it off; the same way round, every pin on its "
            "own. Not on a chip that is hot.",
        )

    def sentence(self, check: Check, world: World) -> str:
        part = the_part(check, world)
        return (
            f"Power off: hold a good {part.kind} on top of {part.designator}, pin on pin; power "
            "on: no change or cured?"
        )


KIND = PiggyBack()
