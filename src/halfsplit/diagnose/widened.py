"""A world whose faults are chosen faults of another, alone, in pairs, or now and then.

Nothing is predicted anew: every row is made of rows that the inner world's checks give.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import Literal, NoReturn

import numpy as np
import numpy.typing as npt

from halfsplit.belief.gain import fault_gains
from halfsplit.belief.posterior import Array, Indices
from halfsplit.belief.shapes import mixed, two
from halfsplit.belief.tables import Block, Single, Tables, xlog2x
from halfsplit.board.model import Board
from halfsplit.build.fault import Fault, Place, Suspect
from halfsplit.build.world import USUAL, MeterSource, Numbers, Storage, World
from halfsplit.checks.kind import Check, CheckKind, Limits, Meter, Outcomes, Reading, Setup, Takes
from halfsplit.diagnose.catalogue import Catalogue, Offer, Offers
from halfsplit.diagnose.forecast import Forecast
from halfsplit.diagnose.watching import WATCH, WATCHING, presence, to_watch
from halfsplit.errors import SolveError
from halfsplit.frozen import dataclass

__all__ = [
    "Columns",
    "Shape",
    "WideCatalogue",
    "WideKind",
    "WideWorld",
    "likelihood_row",
    "nets_of",
    "wide_forecast",
]

_NONE = frozenset[str]()
SHORT = 240
"""Checks weighed in a wider session."""
ALIKE = 0.1
"""Total variation within which a fault leaves the outcomes of a check as on a good board."""

MOVED = 0.1
"""Volts or nepers: a fault moves a reading by more."""


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
class Columns:
    """S shapes as arrays of rows of the inner world: ``first``, ``second``, ``fraction`` [S];
    which of them are pairs, come and go, or are ``drawn`` otherwise at ``nets``."""

    first: Indices
    second: Indices
    fraction: Array
    pair: Indices
    fitful: Indices
    drawn: Indices
    nets: tuple[str, ...]

    @classmethod
    def of(cls, shapes: Sequence[Shape]) -> Columns:
        """From S shapes."""
        ways: dict[str, list[int]] = {"pair": [], "now and then": [], "drawing": [], "alone": []}
        for at, shape in enumerate(shapes):
            ways[shape.how].append(at)
        return cls(
            first=np.array([shape.first for shape in shapes], dtype=np.int64),
            second=np.array([shape.second for shape in shapes], dtype=np.int64),
            fraction=np.array([shape.fraction for shape in shapes]),
            pair=np.array(ways["pair"], dtype=np.int64),
            fitful=np.array(ways["now and then"], dtype=np.int64),
            drawn=np.array(ways["drawing"], dtype=np.int64),
            nets=tuple(shapes[at].net for at in ways["drawing"]),
        )

    def drawn_on(self, nets: frozenset[str]) -> Indices:
        """The shapes that are not as drawn at one of ``nets``."""
        return self.drawn[np.array([net in nets for net in self.nets], dtype=np.bool_)]


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
    columns: Columns
    """Of what is left."""
    watched: bool = False
    """Whether readings from now on wait for what comes and goes."""

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

    @property
    def watched(self) -> bool:
        """Whether its readings wait for what comes and goes."""
        return self.wide.watched and to_watch(self.kind)

    @property
    def presence(self) -> float | None:
        """The chance that what comes and goes is there; ``None`` for its own share."""
        return presence(self.kind, self.wide.watched)

    def minutes(self, check: Check, world: World) -> float:
        return self.kind.minutes(check, self.wide.inner) + WATCH * self.watched

    def risk(self, check: Check, world: World) -> float:
        return self.kind.risk(check, self.wide.inner)

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return self.kind.cautions(check, self.wide.inner)

    def sentence(self, check: Check, world: World) -> str:
        said = self.kind.sentence(check, self.wide.inner)
        return f"{said} {WATCHING}" if self.watched else said

    def read(self, check: Check, text: str, world: World) -> Reading:
        return self.kind.read(check, text, self.wide.inner)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return self.kind.expected(check, self.wide.inner, meter)

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        found = self.kind.outcomes(checks, self.wide.inner, meter)
        columns = self.wide.columns
        made = []
        for check, one in zip(checks, found, strict=True):
            nets = [nets_of(check, self.wide.inner)]
            p = _tables(columns, one.p[:, None, :], nets, [self.presence])[:, 0]
            made.append(Outcomes(labels=one.labels, p=np.vstack([one.p[:1], p]), edges=one.edges))
        return made

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        row = self.kind.likelihood(check, reading, self.wide.inner, meter)
        nets = nets_of(check, self.wide.inner)
        return likelihood_row(self.wide.columns, row, nets, self.presence)


@dataclass(slots=True, kw_only=True, eq=False)
class _Kept:
    offers: dict[Limits, Offers] = field(default_factory=dict)


class WideCatalogue(Catalogue):
    """The inner catalogue's checks with the wider world's rows; on offer are the :data:`SHORT`
    that look best to somebody who believes the inner faults by ``weights`` [F + 1], and those
    worth doing ``again``: what is always there answers as before, what comes and goes may not."""

    def __init__(
        self, wide: WideWorld, inner: Catalogue, weights: Array, again: frozenset[str] = _NONE
    ) -> None:
        kinds = [WideKind(kind=kind, wide=wide) for kind in inner.kinds.values()]
        super().__init__(wide, inner.meter, kinds)
        self._wide, self._inner, self._weights, self._made = wide, inner, weights, _Kept()
        self.again = again

    def prior(self) -> Array:
        """[F + 1] as the wider world states it: the inner one's habits are in it already."""
        return self._wide.prior

    def forecast(self, check: Check) -> Forecast | None:
        """What a check is predicted to read under each shape, when it is volts or ohms."""
        inner = self._inner.forecast(check)
        return None if inner is None else wide_forecast(self._wide.columns, inner)

    def offers(self, limits: Limits) -> Offers:
        """What may be done within limits, as the inner catalogue has it, the best by far."""
        made = self._made.offers
        if limits not in made:
            found = self._inner.offers(limits)
            best = self._best(found)
            offers = tuple(self._offer(found.offers[at]) for at in best)
            nets = [nets_of(offer.check, self._wide.inner) for offer in offers]
            there = [presence(offer.kind, self._wide.watched) for offer in offers]
            tables = _packed(self._wide.columns, found.tables.take(best), nets, there)
            again = [at for at, offer in enumerate(offers) if offer.check.id in self.again]
            tables = _as_before(self._wide.columns, tables, np.array(again, dtype=np.int64))
            made[limits] = Offers(offers=offers, tables=tables)
        return made[limits]

    def _offer(self, offer: Offer) -> Offer:
        """The inner catalogue's, with the minutes that it is watched."""
        waits = self._wide.watched and to_watch(offer.kind)
        return replace(offer, minutes=offer.minutes + WATCH) if waits else offer

    def _best(self, found: Offers) -> Indices:
        """Of the offers those that tell most about the inner faults for their minutes."""
        offers = [self._offer(offer) for offer in found.offers]
        minutes = np.array([max(offer.minutes, 0.1) + offer.risk for offer in offers])
        score = fault_gains(self._weights, found.tables) / minutes
        again = [offer.check.id in self.again for offer in found.offers]
        score[again] = np.inf
        return np.sort(np.argsort(-score, kind="stable")[:SHORT]).astype(np.int64)


