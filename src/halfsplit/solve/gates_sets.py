"""Sets of nets that may read anything: which sets explain what the outputs showed.

This is diagnosis with no idea of how a gate fails, and with several bad gates at once. Sources:
R. Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32 (1987); J. de
Kleer and B. C. Williams, "Diagnosing multiple faults", in the same volume.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt

from halfsplit.errors import SolveError
from halfsplit.frozen import dataclass
from halfsplit.solve.gates import Bits, Gates, Indices, Words
from halfsplit.solve.gates_cases import Changes, Seen, disagree, nets_under
from halfsplit.solve.gates_faults import STEM

__all__ = ["MOST_FREE", "Free", "free_nets", "pairs_that_explain", "shares"]

MOST_FREE = 16
"""Nets of one set: each doubles the work."""
_BLOCK = 1 << 16
"""Cases worked at once."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Free:
    """S sets of nets with every pattern of levels on each: ``nets`` [N, W], what they read in
    each case; ``owner`` [F], the set that a case is of."""

    nets: Words
    owner: Indices


def free_nets(network: Gates, sets: Sequence[Sequence[int]], given: Bits) -> Free:
    """All patterns of each set for one vector ``given`` [I]. Raises :class:`SolveError` for a set
    of more than :data:`MOST_FREE` nets."""
    sizes = np.array([len(each) for each in sets], dtype=np.int64)
    if (sizes > MOST_FREE).any():
        raise SolveError(f"expected at most {MOST_FREE} free nets in a set, got {sizes.max()}")
    patterns = 1 << sizes
    first = np.cumsum(patterns) - patterns
    case, net, what = [], [], []
    for start, count, nets in zip(first, patterns, sets, strict=True):
        for place, each in enumerate(nets):
            case.append(np.arange(start, start + count))
            net.append(np.full(count, each))
            what.append(np.arange(count) >> place & 1)
    cases = np.concatenate([np.zeros(0, dtype=np.int64), *case])
    stem = np.full(len(cases), STEM)
    changes = Changes(
        count=int(patterns.sum()),
        case=cases,
        net=np.concatenate([np.zeros(0, dtype=np.int64), *net]),
        reader=stem,
        pin=stem,
        what=np.concatenate([np.zeros(0, dtype=np.int64), *what]).astype(np.int8),
    )
    nets_read = nets_under(network, changes, given)
    return Free(nets=nets_read, owner=np.repeat(np.arange(len(sets)), patterns))


def shares(
    network: Gates, sets: Sequence[Sequence[int]], given: Sequence[Bits], seen: Sequence[Seen]
) -> npt.NDArray[np.float64]:
    """[S] share of the patterns of each set that explain what was ``seen`` [O] each, the product
    over all tests: the likelihood, when a bad gate gives either level."""
    found = np.ones(len(sets))
    for vector, outputs in zip(given, seen, strict=True):
        free = free_nets(network, sets, vector)
        wrong = disagree(free.nets[network.outputs], outputs, len(free.owner))
        count = np.bincount(free.owner, minlength=len(sets))
        found *= np.bincount(free.owner[~wrong], minlength=len(sets)) / count
    return found


def pairs_that_explain(
    network: Gates, among: Sequence[int], given: Sequence[Bits], seen: Sequence[Seen]
) -> list[tuple[int, int]]:
    """Pairs of nets that explain every test, where neither does alone."""
    alone = shares(network, [(net,) for net in among], given, seen)
    rest = [net for net, share in zip(among, alone, strict=True) if not share]
    pairs = list(combinations(rest, 2))
    found: list[tuple[int, int]] = []
    for start in range(0, len(pairs), _BLOCK // 4):
        block = pairs[start : start + _BLOCK // 4]
        likely = shares(network, block, given, seen)
        found += [pair for pair, share in zip(block, likely, strict=True) if share]
    return found
