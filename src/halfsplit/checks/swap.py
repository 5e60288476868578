"""A part swapped with a known good one."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks._cautions import removal_harm, removal_minutes
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Swap"]

CURED = 0.97
RESOLDERED = 0.7
"""A joint, bridge or contact put right because the part was soldered anew."""
DISTURBED = 0.05
"""The same for joints of a socket, which stay as they are."""
SPARE_LOST = 0.05
"""Chance that another fault kills the good part too. These four: judgement, no source."""


class Swap(AtPart):
    """Offered for parts with a spare or a price that can be replaced."""

    name = "swap"
    title = "swap with a known good part"
    help = (
        "A cure points at the part, but also at its joints and its socket, which were made "
        "anew: put the old part back, or test it, before the case is closed. Not for parts that "
        "cannot be replaced: another fault may kill the good one."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault is as it was",
        "changed": "it misbehaves in another way",
        "cured": "the fault is gone",
    }
    elsewhere = (0.97, 0.02, 0.01)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(
            ("none", "same", "the same", "no", "still bad", "no difference", "unchanged"),
            "no change",
        ),
        **dict.fromkeys(("changes", "different", "better", "worse", "other"), "changed"),
        **dict.fromkeys(("cure", "fixed", "works", "yes", "good", "gone", "works now"), "cured"),
    }
    usual_setup = "part out"
    usual_minutes = 3.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        has = part.remarks.spare or part.remarks.price is not None
        in_part = any(fault.where == "part" for fault in faults)
        return has and in_part and not part.remarks.irreplaceable

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        if fault.where == "part":
            cured = CURED
        elif fault.where == "contact":
            cured = fault.reseat if part.remarks.socketed else RESOLDERED
        elif fault.where in ("joint", "bridge"):
            cured = DISTURBED if part.remarks.socketed else RESOLDERED
        else:
            return self.elsewhere
        rest = 1.0 - cured
        return 0.7 * rest, 0.3 * rest, cured

    def minutes(self, check: Check, world: World) -> float:
        part = the_part(check, world)
        back = 0.0 if part.remarks.socketed else 0.5 * len(part.pins)
        return self.usual_minutes + removal_minutes(part) + back

    def risk(self, check: Check, world: World) -> float:
        return removal_harm(the_part(check, world)) + SPARE_LOST * 30.0

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Measure the supply at the part's pins first: a fault elsewhere can kill the spare.",
            "A part that holds a program is not the same part for having the same type number.",
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Put a known good part in place of {the_part(check, world).designator} and try the "
            "board: no change, changed or cured?"
        )


KIND = Swap()
