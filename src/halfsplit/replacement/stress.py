"""What a part stands on its board: each quantity healthy, at its worst, and by whose fault."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np

from halfsplit.board.model import Part
from halfsplit.build.fault import PinRef
from halfsplit.build.world import Flags
from halfsplit.frozen import dataclass
from halfsplit.parts.kind import PartKind
from halfsplit.replacement.operating import Operation, Points
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["Cause", "Quantity", "Site", "Stress", "measure", "worst_of"]

MOST_CAUSES = 3
MARKED = 1.2
"""A fault elsewhere is told of when it asks so many times what the worst good board asks."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Site:
    """A part where it stands; ``volts`` and the like are [B] over the points asked for."""

    operation: Operation
    part: Part
    kind: PartKind

    @classmethod
    def of(cls, operation: Operation, part: Part) -> Site:
        """The site of a part of the operation's board."""
        kinds = operation.world.assembly.kinds
        return cls(operation=operation, part=part, kind=kinds[part.designator])

    def volts(self, pin: str, points: Points) -> Array:
        """Volt to ground at a leg; zero at a pin that is not connected."""
        return self._row(pin, points.volts)

    def amps(self, pin: str, points: Points) -> Array:
        """Ampere into a leg."""
        return self._row(pin, points.amps)

    def across(self, first: str, second: str, points: Points) -> Array:
        """Volt from the first leg to the second."""
        found: Array = self.volts(first, points) - self.volts(second, points)
        return found

    def watts(self, points: Points) -> Array:
        """What the part turns into heat."""
        found = np.zeros(len(points.label))
        for pin in self.part.pins:
            found += self.volts(pin, points) * self.amps(pin, points)
        return found

    def rating(self, name: str) -> tuple[float, str] | None:
        """A limit of the kind by its name, and its source."""
        for rating in self.kind.ratings(self.part):
            if rating.name == name:
                return rating.value, rating.source
        return None

    def _row(self, pin: str, table: Array) -> Array:
        row = self.operation.leg.get(PinRef(designator=self.part.designator, pin=pin))
        found: Array = np.zeros(table.shape[1]) if row is None else table[row]
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """Something that has a limit: the more of it the worse. ``steady``: the moment when a coil
    lets go does not count (heat needs time). ``kills``: too much of it destroys."""

    name: str
    unit: str
    of: Callable[[Points], Array]
    limit: float | None = None
    source: str = ""
    steady: bool = False
    kills: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A fault elsewhere that asks more of a part than it stands: ``value`` there, ``at`` when."""

    fault: str
    words: str
    value: float
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stress:
    """``good`` the most on a board with nominal parts, ``worst`` with tolerances and supplies at
    their limits, each with where; not-a-number where unresolved. ``limit`` is the part's own,
    ``None`` when nobody knows it. ``causes`` are faults elsewhere that may have killed the part,
    likeliest first."""

    name: str
    unit: str
    good: float
    good_at: str
    worst: float
    worst_at: str
    causes: tuple[Cause, ...]
    limit: float | None
    source: str

    @property
    def share(self) -> float | None:
        """Of the limit that the worst good board uses."""
        return self.worst / self.limit if self.limit else None

    @property
    def too_much(self) -> bool:
        """Whether a good board already asks more than the limit."""
        return self.limit is not None and self.worst > self.limit

    @property
    def words(self) -> str:
        """One line for a person."""
        worst = format_quantity(self.worst, self.unit, 3) if self.worst == self.worst else "?"
        said = f"{self.name} {worst} at most ({self.worst_at})"
        if self.limit is None:
            return f"{said}; its limit is not known"
        return f"{said}, of {format_quantity(self.limit, self.unit, 3)}"

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON; ``None`` where unresolved."""
        return {
            "name": self.name,
            "unit": self.unit,
            "good": _number(self.good),
            "good_at": self.good_at,
            "worst": _number(self.worst),
            "worst_at": self.worst_at,
            "causes": [
                {"fault": one.fault, "words": one.words, "value": _number(one.value), "at": one.at}
                for one in self.causes
            ],
            "limit": self.limit,
            "share": None if self.share is None else _number(self.share),
            "source": self.source,
        }


def measure(site: Site, quantities: Iterable[Quantity]) -> tuple[Stress, ...]:
    """Each quantity over all points of the board's life."""
    operation = site.operation
    others = _elsewhere(site)
    found = []
    for quantity in quantities:
        good, good_at = _most(quantity, operation.good)
        worst, worst_at = _most(quantity, operation.corner)
        if not worst >= good:
            worst, worst_at = good, good_at
        causes = tuple(_causes(operation, quantity, worst, others))
        found.append(
            Stress(
                name=quantity.name, unit=quantity.unit, good=good, good_at=good_at, worst=worst,
                worst_at=worst_at, causes=causes, limit=quantity.limit, source=quantity.source,
            )
        )  # fmt: skip
    return tuple(found)


def _elsewhere(site: Site) -> Flags:
    """[B] faulty points whose fault is not the part's own."""
    own = site.part.designator
    mine = [
        fault.designator == own or any(pin.designator == own for pin in fault.pins)
        for fault in site.operation.world.faults
    ]
    found: Flags = ~np.array(mine)[site.operation.fault.fault]
    return found


def _most(quantity: Quantity, points: Points) -> tuple[float, str]:
    value = _counted(quantity, points)
    if not np.isfinite(value).any():
        return float("nan"), ""
    at = int(np.nanargmax(value))
    return float(value[at]), points.label[at]


def _causes(
    operation: Operation, quantity: Quantity, worst: float, others: Flags
) -> Iterator[Cause]:
    """The likeliest faults elsewhere that ask more than the limit, and clearly more than a good
    board ever does."""
    if quantity.limit is None or not quantity.kills:
        return
    value = _counted(quantity, operation.fault)
    least = max(quantity.limit, MARKED * max(worst, 0.0))
    faults = operation.world.faults
    told: dict[str, Cause] = {}
    hits = np.flatnonzero(others & (np.nan_to_num(value, nan=-np.inf) > least))
    rows = operation.fault.fault
    for at in sorted(map(int, hits), key=lambda at: (-faults[rows[at]].rate, -value[at])):
        fault = faults[rows[at]]
        if fault.plain_id not in told:
            told[fault.plain_id] = Cause(
                fault=fault.plain_id, words=fault.words, value=float(value[at]),
                at=operation.fault.label[at],
            )  # fmt: skip
    yield from list(told.values())[:MOST_CAUSES]


def _counted(quantity: Quantity, points: Points) -> Array:
    """[B] the quantity, not-a-number where it does not count."""
    value = quantity.of(points)
    found: Array = np.where(points.moment & quantity.steady, np.nan, value)
    return found


def _number(value: float) -> float | None:
    return value if value == value and abs(value) != float("inf") else None


def worst_of(found: Sequence[Stress], name: str) -> Stress | None:
    """The stress of that name."""
    return next((one for one in found if one.name == name), None)
