"""The usual warnings, by what the bench is set up for, and the harm a check may do."""

from __future__ import annotations

from halfsplit.board.model import Part
from halfsplit.build.world import World
from halfsplit.checks._places import is_chip, part_named
from halfsplit.checks.kind import Check, Setup

__all__ = ["harm", "removal_harm", "removal_minutes", "setup_cautions", "slip"]

TOUCH_VOLTS = 50.0
"""Volt; above it a rail is dangerous to touch: the usual limit for dry conditions is 120 V DC,
less elsewhere (IEC 60364-4-41, from memory); we warn earlier. Local codes come first."""

_BIG_FARADS = 100e-6


def setup_cautions(setup: Setup, world: World) -> tuple[str, ...]:
    """Warnings for a setup on this board."""
    high = any(abs(rail.volts) > TOUCH_VOLTS for rail in world.board.rails)
    if setup in ("powered", "watching", "touching"):
        found = [
            "Keep clear of the mains side of the supply; it is work for the licensed where your "
            "local code says so."
        ]
        if high:
            found.append("A rail of this board can give a shock: one hand, insulated probe.")
        if setup == "powered":
            found.append("Do not let the probe slip across two pins.")
        if setup == "touching":
            found.append("Hot and moving parts: press with a dry insulated stick, fingers away.")
        return tuple(found)
    found = ["Power off, supply unplugged."]
    big = [
        part.designator
        for part in world.board.parts
        if part.designator[:1] == "C" and (part.value or 0.0) >= _BIG_FARADS
    ]
    if big or high:
        names = f" ({', '.join(big[:4])})" if big else ""
        found.append(
            f"Let the large capacitors{names} discharge through a resistor and measure that they "
            "have, before you touch the board."
        )
    if setup == "part out":
        found += [
            "Static: touch a grounded thing first.",
            "Solder and iron are hot; let the fumes go, wear glasses.",
        ]
    return tuple(found)


def harm(part: Part | None) -> float:
    """What losing a part costs, in minutes (judgement, no source): ten hours when it cannot be
    replaced, half an hour otherwise."""
    if part is None:
        return 30.0
    return 600.0 if part.remarks.irreplaceable else 30.0


def slip(check: Check, world: World) -> float:
    """Expected harm of a probe that slips between the close pins of a chip with power on:
    one in five hundred (judgement, no source)."""
    worst = 0.0
    for name in check.places:
        pin = world.place(name).pin
        part = part_named(world, pin.designator) if pin else None
        if part is not None and is_chip(part):
            worst = max(worst, 0.002 * harm(part))
    return worst


def removal_minutes(part: Part) -> float:
    """Taking a part out: a minute for each soldered pin, one minute from a socket (common
    practice, no source)."""
    return 1.0 if part.remarks.socketed else 1.0 * len(part.pins)


def removal_harm(part: Part) -> float:
    """Expected minutes lost by taking a part out (judgement, no source): pads lifted, one in two
    hundred pins, half an hour each; the part itself, one in fifty soldered, one in two hundred
    pulled from a socket."""
    if part.remarks.socketed:
        return 0.005 * harm(part)
    return 0.005 * 30.0 * len(part.pins) + 0.02 * harm(part)
