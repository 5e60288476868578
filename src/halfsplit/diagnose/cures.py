"""What a repair puts right."""

from __future__ import annotations

import numpy as np

from halfsplit.belief.after import Mask
from halfsplit.build.world import World
from halfsplit.errors import UnknownName

__all__ = ["AND", "DRAWING", "cured_by", "fresh_work", "known_suspect"]

AND = " + "
"""Between the suspects of two faults at once."""
DRAWING = "drawing "
"""Before the net that may not be as the board file has it: a suspect of every world."""


def known_suspect(world: World, suspect: str) -> None:
    """Raise :class:`UnknownName` for what is no suspect of the world, nor two of them joined, nor
    a net's drawing."""
    known = {one.id for one in world.suspects}
    known |= {f"{DRAWING}{place.net}" for place in world.places.values()}
    for name in suspect.split(AND):
        if name not in known:
            raise UnknownName("suspect", name, sorted(known))


def cured_by(world: World, suspect: str) -> Mask:
    """[F] whether the repair of a suspect, or of two joined, puts each fault right. Changing a
    soldered part makes its joints new and clears bridges between its pins; changing a part in a
    socket reseats its contacts. A suspect that the world does not know cures nothing."""
    if AND in suspect:
        both = [cured_by(world, name) for name in suspect.split(AND)]
        own = np.array([fault.suspect == suspect for fault in world.faults], dtype=np.bool_)
        return np.asarray(np.logical_or.reduce([own, *both]), dtype=np.bool_)
    known = {one.id: one for one in world.suspects}
    if suspect not in known:
        return np.zeros(len(world.faults), dtype=np.bool_)
    own = np.array([fault.suspect == suspect for fault in world.faults], dtype=np.bool_)
    designator = known[suspect].designator
    changed = any(
        mine and fault.where == "part" for mine, fault in zip(own, world.faults, strict=True)
    )
    if not designator or not changed:
        return own
    part = world.board.part(designator)
    socketed = part is not None and part.remarks.socketed
    renewed = ("contact",) if socketed else ("joint", "bridge")
    return np.array(
        [
            bool(mine)
            or (
                fault.where in renewed
                and bool(fault.pins)
                and all(pin.designator == designator for pin in fault.pins)
            )
            for mine, fault in zip(own, world.faults, strict=True)
        ],
        dtype=np.bool_,
    )


def fresh_work(world: World, suspect: str) -> Mask:
    """[F] faults that the work of a repair may have made: joints, tracks and bridges at the pins
    that the iron was on."""
    designators = {one.designator for one in world.suspects if one.id in suspect.split(AND)} - {""}
    return np.array(
        [
            fault.where in ("joint", "track", "bridge", "contact")
            and any(pin.designator in designators for pin in fault.pins)
            for fault in world.faults
        ],
        dtype=np.bool_,
    )
