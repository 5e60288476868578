"""A part warmed or cooled while the fault shows."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Warm"]

CHANCE = 0.02
SHIFTS = (
    ("leak", 0.5), ("weak", 0.45), ("gain", 0.45), ("low value", 0.3), ("dried", 0.4),
    ("drift", 0.3), ("resistive", 0.4), ("contact", 0.3), ("open", 0.15), ("stuck", 0.15),
    ("short", 0.08),
)  # fmt: skip
"""Word in the fault's mode -> chance that 20 or 30 degrees change it (judgement, no source)."""
OTHERWISE = 0.1
WORTH = 0.25
"""Warming is offered where a fault answers to it at least this often."""


class Warm(AtPart):
    """Offered for parts with a fault that goes with temperature."""

    name = "warm"
    title = "warm or cool while watching"
    help = (
        "Faults that come when the board is warm, or go, lie in leaky junctions, dried-out "
        "capacitors, weak outputs and bad joints. Local warmth (a hair dryer, low) or cold finds "
        "the part; neighbours warm up too, so come back to it a second time."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault stays as it is, warm and cold",
        "changes": "it comes, goes or alters with this part's temperature",
    }
    elsewhere = (1.0 - CHANCE, CHANCE)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("none", "no", "same", "the same", "nothing", "steady"), "no change"),
        **dict.fromkeys(
            ("change", "changed", "yes", "comes and goes", "comes", "goes", "only when warm",
             "only when cold", "worse warm", "worse cold"),
            "changes",
        ),
    }  # fmt: skip
    usual_setup = "watching"
    usual_minutes = 4.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return any(_shift(fault) >= WORTH for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        changes = _shift(fault)
        changes += (1.0 - changes) * CHANCE
        return 1.0 - changes, changes

    def risk(self, check: Check, world: World) -> float:
        return 0.5

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Gently: warm to the touch, not more. Freezing spray can crack packages and brings "
            "water; some of it burns.",
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"While the fault shows (or is away), warm {the_part(check, world).designator} gently, "
            "then let it cool: no change, or does it change?"
        )


def _shift(fault: Fault) -> float:
    by_mode = next((share for word, share in SHIFTS if word in fault.mode), OTHERWISE)
    return max(by_mode, 0.5 * fault.touch)


KIND = Warm()