def likelihood_row(
    columns: Columns, row: Array, nets: frozenset[str], there: float | None = None
) -> Array:
    """[F' + 1] from the inner world's row [F + 1] of one reading of a check on ``nets``; what comes
    and goes was ``there`` by that chance, by its own share unless given."""
    logs = np.log2(np.maximum(row, 1e-300))
    healthy, found = logs[0], logs[columns.first]
    pair, fitful = columns.pair, columns.fitful
    found[pair] = two(found[pair], logs[columns.second[pair]], healthy)
    share = columns.fraction[fitful] if there is None else np.float64(there)
    found[fitful] = mixed(found[fitful], healthy, share)
    found[columns.drawn_on(nets)] = logs[-1]
    return np.concatenate([row[:1], np.exp2(found), row[-1:]])


def wide_forecast(columns: Columns, inner: Forecast) -> Forecast:
    """What a place reads under each shape, from what it reads under each fault: of a pair what
    moves it more, which is not firm where both do; not-a-number for what comes and goes."""
    mean, pair = inner.mean, columns.pair
    source = columns.first.copy()
    first, second = source[pair], columns.second[pair]
    moved = np.abs(mean - mean[0])
    source[pair] = np.where(moved[second] > moved[first], second, first)
    firm = inner.firm[source]
    firm[pair] &= np.minimum(moved[first], moved[second]) < MOVED
    found = mean[source]
    found[columns.fitful] = np.nan
    return replace(
        inner,
        mean=np.append(mean[0], found),
        shared=np.append(inner.shared[0], inner.shared[source]),
        firm=np.append(inner.firm[0], firm),
    )


