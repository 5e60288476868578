"""A world in which everything that may stand either way stands one way.

A latch that woke up one way, a leak that is just enough to hold a reset, a comparator whose offset
decides: what settles it settles all readings together, not each on its own. Belief asks for the
likelihood of a reading on either side and keeps them apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Board
from halfsplit.build.fault import Fault, Place, Suspect
from halfsplit.build.world import USUAL, MeterSource, Numbers, Storage, World
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["OneSide"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OneSide:
    """``world`` with no second values: where it has two, ``second`` says which one stands."""

    world: World
    second: bool

    @property
    def board(self) -> Board:
        return self.world.board

    @property
    def faults(self) -> tuple[Fault, ...]:
        return self.world.faults

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        return self.world.suspects

    @property
    def suspect_of(self) -> npt.NDArray[np.int64]:
        return self.world.suspect_of

    @property
    def prior(self) -> Array:
        return self.world.prior

    @property
    def places(self) -> Mapping[str, Place]:
        return self.world.places

    @property
    def supply_pin_nets(self) -> frozenset[str]:
        return self.world.supply_pin_nets

    def place(self, name: str) -> Place:
        """See :class:`halfsplit.build.world.World`, as for all below."""
        return self.world.place(name)

    def volts(self, state: str, places: Sequence[str]) -> Numbers:
        return self._one(self.world.volts(state, places))

    def current(self, state: str, designators: Sequence[str]) -> Numbers:
        return self._one(self.world.current(state, designators))

    def ohms(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        return self._one(self.world.ohms(pairs, source))

    def diode(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        return self._one(self.world.diode(pairs, source))

    def storage(self, pairs: Sequence[tuple[str, str]], hertz: float) -> Storage:
        return self.world.storage(pairs, hertz)

    def thresholds(self, net: str) -> tuple[float, float]:
        return self.world.thresholds(net)

    def _one(self, numbers: Numbers) -> Numbers:
        other = numbers.other
        stands = np.isfinite(other) & self.second
        none = np.full_like(other, np.nan)
        return replace(
            numbers,
            mean=np.where(stands, other, numbers.mean),
            spread=np.where(stands, numbers.other_spread, numbers.spread),
            other=none,
            other_spread=none,
        )
