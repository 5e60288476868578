"""The compiled board as checks see it: faults, places, and predicted readings on demand.

This module is the contract; the arithmetic is in the modules it imports.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Board
from halfsplit.build.fault import Fault, Place, Suspect
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["USUAL", "Flags", "MeterSource", "Numbers", "Storage", "World"]

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """Predicted readings: for **F** faults (row 0 healthy) and **C** columns.

    ``mean`` and ``spread`` [F, C] in the quantity's SI unit, spread is one standard deviation of
    tolerance and model error together, meter error not included. ``other`` [F, C] is a second
    stable value where there is one (a latch that may stand either way), ``other_spread`` [F, C]
    that about it; else both are not-a-number.
    ``floating`` [F, C]: nothing holds the place; a meter reads its own leak there. ``unresolved``
    [F, C]: could not be computed; mean is not-a-number there.
    """

    mean: Array
    spread: Array
    other: Array
    other_spread: Array
    floating: Flags
    unresolved: Flags

    def widened(self, error: Callable[[Array], Array | float]) -> Numbers:
        """The same with a further ``error`` in the spreads: readings [F, C] -> one standard
        deviation of it."""
        return replace(
            self,
            spread=np.hypot(self.spread, error(self.mean)),
            other_spread=np.hypot(self.other_spread, error(self.other)),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterSource:
    """What a meter puts on a board without power: open-circuit ``ohms_volts`` of its ohms ranges,
    ``diode_volts`` behind ``diode_ohms`` in the diode test, which shows OL above ``diode_limit``
    volt. ``known``: measured on the owner's meter, not guessed."""

    ohms_volts: float = 0.4
    diode_volts: float = 3.0
    diode_ohms: float = 2e3
    diode_limit: float = 2.0
    known: bool = False


USUAL = MeterSource()
"""Hand-held meters: 0.3 to 1 V on ohms; 2.5 to 3.2 V and about 1 mA on diodes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Storage:
    """What meters of capacitance and series resistance show, by pair of places: ``farads`` and
    ``ohms``, the spread of both that of the natural log."""

    farads: Numbers
    ohms: Numbers


class World(Protocol):
    """A board with all its faults and what would be read, as checks and diagnosis use it."""

    @property
    def board(self) -> Board: ...

    @property
    def faults(self) -> tuple[Fault, ...]:
        """F faults; ``faults[0].id`` is ``healthy``. "Something else" is not among them."""
        ...

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """Suspects of the faults, then ``something-else`` last. Healthy has no suspect."""
        ...

    @property
    def suspect_of(self) -> npt.NDArray[np.int64]:
        """[F] index into ``suspects``; -1 for healthy."""
        ...

    @property
    def prior(self) -> Array:
        """[F + 1] prior probabilities: healthy 0, faults by rate, last "something else"."""
        ...

    @property
    def places(self) -> Mapping[str, Place]:
        """Name -> place: every leg and pad of every connected pin, test points, nets."""
        ...

    @property
    def supply_pin_nets(self) -> frozenset[str]:
        """Nets that are rails or ground."""
        ...

    def place(self, name: str) -> Place:
        """The place of that name (letters' case folded). Raises PlaceError with the nearest."""
        ...

    def volts(self, state: str, places: Sequence[str]) -> Numbers:
        """Voltage to ground at each place in a state, without the meter's own error but with its
        load. Raises UnknownName for a state that is not there."""
        ...

    def current(self, state: str, designators: Sequence[str]) -> Numbers:
        """Current through parts in a state, ampere."""
        ...

    def ohms(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        """Power off, supplies unplugged: resistance between two places, ohm (log-spread: spread
        is of the natural log). Open is inf."""
        ...

    def diode(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        """Power off: what the diode range shows from the red to the black place, volt; above the
        meter's limit it is inf (OL)."""
        ...

    def storage(self, pairs: Sequence[tuple[str, str]], hertz: float) -> Storage:
        """Power off: capacitance (parallel) and series resistance at a frequency. Farads are
        unresolved where a meter could not tell a capacitor."""
        ...

    def thresholds(self, net: str) -> tuple[float, float]:
        """(VIL, VIH) in volt by the inputs on the net: below the first surely low, above the
        second surely high; (0.8, 2.0) when no input is on it."""
        ...
