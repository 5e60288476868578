"""Every check on offer for one board and meter, with its outcome table, worked out once.

Outcome tables do not depend on belief, so a catalogue outlives readings: sessions of one case
share it, and whoever replays a case again and again should keep it. Kinds are asked only when
they are allowed for the first time.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from halfsplit.belief.posterior import Array, normalise
from halfsplit.belief.tables import Tables
from halfsplit.build.strands import strands
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, CheckKind, Limits, Meter, Setup
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.forecast import Forecast, about, forecast
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass

__all__ = ["IDLE", "SYMPTOM", "Catalogue", "Offer", "Offers"]


SYMPTOM = "symptom"
"""The kind of check that asks what the outputs do."""

IDLE = 0.1
"""Weight of a fault that no declared output shows, against one that does (assumed)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A check with what it costs; ``minutes`` and ``risk`` (in minutes) without its setup."""

    check: Check
    kind: CheckKind
    setup: Setup
    minutes: float
    risk: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Offers:
    """C checks and their tables."""

    offers: tuple[Offer, ...]
    tables: Tables


class Catalogue:
    """Checks of one board by one meter. ``kinds`` are those of the checks folder unless given."""

    def __init__(
        self, world: World, meter: Meter, kinds: Iterable[CheckKind] | None = None
    ) -> None:
        self.world, self.meter = world, meter
        given = CHECKS.all().values() if kinds is None else kinds
        self.kinds: dict[str, CheckKind] = {kind.name: kind for kind in given}
        self._families: dict[str, Offers] = {}
        self._chosen: dict[Limits, Offers] = {}
        self._prior: Array | None = None
        self._forecasts: dict[str, Forecast | None] = {}
        self._strands = strands(world.board)
        self.again = frozenset[str]()
        """Ids of checks that tell something again though they have been answered."""

    def kind(self, name: str) -> CheckKind:
        """The kind of that name. Raises :class:`UnknownName` with the nearest one."""
        if name not in self.kinds:
            raise UnknownName("kind of check", name, self.kinds)
        return self.kinds[name]

    def prior(self) -> Array:
        """[F + 1] belief before any reading: the world's prior, with less for faults that leave
        every declared output right in every state. A case begins because something does not
        work; such a fault may still be there, so it keeps a share (:data:`IDLE`). What is wrong
        off the board (a mechanism) is noticed whatever the outputs do."""
        if self._prior is None:
            weight = np.ones(self._rows)
            if SYMPTOM in self.kinds and self._family(SYMPTOM).tables.count:
                off = [fault.where == "off-board" for fault in self.world.faults]
                weight[:-1] = np.where(off, 1.0, np.maximum(IDLE, 1.0 - self.unseen()))
            weighted = np.asarray(self.world.prior, dtype=np.float64) * weight
            rest = weighted[:-1].sum()
            if rest > 0.0:  # something else keeps its share
                weighted[:-1] *= (1.0 - self.world.prior[-1]) / rest
            self._prior = normalise(weighted)
        return self._prior

    def unseen(self) -> Array:
        """[F] how much less likely each fault makes it than a good board that every output is
        right in every state."""
        found = np.ones(self._rows - 1)
        family = self._family(SYMPTOM)
        for at in range(family.tables.count):
            table = family.tables.table(at)[:-1]
            right = int(np.argmax(table[0]))
            found *= np.minimum(1.0, table[:, right] / table[0, right])
        return found

    def offers(self, limits: Limits) -> Offers:
        """What may be done within limits, in the order of the kinds."""
        if limits not in self._chosen:
            without = limits.without_kinds | self.meter.lacks
            names = [name for name in self.kinds if name not in without]
            parts = [self._within(self._family(name), limits) for name in names]
            self._chosen[limits] = Offers(
                offers=tuple(offer for part in parts for offer in part.offers),
                tables=Tables.join([part.tables for part in parts], self._rows),
            )
        return self._chosen[limits]

    def about(self, check: Check) -> tuple[str, ...]:
        """What a check reads, equal for checks that may share their errors."""
        return about(check, self.kind(check.kind).takes, self.world, self._strands)

    def forecast(self, check: Check) -> Forecast | None:
        """What a check is predicted to read under each fault, when it is volts or ohms."""
        if check.id not in self._forecasts:
            takes = self.kind(check.kind).takes
            self._forecasts[check.id] = forecast(check, takes, self.world, self.meter)
        return self._forecasts[check.id]

    @property
    def _rows(self) -> int:
        return len(self.world.prior)

    def _family(self, name: str) -> Offers:
        if name not in self._families:
            kind, world = self.kinds[name], self.world
            checks = tuple(kind.offers(world))
            found = kind.outcomes(checks, world, self.meter) if checks else []
            prior = world.prior[:-1]
            self._families[name] = Offers(
                offers=tuple(_offer(check, kind, world) for check in checks),
                tables=Tables.pack((_with_last(outcome.p, prior) for outcome in found), self._rows),
            )
        return self._families[name]

    @staticmethod
    def _within(family: Offers, limits: Limits) -> Offers:
        if not limits.without_setups:
            return family
        keep = [
            at for at, offer in enumerate(family.offers) if offer.setup not in limits.without_setups
        ]
        which = np.array(keep, dtype=np.int64)
        return Offers(
            offers=tuple(family.offers[at] for at in keep), tables=family.tables.take(which)
        )


def _offer(check: Check, kind: CheckKind, world: World) -> Offer:
    return Offer(
        check=check,
        kind=kind,
        setup=kind.setup(check, world),
        minutes=kind.minutes(check, world),
        risk=kind.risk(check, world),
    )


def _with_last(p: Array, prior: Array) -> Array:
    """[F + 1, O]: for choosing a check, something else is taken to read as the average fault
    does, so that chasing it alone never makes a check look worth while."""
    weights = prior / prior.sum() if prior.sum() > 0.0 else np.full(len(prior), 1.0 / len(prior))
    return np.vstack([p, weights @ p])
