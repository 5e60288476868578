"""How far the laws are from real parts, beside tolerance: one standard deviation of a reading.

Sizes come from ``tests/parts/stages.py``: the laws against stages written transistor by
transistor. Tolerance is apart from them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from halfsplit.board.model import Board
from halfsplit.build.fault import Fault
from halfsplit.frozen import dataclass
from halfsplit.parts.kind import PartKind
from halfsplit.parts.logic import LogicChip
from halfsplit.solve.law import Array

__all__ = ["MISFITS", "Misfit", "Misfits"]

VOLTS, SHARE = 0.05, 0.04
"""Of any powered reading: volts, and share of it."""
_PUSHES = frozenset({"out", "tri", "io"})
_DRIVES = _PUSHES | {"oc"}
_FOLLOWERS = frozenset({"follower", "darlington"})
_LOW, _HIGH = 0.16, 0.5
"""Shares of the supply up to which an output is low, and from which it is high; between them it
is overloaded, or another output fights it."""
_LEVELS = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """Volts by which an output's law may be out while low, between levels and high, and why."""

    low: float
    between: float
    high: float
    reason: str


_KNEE = "the smaller of two limits of the Darlington stage is one tanh here"
_NO_STAGE = "fitted to data sheets only: no stage of transistors to compare"
MISFITS: Mapping[str, Misfit] = {
    "74": Misfit(low=0.08, between=0.2, high=0.05,
                 reason="the splitter's current is not a fixed limit of the lower transistor"),
    "74LS": Misfit(low=0.1, between=0.2, high=0.12, reason=_KNEE),
    "74S": Misfit(low=0.08, between=0.2, high=0.12, reason=_KNEE),
    "74ALS": Misfit(low=0.1, between=0.3, high=0.2, reason=_NO_STAGE),
    "74F": Misfit(low=0.08, between=0.3, high=0.2, reason=_NO_STAGE),
    "74HC": Misfit(low=0.05, between=0.25, high=0.05,
                   reason="a square law saturates more softly than tanh"),
    "74HCT": Misfit(low=0.05, between=0.25, high=0.05,
                    reason="a square law saturates more softly than tanh"),
    "cmos": Misfit(low=0.06, between=0.3, high=0.26,
                   reason="a square law saturates more softly than tanh; makers differ by twice"),
}  # fmt: skip
"""By family of an output on the net."""
_STARVED_AMPS, _STARVED_VOLTS = 1e-3, 0.7
"""What a chip that has lost its supply or its ground may draw or feed otherwise than told, and most
of what that does, a junction's drop: dies of one type differ in it (judgement, no source)."""
_BEND = 0.03
"""Volts in which a follower's current falls to 1/e: of the law of logic outputs."""


class Misfits:
    """Error of the laws at the places of one board, under each of its ``faults``."""

    def __init__(
        self, board: Board, kinds: Mapping[str, PartKind], faults: Sequence[Fault] = ()
    ) -> None:
        self.starved = _starved(board, kinds, faults)
        self.families: dict[str, set[str]] = {}
        followed = set()
        for part in board.parts:
            kind = kinds[part.designator]
            if isinstance(kind, LogicChip):
                roles = {pin.number: pin.role for pin in kind.chip.pins}
                for pin, net in part.pins.items():
                    if roles[pin] in _DRIVES and kind.family.name in MISFITS:
                        self.families.setdefault(net, set()).add(kind.family.name)
                    if roles[pin] in _PUSHES and kind.family.high in _FOLLOWERS:
                        followed.add(net)
        self.followed = frozenset(followed)

    def under_load(self, net: str, mean: Array, ohms: Array, meter: float) -> Array:
        """[F] source resistance of readings [F] as a ``meter`` of so many ohms finds it. A totem
        pole without a load stands where its follower hardly conducts; drawn on by i it gives way
        by n ln(1 + i R / n) only, n its bend."""
        if net not in self.followed:
            return ohms
        amps = np.abs(mean) / meter
        given = _BEND * np.log1p(amps * ohms / _BEND) / np.maximum(amps, 1e-12)
        found: Array = np.where(mean > _HIGH * _LEVELS, np.minimum(ohms, given), ohms)
        return found

    def of(self, net: str, mean: Array, ohms: Array) -> Array:
        """[F] one standard deviation of a reading [F] on a net, volt, with ``ohms`` [F] behind
        it."""
        found: Array = VOLTS + SHARE * np.abs(mean)
        for family in self.families.get(net, ()):
            misfit = MISFITS[family]
            above = np.where(mean < _HIGH * _LEVELS, misfit.between, misfit.high)
            here = np.where(mean < _LOW * _LEVELS, misfit.low, above)
            found = np.maximum(found, here)
        rows = self.starved.get(net, [])
        found[rows] += np.minimum(_STARVED_AMPS * np.abs(ohms[rows]), _STARVED_VOLTS)
        return found


def _starved(
    board: Board, kinds: Mapping[str, PartKind], faults: Sequence[Fault]
) -> dict[str, list[int]]:
    """Nets of each chip -> rows of the faults that part it from its supply or its ground."""
    chips = {
        part.designator: part
        for part in board.parts
        if isinstance(kinds[part.designator], LogicChip)
    }
    found: dict[str, list[int]] = {}
    for row, fault in enumerate(faults):
        for pin in fault.parted:
            chip = chips.get(pin.designator)
            if chip is not None and pin.pin in chip.implied:
                for net in dict.fromkeys(chip.pins.values()):
                    found.setdefault(net, []).append(row)
    return found
