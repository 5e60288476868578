"""A socketed chip or a connector pulled and plugged back."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks._cautions import harm
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Reseat"]

CHANCE = 0.015
"""The fault goes for another reason (judgement, no source)."""
BENT = 0.005
"""A pin bent or broken, or a chip plugged in the wrong way round (judgement, no source)."""


class Reseat(AtPart):
    """Offered for parts with a contact that reseating can cure."""

    name = "reseat"
    title = "pull and plug back"
    help = (
        "The cheapest cure on a board that stood for years. A cure points at the contacts and "
        "not at the part; clean them, or it will come back."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault is as it was",
        "cured": "the fault is gone",
    }
    elsewhere = (1.0 - CHANCE, CHANCE)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("none", "no", "same", "the same", "still bad", "unchanged"), "no change"),
        **dict.fromkeys(("cure", "fixed", "works", "yes", "good", "gone", "works now"), "cured"),
    }
    usual_setup = "off"
    usual_minutes = 2.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return any(fault.reseat > 0.0 for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        cured = fault.reseat + (1.0 - fault.reseat) * CHANCE
        return 1.0 - cured, cured

    def risk(self, check: Check, world: World) -> float:
        return BENT * harm(the_part(check, world))

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Static: touch a grounded thing first. Mark which way round it sits; lift it evenly.",
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power off: pull {the_part(check, world).designator}, look at its contacts, plug it "
            "back, and try the board: no change or cured?"
        )


KIND = Reseat()
