"""One reading entered, and what several say together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from halfsplit.belief.posterior import Array, Indices, either, joint, repeats
from halfsplit.checks.kind import Check, Reading
from halfsplit.diagnose.forecast import Forecast
from halfsplit.frozen import dataclass

__all__ = ["Entry", "joint_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entry:
    """One reading entered.

    ``about`` is equal for readings that may share all their errors but the meter's, and
    ``expects`` what each fault predicts, where it is volts or ohms; ``shown`` what a meter showed
    and one standard deviation of its error, where it is volts. ``likelihood`` [F + 1] under each
    fault, the last row for something else; ``sides`` the same when all that may stand either way
    stands the one way, and the other; ``raw`` all three before it was reckoned with that a repair
    may have cured the fault; ``surprise`` in bits: how much less it was expected, when it came,
    than by the fault that suits it best.
    """

    number: int
    check: Check
    reading: Reading
    about: tuple[str, ...]
    expects: Forecast | None
    likelihood: Array
    sides: tuple[Array, Array]
    raw: tuple[Array, Array, Array]
    shown: tuple[float, float] | None = None
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
    forecasts = [entry.expects for entry in kin if entry.expects is not None]
    if len(forecasts) < len(kin):
        return np.stack([repeats(rows) for rows in zip(*ways, strict=True)])
    firsts = _firsts(forecasts, size)
    apart = _apart(kin, forecasts, firsts)
    return np.stack([repeats(rows, firsts, apart) for rows in zip(*ways, strict=True)])


def _firsts(forecasts: Sequence[Forecast], size: int) -> Indices:
    """[n, size] for :func:`repeats`, by what each fault predicts."""
    firsts = np.repeat(np.arange(len(forecasts))[:, None], size, axis=1)
    for later in range(1, len(forecasts)):
        for earlier in reversed(range(later)):
            same = forecasts[later].same(forecasts[earlier])
            firsts[later][(firsts[earlier] == earlier) & same] = earlier
    return firsts


def _apart(kin: Sequence[Entry], forecasts: Sequence[Forecast], firsts: Indices) -> Array:
    """[n, size] bits against faults by which voltages that should be one another apart from a
    predicted drop are not; of each reading against the first of its kind."""
    found = np.zeros(firsts.shape)
    for later, entry in enumerate(kin):
        for earlier, before in enumerate(kin[:later]):
            if entry.shown and before.shown:
                bits = forecasts[later].agreement(forecasts[earlier], entry.shown, before.shown)
                found[later] += np.where(firsts[later] == earlier, bits, 0.0)
    return found
