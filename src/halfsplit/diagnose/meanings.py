"""What an answer would mean, in words, before it is given."""

from __future__ import annotations

import numpy as np

from halfsplit.belief.posterior import Array, group_sums, normalise
from halfsplit.belief.tables import Tables
from halfsplit.checks.kind import Check, Meaning
from halfsplit.diagnose.session import Session, percent

__all__ = ["line", "meaning_lines", "split_by"]

ALIKE = 0.2
"""Neighbouring outcomes whose suspects differ less than this are told as one."""
RARE = 0.02
"""Spans less likely than this are left out."""
NAMED = 0.05
"""Suspects less likely than this are not named."""


def meaning_lines(session: Session, check: Check) -> tuple[str, ...]:
    """One line for each span of outcomes that may well come."""
    return tuple(line(session, meaning) for meaning in _meanings(session, check))


def line(session: Session, meaning: Meaning) -> str:
    """``0.1 to 0.3 V (40 %): U3 80 %, joint U3.6 12 %``."""
    shares = group_sums(meaning.faults, session.group, len(session.world.suspects) + 1)
    top = [at for at in np.argsort(-shares[:-1], kind="stable")[:3] if shares[at] >= NAMED]
    names = ", ".join(f"{session.world.suspects[at].id} {percent(shares[at])}" for at in top)
    right = ", as on a good board" if meaning.right else ""
    return f"{meaning.span} ({percent(meaning.probability)}{right}): {names or 'many alike'}"


def split_by(session: Session, tables: Tables, check: int) -> str:
    """``U3 from R7 and Q2``: the likeliest suspect and those that would read otherwise, or ""."""
    shares = session.by_suspect()[:-1]
    among = [int(at) for at in np.argsort(-shares, kind="stable")[:6] if shares[at] >= RARE]
    if len(among) < 2:
        return ""
    table = tables.table(check)
    mixed = [normalise(np.where(session.group == name, session.p, 0.0)) @ table for name in among]
    names = [session.world.suspects[at].id for at in among]
    apart = [
        name
        for name, outcome in zip(names[1:], mixed[1:], strict=True)
        if 0.5 * np.abs(outcome - mixed[0]).sum() >= 0.5
    ]
    if not apart:
        return ""
    *first, last = apart[:3]
    return f"{names[0]} from {', '.join(first)} and {last}" if first else f"{names[0]} from {last}"


def _meanings(session: Session, check: Check) -> list[Meaning]:
    outcomes = session.catalogue.outcomes(check)
    spread = np.full(len(outcomes.labels), 1.0 / len(outcomes.labels))
    p = np.vstack([outcomes.p, 0.6 * outcomes.p[0] + 0.4 * spread])
    weights = session.p[:, None] * p
    chance, healthy = weights.sum(axis=0), int(np.argmax(outcomes.p[0]))
    spans = [[at] for at in range(len(chance)) if chance[at] > 0.0]
    if outcomes.edges:
        spans = _merge(spans, session, weights)
    return [
        Meaning(
            span=_span(outcomes.labels, span),
            probability=float(chance[span].sum()),
            faults=normalise(weights[:, span].sum(axis=1)),
            right=healthy in span,
        )
        for span in spans
        if chance[span].sum() >= RARE
    ]


def _merge(spans: list[list[int]], session: Session, weights: Array) -> list[list[int]]:
    merged: list[list[int]] = []
    for span in spans:
        if merged and _apart(session, weights, merged[-1], span) < ALIKE:
            merged[-1] = merged[-1] + span
        else:
            merged.append(span)
    return merged


def _apart(session: Session, weights: Array, one: list[int], other: list[int]) -> float:
    count = len(session.world.suspects) + 1
    first, second = (
        group_sums(normalise(weights[:, span].sum(axis=1)), session.group, count)
        for span in (one, other)
    )
    return float(0.5 * np.abs(first - second).sum())


def _span(labels: tuple[str, ...], span: list[int]) -> str:
    first, last = labels[span[0]], labels[span[-1]]
    return first if first == last else f"{first} … {last}"