def nets_of(check: Check, world: World) -> frozenset[str]:
    """Nets that a check's probes are on, ground left out; none for actions at a part."""
    places = (world.places.get(name) for name in check.places)
    return frozenset(place.net for place in places if place) - {world.board.ground}


def _packed(
    columns: Columns, tables: Tables, nets: Sequence[frozenset[str]], there: Sequence[float | None]
) -> Tables:
    blocks = []
    for block in tables.blocks:
        mine = block.checks.tolist()
        made = _tables(columns, block.p, [nets[at] for at in mine], [there[at] for at in mine])
        p = np.concatenate([block.p[:1], made, block.p[-1:]]).astype(np.float32)
        blocks.append(Block(checks=block.checks, p=p, entropy=-xlog2x(p).sum(axis=2)))
    return Tables(count=tables.count, rows=len(columns.first) + 2, blocks=tuple(blocks))


def _as_before(columns: Columns, tables: Tables, again: Indices) -> Tables:
    """The tables of the checks ``again`` when each has been answered as on a good board."""
    if not len(again):
        return tables
    steady = np.ones(tables.rows, dtype=np.bool_)
    steady[1 + columns.fitful] = False
    blocks = []
    for block in tables.blocks:
        p, entropy = block.p.copy(), block.entropy.copy()
        here = np.ix_(steady, np.isin(block.checks, again))
        p[here], entropy[here] = p[:1, here[1][0]], entropy[:1, here[1][0]]
        blocks.append(Block(checks=block.checks, p=p, entropy=entropy))
    return Tables(count=tables.count, rows=tables.rows, blocks=tuple(blocks))


def _tables(
    columns: Columns,
    p: Array | Single,
    nets: Sequence[frozenset[str]],
    there: Sequence[float | None],
) -> npt.NDArray[np.floating]:
    """[F', n, O] rows of n checks on ``nets``, at which what comes and
    goes is ``there`` by that chance or its own share, from the inner world's ``p``
    [F or F + 1, n, O]."""
    healthy, width = p[0], p.shape[2]
    made = p[columns.first]
    pair, fitful = columns.pair, columns.fitful
    mute = 0.5 * np.abs(p - healthy).sum(axis=2) < ALIKE
    first, second = columns.first[pair], columns.second[pair]
    both = 0.5 * (p[first] + p[second])
    both = np.where(mute[second][:, :, None], p[first], both)
    made[pair] = np.where(mute[first][:, :, None], p[second], both)
    known = np.array([np.nan if each is None else each for each in there])[:, None]
    share = np.where(np.isnan(known), columns.fraction[fitful][:, None, None], known)
    made[fitful] = share * made[fitful] + (1.0 - share) * healthy
    for check, on in enumerate(nets):
        made[columns.drawn_on(on), check] = 0.5 * healthy[check] + 0.5 / width
    return made


def _not_here() -> NoReturn:
    raise SolveError("expected a world that predicts; a wider one takes its rows from another")
