"""Which other shapes of faults are likely enough to be weighed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from halfsplit.belief.after import seconds
from halfsplit.belief.posterior import Array, posterior
from halfsplit.belief.shapes import SILENT, best_pairs, now_and_then, two
from halfsplit.build.together import consequences
from halfsplit.checks.constancy import FITFUL, is_loose
from halfsplit.diagnose.catalogue import IDLE, SYMPTOM
from halfsplit.diagnose.cures import DRAWING
from halfsplit.diagnose.entry import Entry, joint_of
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.watching import CAUGHT, said, watched
from halfsplit.diagnose.widened import Shape, nets_of

__all__ = ["candidates", "comes_and_goes"]

TWO = 0.06
"""Cases with two independent faults (common practice, no source)."""
BURNT = 0.3
"""A part that a fault overloads has gone with it (judgement, no source)."""
LOOSE, FICKLE = 0.3, 0.03
"""Bad joints and contacts, and other faults, that come and go (judgement, no source)."""
UNNOTICED = 0.02
"""Somebody says of a fault that no output shows that it comes and goes (judgement, no source)."""
REDRAWN, VERIFIED = 0.03, 0.1
"""Cases in which the board differs from its file at some net that matters; and how much less so
where a part on it was checked against the board (judgement, no source)."""
SINGLES, PAIRS, COMING, NETS = 120, 400, 240, 4
"""Most of each shape that are kept."""
BESIDE = 16
"""Most faults that are weighed beside one net that is not as drawn."""
UNLIKELY, LIKELY = 40, 480
"""The same of the first two, and of the third, when it was said to come and go."""


def candidates(session: Session) -> list[tuple[Shape, float]]:
    """Shapes and their prior weights: the likeliest single faults, pairs, faults that come and go,
    nets that are not as drawn."""
    rows = np.stack(list(_by_check(session.entries, len(session.p)).values()))
    prior = session.catalogue.prior()
    word = said(session.entries)
    fitful = word == FITFUL
    singles, pairs, coming = (
        (UNLIKELY, UNLIKELY, LIKELY) if fitful else (SINGLES, PAIRS, 0 if word else COMING)
    )
    return [
        *_singles(session, prior, singles),
        *_pairs(session, prior, rows, pairs),
        *(_fitful(session, prior, coming) if coming else []),
        *_redrawn(session, prior),
    ]


def _by_check(entries: Iterable[Entry], size: int) -> dict[tuple[str, int], Array]:
    """[F + 1] log2 likelihood of each check's readings together, between two repairs."""
    by_check: dict[tuple[str, int], list[Entry]] = {}
    for entry in entries:
        by_check.setdefault((entry.check.id, entry.epoch), []).append(entry)
    return {key: joint_of(group, size) for key, group in by_check.items()}


def _singles(session: Session, prior: Array, most: int) -> list[tuple[Shape, float]]:
    order = np.argsort(-session.cause[:-1], kind="stable")[:most]
    return [
        (Shape(how="alone", first=int(row)), float(prior[row])) for row in order if prior[row] > 0.0
    ]


def _pairs(session: Session, prior: Array, rows: Array, most: int) -> list[tuple[Shape, float]]:
    """Independent pairs that explain most, and faults with what they burnt."""
    found = {
        (pair.first, pair.second): TWO * 2.0 * float(prior[pair.first] * prior[pair.second])
        for pair in best_pairs(prior, rows, most)
        if (session.cured_at[pair.first] > 0) == (session.cured_at[pair.second] > 0)
    }
    found |= _beside_repairs(session, prior, most)
    burnt = {
        (a, b): BURNT * float(prior[a])
        for a, b in consequences(session.world)
        if prior[a] > 0.0 and prior[b] > 0.0
    }
    return [
        (Shape(how="pair", first=a, second=b), weight)
        for (a, b), weight in [*found.items(), *_fitting(burnt, rows, most)]
        if (b, a) not in burnt or (a, b) in burnt
    ]


def _beside_repairs(session: Session, prior: Array, most: int) -> dict[tuple[int, int], float]:
    """Each fault that may be left beside one that a repair has put right, one pair for each."""
    if not session.done:
        return {}
    plain = [entry.plain for entry in session.entries]
    rows = _by_check(plain, len(prior))
    epochs = np.array([epoch for _, epoch in rows])
    beside = seconds(prior, np.stack(list(rows.values())), epochs, session.cured_at)
    best = np.argsort(-beside.weight, kind="stable")[:most]
    return {
        (int(beside.first[row]), int(row)): TWO * 2.0 * float(beside.prior[row])
        for row in best
        if beside.prior[row] > 0.0
    }


