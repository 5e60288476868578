"""The clicks of a stepping motor felt by hand, unplugged."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_motor import AtMotor, binds
from halfsplit.checks._at_part import the_part
from halfsplit.checks.kind import Check

__all__ = ["KIND", "Detent"]

SOUND = (0.80, 0.05, 0.05, 0.10)
"""A sound motor; the last: one of bare iron has no clicks at all."""
SHORTED = (0.48, 0.07, 0.35, 0.10)
"""Shorted turns brake it. With a coil shorted the drag is usually noticeably higher, on one old
motor it was not (a mailing list of practitioners): half of them at best."""
BINDING = (0.20, 0.40, 0.35, 0.05)
"""Judgement, no source, for all numbers here."""


class Detent(AtMotor):
    """Offered once for each motor with windings."""

    name = "detent"
    title = "feel the clicks, motor unplugged"
    help = (
        "Unplug the motor and turn it slowly through one turn. Magnets click at each full step, "
        "all alike; count them, the motion's file wants that number. Shorted turns brake it even "
        "unplugged, but many are not felt; a motor of bare iron has no clicks."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "even": "clicks all alike, all the way",
        "uneven": "some clicks harder, rough, or missing",
        "braked": "it drags as if in oil, more the faster it goes",
        "none": "it turns smoothly without clicks",
    }
    elsewhere = SOUND
    elsewhere_else = 0.2
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("ok", "good", "alike", "clicks", "regular", "fine"), "even"),
        **dict.fromkeys(("rough", "irregular", "gritty", "missing", "some missing"), "uneven"),
        **dict.fromkeys(("drags", "heavy", "brakes", "stiff", "oily", "damped"), "braked"),
        **dict.fromkeys(("smooth", "no clicks", "no", "free"), "none"),
    }
    usual_minutes = 1.5

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        if binds(fault):
            return BINDING
        shorted = fault.where == "part" and ("turns" in fault.mode or "short" in fault.mode)
        return SHORTED if shorted else SOUND

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power off, motor of {the_part(check, world).designator} unplugged: turn its shaft "
            "slowly once round: even clicks, uneven, braked, or none?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Mark where shaft and coupling stand, and note the plug's way round. Never take the "
            "rotor out: its magnets lose strength for good.",
        )


KIND = Detent()
