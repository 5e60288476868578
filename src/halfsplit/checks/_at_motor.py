"""Actions at a motor: offered once for its windings together, and about the faults of all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.mechanics import MECHANICAL, motors
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart
from halfsplit.checks.kind import Check, Meter
from halfsplit.solve.law import Array

__all__ = ["AtMotor", "binds"]


class AtMotor(AtPart):
    """Named by the first winding; :meth:`chances` is asked for a fault at any of them."""

    usual_setup = "off"

    def offers(self, world: World) -> Sequence[Check]:
        return [
            Check(kind=self.name, places=(parts[0].designator,)) for parts in motors(world.board)
        ]

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return part.kind == "winding"

    def _rows(
        self, check: Check, world: World, meter: Meter, at: Mapping[str, Sequence[int]]
    ) -> Array:
        """[F, O]; the faults of the other windings count as those of the one named."""
        named = check.places[0].casefold()
        for parts in motors(world.board):
            names = [part.designator for part in parts]
            if named in {name.casefold() for name in names}:
                together = sorted({row for name in names for row in at.get(name, ())})
                at = {**at, **dict.fromkeys(names, together)}
        return super()._rows(check, world, meter, at)


def binds(fault: Fault) -> bool:
    """Whether it is the mechanism that binds."""
    return fault.where == "off-board" and fault.mode == MECHANICAL