def _fitting(
    weights: dict[tuple[int, int], float], rows: Array, most: int
) -> list[tuple[tuple[int, int], float]]:
    """The pairs that explain most, prior counted in."""

    if not weights:
        return []
    pairs = list(weights)
    first, second = np.array(pairs).T
    fit = two(rows[:, first], rows[:, second], rows[:, :1]).sum(axis=0)
    score = np.log2(list(weights.values())) + fit
    return [(pairs[k], weights[pairs[k]]) for k in np.argsort(-score, kind="stable")[:most]]


def comes_and_goes(session: Session) -> float:
    """Probability that one fault comes and goes, against one that is always there."""
    rows = _rows(session.entries)
    odds, prior = _odds(session), session.catalogue.prior()[:-1]
    there = np.append(prior * (1.0 - odds), 0.0)
    away = np.append(prior * odds, 0.0)
    with np.errstate(divide="ignore"):
        weights = np.stack(
            [np.log2(there) + rows.sum(axis=0), np.log2(away) + now_and_then(rows).weight]
        )
    shares = np.exp2(weights - weights.max()).sum(axis=1)
    return float(shares[1] / shares.sum())


def _odds(session: Session) -> Array:
    """[F] how often each fault comes and goes rather than stays."""
    return np.array([LOOSE if is_loose(fault) else FICKLE for fault in session.world.faults])


def _noticed(session: Session) -> Array:
    """[F] how much less likely each fault is because it was seen to come and go: what no output
    shows nobody has seen. Ones as long as nobody said so."""
    catalogue, faults = session.catalogue, session.world.faults
    if said(session.entries) != FITFUL or SYMPTOM not in catalogue.kinds:
        return np.ones(len(faults))
    shown = 1.0 - catalogue.unseen()
    off = np.array([fault.where == "off-board" for fault in faults], dtype=np.bool_)
    return np.where(off, 1.0, np.maximum(shown, UNNOTICED) / np.maximum(shown, IDLE))


def _rows(entries: Sequence[Entry]) -> Array:
    """[E, F + 1] log2 likelihoods."""
    return np.stack([np.log2(np.maximum(entry.likelihood, 1e-300)) for entry in entries])


def _fitful(session: Session, prior: Array, most: int) -> list[tuple[Shape, float]]:
    """Faults that come and go, with the share of readings that suits each best."""
    rows = _rows(session.entries)
    seen = watched(session.entries)
    waited = np.array([entry.number in seen for entry in session.entries], dtype=np.bool_)
    share = now_and_then(rows, np.where(waited, CAUGHT, np.nan))
    weight = prior[:-1] * _odds(session) * _noticed(session)
    moved = (np.abs(rows[:, :-1] - rows[:, :1]) > SILENT).any(axis=0)
    with np.errstate(divide="ignore"):
        score = np.where(moved, np.log2(weight), -np.inf) + share.weight[:-1]
    best = [int(row) for row in np.argsort(-score, kind="stable")[:most] if weight[row] > 0.0]
    return [
        (
            Shape(how="now and then", first=row, fraction=float(share.fraction[row])),
            float(weight[row]),
        )
        for row in best
    ]


def _redrawn(session: Session, prior: Array) -> list[tuple[Shape, float]]:
    """Nets that are not as drawn, each with the faults that explain the readings elsewhere best:
    the board has worked as it is, so a fault there is in any case."""
    world = session.world
    nets = {entry.number: nets_of(entry.check, world) for entry in session.entries}
    compared = {name.removeprefix(DRAWING) for name in session.done if name.startswith(DRAWING)}
    measured = sorted(frozenset[str]().union(*nets.values()) - compared)
    sure = {
        net for part in world.board.parts if part.remarks.verified for net in part.pins.values()
    }
    found = []
    for net in measured:
        rest = joint_of(
            [entry for entry in session.entries if net not in nets[entry.number]], len(prior)
        )
        blind = sum(
            float(np.log2(max(entry.likelihood[-1], 1e-300)))
            for entry in session.entries
            if net in nets[entry.number]
        )
        belief = posterior(prior, rest)[1:-1]
        first = 1 + np.argsort(-belief, kind="stable")[:BESIDE]
        weight = REDRAWN * (VERIFIED if net in sure else 1.0) / len(measured)
        score = blind + float(rest[first[0]] + np.log2(prior[first[0]]))
        found.append((score, net, first.tolist(), weight))
    best = sorted(found, key=lambda one: -one[0])[:NETS]
    return [
        (Shape(how="drawing", first=row, net=net), weight * float(prior[row]))
        for _, net, first, weight in best
        for row in first
        if prior[row] > 0.0
    ]
