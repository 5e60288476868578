"""A load or harness unplugged: does the fault change?"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, faults_by_part, the_part
from halfsplit.checks.kind import Check, Meter
from halfsplit.solve.law import Array

__all__ = ["KIND", "Unplugged"]

CHANCE = 0.03
"""Something changes all the same."""
BEYOND, SUPPLY, DRIVER = 0.75, 0.5, 0.3
"""A fault beyond the plug, a supply that gives way under load, and a driver of the plug's own
lines that is shorted or leaks: chance that unplugging changes it. All judgement, no source."""
WEAK = ("low", "resistive", "high resistance", "weak", "dried", "low value", "drifted")
HELD = ("short", "leak", "stuck")


class Unplugged(AtPart):
    """Offered for connectors with something on their far side."""

    name = "unplugged"
    title = "does it change with the load unplugged?"
    help = (
        "What misbehaves only with the load plugged in is short of supply, or the trouble lies "
        "beyond the plug. No change clears the load and its cable to the same degree."
    )
    words = {  # noqa: RUF012 - declared in Kind
        "no change": "the fault is as it was",
        "changes": "it goes, or becomes another, once the load is unplugged",
    }
    elsewhere = (1.0 - CHANCE, CHANCE)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(("none", "no", "same", "the same", "unchanged", "still bad"), "no change"),
        **dict.fromkeys(
            ("change", "changed", "yes", "clears", "cured", "gone", "works", "different", "better"),
            "changes",
        ),
    }
    usual_setup = "watching"
    usual_minutes = 4.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return part.kind == "connector" and len(part.pins) > 1

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Power off: unplug {the_part(check, world).designator}; power on and watch: no "
            "change, or does it change?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Never unplug a motor or coil with the power on: it may kill its driver.",
        )

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        changes = max(fault.reseat, CHANCE)
        return 1.0 - changes, changes

    def _rows(self, check: Check, world: World, meter: Meter, at: object = None) -> Array:
        part = the_part(check, world)
        p = super()._rows(check, world, meter, faults_by_part(world))
        beyond, lines = _beyond(part, world), set(part.pins.values())
        rails = world.supply_pin_nets
        on = {one.designator: set(one.pins.values()) for one in world.board.parts}
        for f, fault in enumerate(world.faults):
            names = {pin.designator for pin in fault.pins} | {fault.designator}
            touched = set[str]().union(*(on.get(name, set()) for name in names))
            changes = 0.0
            if fault.where == "off-board" or names & beyond:
                changes = BEYOND
            elif any(word in fault.mode for word in WEAK) and (
                fault.where == "rail" or touched & (rails | lines) - {world.board.ground}
            ):
                changes = SUPPLY
            elif any(word in fault.mode for word in HELD) and touched & (lines - rails):
                changes = DRIVER
            if changes:
                p[f] = (1.0 - changes, changes)
        return p


def _beyond(part: Part, world: World) -> set[str]:
    """Designators of parts on the cable's side of a connector."""
    far = f"{part.designator}/"
    return {
        one.designator
        for one in world.board.parts
        if any(net.startswith(far) for net in one.pins.values())
    } - {part.designator}


KIND = Unplugged()
