"""A world whose faults are chosen faults of another, alone, in pairs, or now and then.

Nothing is predicted anew: every row is made of rows that the inner world's checks give.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, NoReturn

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array
from halfsplit.belief.shapes import mixed, two
from halfsplit.belief.tables import Block, Single, Tables, xlog2x
from halfsplit.board.model import Board
from halfsplit.build.fault import Fault, Place, Suspect
from halfsplit.build.world import USUAL, MeterSource, Numbers, Storage, World
from halfsplit.checks.kind import Check, CheckKind, Limits, Meter, Outcomes, Reading, Setup, Takes
from halfsplit.diagnose.catalogue import Catalogue, Offers
from halfsplit.errors import SolveError

__all__ = [
    "Shape",
    "WideCatalogue",
    "WideKind",
    "WideWorld",
    "expected_row",
    "likelihood_row",
    "nets_of",
]

ALIKE = 0.1
"""Total variation within which a fault leaves the outcomes of a check as on a good board."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """One hypothesis made of rows of the inner world: ``first`` alone; with ``second``; at a
    ``fraction`` of readings; or with ``net`` not as the file draws it."""

    how: Literal["alone", "pair", "now and then", "drawing"]
    first: int
    second: int = 0
    fraction: float = 1.0
    net: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WideWorld:
    """Implements :class:`halfsplit.build.world.World` as far as names go."""

    inner: World
    faults: tuple[Fault, ...]
    suspects: tuple[Suspect, ...]
    suspect_of: npt.NDArray[np.int64]
    prior: Array
    shapes: tuple[Shape, ...]
    """Of the faults after the healthy row."""
    left: tuple[Shape, ...]
    """The same as repairs have left them: of a pair only the half that is not put right."""

    @property
    def board(self) -> Board:
        return self.inner.board

    @property
    def places(self) -> Mapping[str, Place]:
        return self.inner.places

    @property
    def supply_pin_nets(self) -> frozenset[str]:
        return self.inner.supply_pin_nets

    def place(self, name: str) -> Place:
        return self.inner.place(name)

    def thresholds(self, net: str) -> tuple[float, float]:
        return self.inner.thresholds(net)

    def volts(self, state: str, places: Sequence[str]) -> Numbers:
        _not_here()

    def current(self, state: str, designators: Sequence[str]) -> Numbers:
        _not_here()

    def ohms(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        _not_here()

    def diode(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        _not_here()

    def storage(self, pairs: Sequence[tuple[str, str]], hertz: float) -> Storage:
        _not_here()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WideKind:
    """A kind of check of the inner world, with its rows made into those of the wider one."""

    kind: CheckKind
    wide: WideWorld

    @property
    def name(self) -> str:
        return self.kind.name

    @property
    def title(self) -> str:
        return self.kind.title

    @property
    def unit(self) -> str:
        return self.kind.unit

    @property
    def takes(self) -> Takes:
        return self.kind.takes

    @property
    def stateful(self) -> bool:
        return self.kind.stateful

    @property
    def help(self) -> str:
        return self.kind.help

    @property
    def words(self) -> Mapping[str, str]:
        return self.kind.words

    def offers(self, world: World) -> Sequence[Check]:
        return self.kind.offers(self.wide.inner)

    def setup(self, check: Check, world: World) -> Setup:
        return self.kind.setup(check, self.wide.inner)

    def minutes(self, check: Check, world: World) -> float:
        return self.kind.minutes(check, self.wide.inner)

    def risk(self, check: Check, world: World) -> float:
        return self.kind.risk(check, self.wide.inner)

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return self.kind.cautions(check, self.wide.inner)

    def sentence(self, check: Check, world: World) -> str:
        return self.kind.sentence(check, self.wide.inner)

    def read(self, check: Check, text: str, world: World) -> Reading:
        return self.kind.read(check, text, self.wide.inner)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return self.kind.expected(check, self.wide.inner, meter)

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        found = self.kind.outcomes(checks, self.wide.inner, meter)
        shapes = self.wide.left
        made = []
        for check, one in zip(checks, found, strict=True):
            loose = np.array([nets_of(check, self.wide.inner)], dtype=object)
            p = _tables(shapes, one.p[:, None, :], loose)[:, 0]
            made.append(Outcomes(labels=one.labels, p=np.vstack([one.p[:1], p]), edges=one.edges))
        return made

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        row = self.kind.likelihood(check, reading, self.wide.inner, meter)
        return likelihood_row(self.wide.left, row, nets_of(check, self.wide.inner))


@dataclass(slots=True, kw_only=True, eq=False)
class _Kept:
    offers: dict[Limits, Offers] = field(default_factory=dict)


class WideCatalogue(Catalogue):
    """The inner catalogue's checks with the wider world's rows."""

    def __init__(self, wide: WideWorld, inner: Catalogue) -> None:
        kinds = [WideKind(kind=kind, wide=wide) for kind in inner.kinds.values()]
        super().__init__(wide, inner.meter, kinds)
        self._wide, self._inner, self._made = wide, inner, _Kept()

    def prior(self) -> Array:
        """[F + 1] as the wider world states it: the inner one's habits are in it already."""
        return self._wide.prior

    def expected_volts(self, check: Check) -> Array | None:
        """[F'] volts that a check reads under each shape, when it is volts that it reads."""
        inner = self._inner.expected_volts(check)
        return None if inner is None else expected_row(self._wide.left, inner)

    def offers(self, limits: Limits) -> Offers:
        """What may be done within limits, as the inner catalogue has it."""
        made = self._made.offers
        if limits not in made:
            found = self._inner.offers(limits)
            nets = np.array(
                [nets_of(offer.check, self._wide.inner) for offer in found.offers], dtype=object
            )
            made[limits] = Offers(
                offers=found.offers, tables=_packed(self._wide.left, found.tables, nets)
            )
        return made[limits]


