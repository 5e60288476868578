"""One reading entered, and what several say together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from halfsplit.belief.posterior import Array, Indices, either, joint, repeats
from halfsplit.checks.kind import Check, Reading
from halfsplit.diagnose.kin import alike
from halfsplit.frozen import dataclass

__all__ = ["Entry", "joint_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entry:
    """One reading entered.

    ``about`` is equal for readings that may share all their errors but the meter's, and
    ``expects`` [F] the volts that each fault predicts where it is volts. ``likelihood``
    [F + 1] under each fault, the last row for something else; ``sides`` the same when all that may
    stand either way stands the one way, and the other; ``raw`` all three before it was reckoned
    with that a repair may have cured the fault; ``surprise`` in bits: how much less it was
    expected, when it came, than by the fault that suits it best.
    """

    number: int
    check: Check
    reading: Reading
    about: tuple[str, ...]
    expects: Array | None
    likelihood: Array
    sides: tuple[Array, Array]
    raw: tuple[Array, Array, Array]
    surprise: float
    epoch: int = 0
    """How many repairs had been done when it was taken."""

    def __str__(self) -> str:
        """``#4 (volts U3.6 @hold-A: 0.1 V)``."""
        return f"#{self.number} ({self.check.id}: {self.reading.text})"

    @property
    def plain(self) -> Entry:
        """The entry as if nothing had been repaired."""
        row, one, other = self.raw
        if self.likelihood is row and self.sides[0] is one and self.sides[1] is other:
            return self
        return replace(self, likelihood=row, sides=(one, other))


def joint_of(entries: Iterable[Entry], size: int) -> Array:
    """[size] joint log2 likelihood."""
    groups: dict[tuple[str, ...], list[Entry]] = {}
    for entry in entries:
        groups.setdefault((str(entry.epoch), *entry.about), []).append(entry)
    total = np.zeros((3, size))
    for members in groups.values():
        total += _together(tuple(members))
    return either(*total)


@lru_cache(maxsize=512)
def _together(kin: tuple[Entry, ...]) -> Array:
    """[3, F + 1] joint log2 likelihood of readings of one kin: each either way on its own, all the
    one way, all the other. Kept, since leaving one reading out leaves most kin as they were."""
    ways = [(entry.likelihood, *entry.sides) for entry in kin]
    size = len(kin[0].likelihood)
    if len(kin) == 1:
        return np.stack([joint([row], size) for row in ways[0]])
    firsts = _firsts(kin, size)
    return np.stack([repeats(rows, firsts) for rows in zip(*ways, strict=True)])


def _firsts(entries: Sequence[Entry], size: int) -> Indices | None:
    """[n, size] for :func:`repeats`, by what each fault predicts; ``None`` when all are one."""
    expected = [entry.expects for entry in entries if entry.expects is not None]
    if len(expected) < len(entries):
        return None
    firsts = np.repeat(np.arange(len(entries))[:, None], size, axis=1)
    for later in range(1, len(entries)):
        for earlier in reversed(range(later)):
            same = (firsts[earlier, :-1] == earlier) & alike(expected[later], expected[earlier])
            firsts[later, :-1][same] = earlier
    return firsts
