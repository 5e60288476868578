"""A part's replacement: its stress, what may take its place, what stops it, and the cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.replacement.candidate import Candidate
from halfsplit.replacement.operating import Operation
from halfsplit.replacement.sorts._base import SORTS, Asked, Sort
from halfsplit.replacement.sorts.memory import holds_program
from halfsplit.replacement.stress import Site, Stress, measure
from halfsplit.replacement.tryout import Shown, with_part, wrong_outputs
from halfsplit.units import format_quantity

__all__ = ["Replacement", "Replacer"]

_OTHER = "other"
_TENTH = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Replacement:
    """``stops`` are reasons not to buy by type number at all; ``causes`` faults elsewhere that may
    have killed the part and would kill the next; ``like`` parts with the same answer."""

    part: Part
    sort: str
    stress: tuple[Stress, ...]
    candidates: tuple[Candidate, ...]
    stops: tuple[str, ...]
    causes: tuple[str, ...]
    remarks: tuple[str, ...]
    like: tuple[str, ...] = ()

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "designator": self.part.designator,
            "kind": self.part.kind,
            "type": self.part.type,
            "sort": self.sort,
            "stress": [one.to_json() for one in self.stress],
            "candidates": [one.to_json() for one in self.candidates],
            "stops": list(self.stops),
            "causes": list(self.causes),
            "remarks": list(self.remarks),
            "like": list(self.like),
        }


class Replacer:
    """Answers for one board; the board's outputs as they are now are found once."""

    def __init__(self, operation: Operation) -> None:
        self.operation = operation
        self._before: Shown | None = None

    def of(self, designator: str) -> Replacement:
        """The answer for one part. Raises :class:`UnknownName`."""
        board = self.operation.world.board
        part = board.part(designator)
        if part is None:
            raise UnknownName("part", designator, [one.designator for one in board.parts])
        site = Site.of(self.operation, part)
        sort = sort_of(part)
        stress = measure(site, sort.quantities(site))
        asked = Asked(site=site, stress=stress, tryout=self._tryout)
        return Replacement(
            part=part,
            sort=sort.name,
            stress=stress,
            candidates=tuple(sort.candidates(asked)),
            stops=tuple(_stops(site)),
            causes=tuple(_causes(stress)),
            remarks=(*_mounting(part), *_too_much(stress), *sort.remarks(asked)),
        )

    def every(self) -> Iterator[Replacement]:
        """All parts in the order of the board; those of one type with the same stress, to a
        tenth, are answered once."""
        answers: list[Replacement] = []
        for part in self.operation.world.board.parts:
            site = Site.of(self.operation, part)
            stress = measure(site, sort_of(part).quantities(site))
            for at, known in enumerate(answers):
                if _same(known.part, part) and _alike(known.stress, stress):
                    answers[at] = replace(known, like=(*known.like, part.designator))
                    break
            else:
                answers.append(self.of(part.designator))
        yield from answers

    def _tryout(self, part: Part) -> tuple[str, ...]:
        board = self.operation.world.board
        if self._before is None:
            self._before = with_part(board, None)
        return wrong_outputs(board, part, self._before)


def sort_of(part: Part) -> Sort:
    """The sort that a part is of."""
    return next((sort for sort in SORTS if sort.covers(part.kind)), SORTS.get(_OTHER))


def _same(one: Part, other: Part) -> bool:
    """Whether two parts are bought alike."""
    return all(
        getattr(one, name) == getattr(other, name)
        for name in ("kind", "type", "value", "tolerance", "fields", "remarks")
    )


def _alike(one: Sequence[Stress], other: Sequence[Stress]) -> bool:
    """Whether two parts stand the same, to a tenth."""
    return [each.name for each in one] == [each.name for each in other] and all(
        abs(a.worst - b.worst) <= _TENTH * max(abs(a.worst), abs(b.worst))
        or (a.worst != a.worst and b.worst != b.worst)
        for a, b in zip(one, other, strict=True)
    )


def _causes(stress: Sequence[Stress]) -> Iterator[str]:
    for one in stress:
        for cause in one.causes:
            value = format_quantity(cause.value, one.unit, 2)
            yield f"{cause.words} ({cause.at}): {one.name} {value}"


def _too_much(stress: Sequence[Stress]) -> Iterator[str]:
    for one in stress:
        if one.too_much:
            yield f"Even a good board may ask too much of it: {one.words}."


def _stops(site: Site) -> Iterator[str]:
    part = site.part
    if holds_program(site):
        yield (
            "It holds a program: another of the same number comes without it. Copy the contents "
            "first; where they cannot be read, nothing but a part with that very program will do."
        )
    if part.remarks.irreplaceable:
        yield (
            "It cannot be had again: prove it bad before it leaves its place, and its supply, its "
            "socket and its loads good before any other goes in."
        )


def _mounting(part: Part) -> Iterator[str]:
    chip = len(part.pins) + 2 >= 8 and part.designator[:1] == "U"
    if part.remarks.socketed:
        yield "It is in a socket: note which way round, lift it evenly, look at the contacts."
    elif chip:
        yield "Soldered in: cut the old one's legs off when it is dead anyway, and fit a socket."