def likelihood_row(shapes: Sequence[Shape], row: Array, nets: frozenset[str]) -> Array:
    """[F' + 1] from the inner world's row [F + 1] of one reading of a check on ``nets``."""
    logs = np.log2(np.maximum(row, 1e-300))
    healthy = logs[0]
    found = [row[0]]
    for shape in shapes:
        first = logs[shape.first]
        if shape.how == "pair":
            first = two(first, logs[shape.second], healthy)
        elif shape.how == "now and then":
            first = mixed(first, healthy, shape.fraction)
        elif shape.how == "drawing" and shape.net in nets:
            first = logs[-1]
        found.append(float(np.exp2(first)))
    return np.array([*found, row[-1]])


def expected_row(shapes: Sequence[Shape], volts: Array) -> Array:
    """[F'] volts that a place reads under each shape, from those under each fault [F]: of a pair
    what moves it more; not-a-number for what comes and goes."""
    found = [volts[0]]
    for shape in shapes:
        first = volts[shape.first]
        if shape.how == "pair":
            second = volts[shape.second]
            further = abs(second - volts[0]) > abs(first - volts[0])
            first = second if further else first
        found.append(np.nan if shape.how == "now and then" else first)
    return np.array(found)


def nets_of(check: Check, world: World) -> frozenset[str]:
    """Nets that a check's probes are on, ground left out; none for actions at a part."""
    places = (world.places.get(name) for name in check.places)
    return frozenset(place.net for place in places if place) - {world.board.ground}


def _packed(shapes: Sequence[Shape], tables: Tables, nets: npt.NDArray[np.object_]) -> Tables:
    blocks = []
    for block in tables.blocks:
        made = _tables(shapes, block.p, nets[block.checks])
        p = np.concatenate([block.p[:1], made, block.p[-1:]]).astype(np.float32)
        blocks.append(Block(checks=block.checks, p=p, entropy=-xlog2x(p).sum(axis=2)))
    return Tables(count=tables.count, rows=len(shapes) + 2, blocks=tuple(blocks))


def _tables(
    shapes: Sequence[Shape], p: Array | Single, nets: npt.NDArray[np.object_]
) -> npt.NDArray[np.floating]:
    """[F', n, O] rows of n checks from the inner world's ``p`` [F or F + 1, n, O]."""
    healthy, width = p[0], p.shape[2]
    made = np.empty((len(shapes), *p.shape[1:]), dtype=p.dtype)
    for at, shape in enumerate(shapes):
        first = p[shape.first]
        if shape.how == "pair":
            second = p[shape.second]
            mute_a = 0.5 * np.abs(first - healthy).sum(axis=1, keepdims=True) < ALIKE
            mute_b = 0.5 * np.abs(second - healthy).sum(axis=1, keepdims=True) < ALIKE
            both = 0.5 * (first + second)
            first = np.where(mute_a, second, np.where(mute_b, first, both))
        elif shape.how == "now and then":
            first = shape.fraction * first + (1.0 - shape.fraction) * healthy
        elif shape.how == "drawing":
            on = np.array([shape.net in each for each in nets], dtype=np.bool_)
            first = np.where(on[:, None], 0.5 * healthy + 0.5 / width, first)
        made[at] = first
    return made


def _not_here() -> NoReturn:
    raise SolveError("expected a world that predicts; a wider one takes its rows from another")
