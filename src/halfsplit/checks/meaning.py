"""What the answers to a check would mean: spans of outcomes with clearly different suspects."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._vague import with_else
from halfsplit.checks.kind import Check, CheckKind, Meaning, Meter, Outcomes
from halfsplit.checks.registry import CHECKS
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["meaning_lines", "spans"]

MOST = 4
"""Spans told at most."""
ALIKE = 0.03
"""Bit; spans whose merging loses less than this are told as one."""
RARE = 0.02
"""Spans less likely than this are left out."""
NAMED = 3
"""Faults named at most, each at least :data:`WORTH_NAMING` likely in its span."""
WORTH_NAMING = 0.1


def spans(
    check: Check, world: World, meter: Meter, belief: Array, *, kind: CheckKind | None = None
) -> list[Meaning]:
    """Two to four spans of outcomes, in order, each with its posterior.

    ``belief`` [F + 1] is the present one, the last row something else. Neighbouring bins are
    merged while the suspects they point at are nearly the same: each time the pair whose merging
    loses the least information about the suspects. Spans below :data:`RARE` are left out, so
    probabilities may sum to a little less than 1. ``kind`` is the check's own unless given.
    """
    kind = kind or CHECKS.get(check.kind)
    table = kind.outcomes([check], world, meter)[0]
    even = np.full(len(table.labels), 1.0 / len(table.labels))
    joint = belief[:, None] * with_else(table.p, even)
    cuts = _merge(_by_suspect(world, joint), joined=bool(table.edges))
    healthy = [float(table.p[0, first:last].sum()) for first, last in cuts]
    good = healthy.index(max(healthy))
    found = []
    for i, (first, last) in enumerate(cuts):
        faults = joint[:, first:last].sum(axis=1)
        chance = float(faults.sum())
        if chance >= RARE:
            found.append(
                Meaning(
                    span=_span_text(table, kind.unit, joint.sum(axis=0), first, last),
                    probability=chance,
                    faults=faults / chance,
                    right=i == good and healthy[i] > 0.5,
                )
            )
    return found


def meaning_lines(
    check: Check, world: World, meter: Meter, belief: Array, *, kind: CheckKind | None = None
) -> list[str]:
    """One line for each span: ``0.1 to 0.3 V (20 %): Q3 is open or R7 is open``."""
    return [_line(meaning, world) for meaning in spans(check, world, meter, belief, kind=kind)]


def _line(meaning: Meaning, world: World) -> str:
    named: list[str] = []
    seen: set[int] = set()
    count = len(world.faults)
    for f in np.argsort(-meaning.faults, kind="stable")[: 10 * NAMED].tolist():
        if named and (len(named) == NAMED or meaning.faults[f] < WORTH_NAMING):
            break
        suspect = int(world.suspect_of[f]) if f < count else len(world.suspects) - 1
        if suspect not in seen:
            seen.add(suspect)
            named.append(world.faults[f].words if f < count else "something else")
    right = ", right for a good board" if meaning.right else ""
    *first, last = named
    text = f"{', '.join(first)} or {last}" if first else last
    return f"{meaning.span} ({round(100 * meaning.probability)} %{right}): {text}"


def _by_suspect(world: World, joint: Array) -> Array:
    """[S + 1, O] of ``joint`` [F + 1, O], faults of one suspect added; the last row is healthy."""
    count = len(world.suspects)
    of = np.append(np.where(world.suspect_of < 0, count, world.suspect_of), count - 1)
    added = np.zeros((count + 1, joint.shape[1]))
    np.add.at(added, of, joint)
    return added


def _merge(joint: Array, *, joined: bool) -> list[tuple[int, int]]:
    """[(first, after last)] of spans of the O columns of ``joint`` [S, O]. Words stay apart."""
    rows = list(np.ascontiguousarray(joint.T))
    cuts = [(o, o + 1) for o in range(len(rows))]
    if not joined:
        return cuts
    alone = _entropy(np.array(rows))
    together = _entropy(np.add(rows[1:], rows[:-1]))
    # Bits about the suspects lost by no longer telling two outcomes apart.
    loss = (together - alone[1:] - alone[:-1]).tolist()
    own, joint_of = alone.tolist(), together.tolist()
    while len(cuts) > 2:
        i = min(range(len(loss)), key=loss.__getitem__)
        if loss[i] > ALIKE and len(cuts) <= MOST:
            break
        rows[i : i + 2] = [rows[i] + rows[i + 1]]
        cuts[i : i + 2] = [(cuts[i][0], cuts[i + 1][1])]
        own[i : i + 2] = [joint_of[i]]
        del loss[i], joint_of[i]
        near = [j for j in (i - 1, i) if 0 <= j < len(loss)]
        found = _entropy(np.array([rows[j] + rows[j + 1] for j in near]))
        for j, bits in zip(near, found.tolist(), strict=True):
            joint_of[j], loss[j] = bits, bits - own[j] - own[j + 1]
    return cuts


def _entropy(weights: Array) -> Array:
    """[rows] bits of each row of ``weights`` [rows, S], times its total weight."""
    total = weights.sum(axis=1)
    both = np.column_stack((weights, total))
    parts = both * np.log2(np.where(both > 0.0, both, 1.0))
    bits: Array = parts[:, -1] - parts[:, :-1].sum(axis=1)
    return bits


def _span_text(table: Outcomes, unit: str, chance: Array, first: int, last: int) -> str:
    """The span in words, trimmed to the bins that may well come."""
    if not table.edges:
        return table.labels[first]
    likely = [o for o in range(first, last) if chance[o] >= 0.02 * chance[first:last].max()]
    dense = _crop(likely, chance)
    if table.labels[dense[-1]] == "OL" and dense[0] == dense[-1]:
        return "OL"
    low = table.edges[dense[0]] if first > 0 or dense[0] > 0 else -math.inf
    high = table.edges[dense[-1] + 1]
    if math.isinf(low):
        return f"under {_number(high, unit)}" if not math.isinf(high) else "anything"
    if math.isinf(high):
        return f"above {_number(low, unit)}"
    return (
        f"{low:g} to {high:g} V"
        if unit == "V"
        else f"{_number(low, unit)} to {_number(high, unit)}"
    )


def _crop(likely: Sequence[int], chance: Array) -> Sequence[int]:
    """Without the outer bins that hold under a fiftieth of the span on either side."""
    total = float(sum(chance[o] for o in likely))
    first, last = 0, len(likely) - 1
    while first < last and sum(chance[o] for o in likely[: first + 1]) < 0.02 * total:
        first += 1
    while last > first and sum(chance[o] for o in likely[last:]) < 0.02 * total:
        last -= 1
    return likely[first : last + 1]


def _number(value: float, unit: str) -> str:
    return f"{value:g} V" if unit == "V" else format_quantity(value, unit)
