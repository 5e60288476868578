"""A case cut down until the best that can be done with it can be worked out by trying everything:
a few suspects, a few checks, each with a few outcomes."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from itertools import pairwise

import numpy as np

from halfsplit.belief.posterior import Array, joint, normalise, posterior
from halfsplit.belief.tables import Tables
from halfsplit.build.fault import ELSE, Suspect
from halfsplit.build.world import World
from halfsplit.checks.kind import Limits, Meter, Outcomes, Reading
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue, Offer, Offers
from halfsplit.diagnose.forecast import subject
from halfsplit.diagnose.outlook import SHORTEST
from halfsplit.frozen import dataclass

__all__ = ["Coarse", "Reduced", "ReducedCatalogue", "after_symptoms", "reduce"]

MOST = 3
"""Outcomes of a check that are told apart."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coarse:
    """A check whose answers are O spans: ``readings`` [O], ``p`` [F + 1, O]."""

    offer: Offer
    readings: tuple[Reading, ...]
    p: Array

    @property
    def cost(self) -> float:
        """Minutes and risk, its setup apart."""
        return max(self.offer.minutes, SHORTEST) + self.offer.risk


@dataclass(frozen=True, kw_only=True, eq=False)
class Reduced:
    """``prior`` [F + 1] over the world's faults, none but those of ``repairs``; C ``checks``."""

    world: World
    meter: Meter
    prior: Array
    repairs: tuple[Suspect, ...]
    checks: tuple[Coarse, ...]

    @cached_property
    def offers(self) -> Offers:
        """As a catalogue has them."""
        return Offers(
            offers=tuple(one.offer for one in self.checks),
            tables=Tables.pack([one.p for one in self.checks], len(self.prior)),
        )


class ReducedCatalogue(Catalogue):
    """The checks of a reduced case, and what is believed of it before any of them."""

    def __init__(self, case: Reduced, prior: Array) -> None:
        kinds = {one.offer.kind.name: one.offer.kind for one in case.checks}
        super().__init__(case.world, case.meter, kinds.values())
        self._case, self._believed = case, prior

    def prior(self) -> Array:
        """[F + 1] as given."""
        return self._believed

    def offers(self, limits: Limits) -> Offers:
        """All checks of the case."""
        return self._case.offers


def reduce(
    catalogue: Catalogue, p: Array, *, suspects: int, checks: int, kinds: Iterable[str]
) -> Reduced:
    """The likeliest suspects of a belief ``p`` [F + 1] and the checks of some kinds that tell most
    between them for their minutes, one for each thing that is read."""
    world = catalogue.world
    shares = np.bincount(world.suspect_of[1:], weights=p[1:-1], minlength=len(world.suspects))
    named = [at for at in np.argsort(-shares, kind="stable")[:suspects] if shares[at] > 0.0]
    named = [int(at) for at in named if world.suspects[at].id != ELSE]
    prior = normalise(np.append(np.where(np.isin(world.suspect_of, named), p[:-1], 0.0), 0.0))
    lacking = frozenset(set(catalogue.kinds) - set(kinds))
    found = catalogue.offers(Limits(without_kinds=lacking))
    chosen = _telling(found, prior, world, checks)
    meter = catalogue.meter
    return Reduced(
        world=world,
        meter=meter,
        prior=prior,
        repairs=tuple(world.suspects[at] for at in named),
        checks=tuple(_coarse(found.offers[at], prior, world, meter) for at in chosen),
    )


def after_symptoms(catalogue: Catalogue, fault: int) -> Array:
    """[F + 1] belief when every symptom came as the fault numbered ``fault`` makes likeliest."""
    world, kind = catalogue.world, catalogue.kind(SYMPTOM)
    checks = tuple(kind.offers(world))
    rows = []
    for check, told in zip(checks, kind.outcomes(checks, world, catalogue.meter), strict=True):
        reading = _of_word(told.labels[int(np.argmax(told.p[fault]))])
        rows.append(np.asarray(kind.likelihood(check, reading, world, catalogue.meter)))
    return posterior(catalogue.prior(), joint(rows, len(catalogue.prior())))


def _telling(found: Offers, prior: Array, world: World, count: int) -> list[int]:
    """Checks that keep pairs of suspects apart, the next always by what is not told apart yet."""
    rows = np.flatnonzero(prior)
    group = world.suspect_of[rows]
    weight = np.where(group[:, None] != group[None, :], np.outer(prior[rows], prior[rows]), 0.0)
    alike = np.empty((len(found.offers), len(rows), len(rows)), dtype=np.float32)
    for at in range(len(found.offers)):
        root = np.sqrt(found.tables.table(at)[rows])
        alike[at] = np.minimum(root @ root.T, 1.0)
    minutes = np.array([max(one.minutes, SHORTEST) + one.risk for one in found.offers])
    free = np.ones(len(found.offers), dtype=np.bool_)
    read = [subject(one.check, one.kind.takes, world) for one in found.offers]
    chosen: list[int] = []
    while len(chosen) < count and free.any():
        told = np.einsum("cij,ij->c", 1.0 - alike, weight) / minutes
        best = int(np.argmax(np.where(free, told, -1.0)))
        chosen.append(best)
        weight = weight * alike[best]
        free &= np.array([one != read[best] for one in read], dtype=np.bool_)
    return chosen


def _coarse(offer: Offer, prior: Array, world: World, meter: Meter) -> Coarse:
    kind, check = offer.kind, offer.check
    (told,) = kind.outcomes([check], world, meter)
    readings = _spans(told, prior[:-1]) if told.edges else list(map(_of_word, told.labels))
    p = np.stack([kind.likelihood(check, one, world, meter) for one in readings], axis=-1)
    return Coarse(offer=offer, readings=tuple(readings), p=p / p.sum(axis=1, keepdims=True))


def _of_word(word: str) -> Reading:
    return Reading(text=word, word=word)


def _spans(told: Outcomes, weights: Array) -> list[Reading]:
    """Neighbouring bins joined, those first whose joining loses least about the faults."""
    columns = [weights * column for column in told.p.T]
    cuts = list(told.edges)
    while len(columns) > MOST:
        loss = [_bits(a) + _bits(b) - _bits(a + b) for a, b in pairwise(columns)]
        at = int(np.argmin(loss))
        columns[at : at + 2] = [columns[at] + columns[at + 1]]
        del cuts[at + 1]
    return [
        Reading(
            text=f"{low:g} to {high:g}",
            low=float(low) if np.isfinite(low) else None,
            high=float(high) if np.isfinite(high) else None,
        )
        for low, high in pairwise(cuts)
    ]


def _bits(column: Array) -> float:
    """What one outcome adds to the information about the faults, up to what joining leaves as it
    is."""
    total = float(column.sum())
    some = column[column > 0.0]
    return float((some * np.log2(some / total)).sum()) if total > 0.0 else 0.0
