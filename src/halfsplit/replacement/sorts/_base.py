"""What every sort of part answers, and what most of them share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.board.model import Part
from halfsplit.frozen import dataclass
from halfsplit.registry import Registry
from halfsplit.replacement.candidate import Candidate
from halfsplit.replacement.operating import Points
from halfsplit.replacement.stress import Quantity, Site, Stress, worst_of
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["MARGIN", "SORTS", "Asked", "Sort", "limited", "most", "over", "typed"]

MARGIN = 1.25
"""A type is called near its limit when the worst good board asks for more than 1/1.25 of it (a
choice of ours)."""

Tryout = Callable[[Part], tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A site, what the part stands there, and how another part is tried in its place: outputs
    that would then be wrong, in words."""

    site: Site
    stress: tuple[Stress, ...]
    tryout: Tryout

    def worst(self, name: str) -> float:
        """The most that a good board asks of one quantity; 0 where it is not known."""
        found = worst_of(self.stress, name)
        return found.worst if found is not None and found.worst == found.worst else 0.0


class Sort:
    """Subclass and override; ``kinds`` names the kinds of part that it is about."""

    name = ""
    kinds: frozenset[str] = frozenset()

    def covers(self, kind: str) -> bool:
        """Whether parts of that kind are of this sort."""
        return kind in self.kinds

    def quantities(self, site: Site) -> Sequence[Quantity]:
        """What is worth knowing about its stress."""
        return (Quantity(name="dissipation", unit="W", of=site.watts, steady=True),)

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        """Types that serve, that serve with a change, and near ones that do not."""
        return ()

    def remarks(self, asked: Asked) -> Iterable[str]:
        """What else to know before it is changed."""
        return ()


SORTS: Registry[Sort] = Registry("halfsplit.replacement.sorts", what="sort of part")


def limited(site: Site, rating: str) -> tuple[float | None, str]:
    """A limit of the part by the name its kind gives it, and its source."""
    found = site.rating(rating)
    return (None, "") if found is None else found


def most(rows: Iterable[Array], points: Points) -> Array:
    """The largest of some rows at each point; not-a-number where none is known."""
    found: Array = np.fmax.reduce([np.full(len(points.label), np.nan), *rows])
    return found


def over(what: str, asked: float, limit: float, unit: str) -> tuple[str, str]:
    """(against, note): what a limit says about what is asked."""
    said = f"{format_quantity(limit, unit)} {what}, the board asks {format_quantity(asked, unit)}"
    if asked > limit:
        return f"only {said}", ""
    return "", f"near its limit: {said}" if asked * MARGIN > limit else ""


def typed(part: Part, type_number: str, **fields: str) -> Part:
    """The part as another type of its kind, with that type's own value."""
    return replace(part, type=type_number, value=None, fields=fields)
