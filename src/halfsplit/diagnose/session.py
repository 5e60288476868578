"""What is believed after some readings. A session is frozen; a reading gives a new one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.belief.posterior import (
    Array,
    Indices,
    either,
    group_sums,
    joint,
    posterior,
    repeats,
    surprise,
)
from halfsplit.build.fault import Fault, Suspect
from halfsplit.build.one_side import OneSide
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Limits, Meter, Reading
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.kin import about, alike
from halfsplit.errors import RegistryError, UnknownName

__all__ = ["Entry", "Ranked", "Session", "joint_of", "percent"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entry:
    """One reading entered.

    ``about`` is equal for readings that may share all their errors but the meter's, and
    ``expects`` [F] the volts that each fault predicts where it is volts. ``likelihood``
    [F + 1] under each fault, the last row for something else; ``sides`` the same when all that may
    stand either way stands the one way, and the other; ``surprise`` in bits: how much less it was
    expected, when it came, than by the fault that suits it best.
    """

    number: int
    check: Check
    reading: Reading
    about: tuple[str, ...]
    expects: Array | None
    likelihood: Array
    sides: tuple[Array, Array]
    surprise: float

    def __str__(self) -> str:
        """``#4 (volts U3.6 @hold-A: 0.1 V)``."""
        return f"#{self.number} ({self.check.id}: {self.reading.text})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A suspect, its probability, and its faults with theirs, likeliest first."""

    suspect: Suspect
    probability: float
    faults: tuple[tuple[Fault, float], ...]

    def __str__(self) -> str:
        """``U3 (62 %)``."""
        return f"{self.suspect.id} ({percent(self.probability)})"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Session:
    """A board, a meter, limits, the readings so far, and the belief ``p`` [F + 1] from them."""

    world: World
    meter: Meter
    limits: Limits
    catalogue: Catalogue
    group: Indices
    """[F + 1] index into ``world.suspects``; one past its end for healthy."""
    entries: tuple[Entry, ...]
    p: Array

    @classmethod
    def start(
        cls,
        world: World,
        meter: Meter | None = None,
        limits: Limits | None = None,
        *,
        catalogue: Catalogue | None = None,
    ) -> Session:
        """Nothing read yet. A ``catalogue`` of the same world and meter saves its making."""
        meter = meter or Meter()
        count = len(world.suspects)
        listed = np.where(world.suspect_of < 0, count, world.suspect_of)
        if catalogue is None or catalogue.world is not world or catalogue.meter != meter:
            kinds = None if catalogue is None else catalogue.kinds.values()
            catalogue = Catalogue(world, meter, kinds)
        return cls(
            world=world,
            meter=meter,
            limits=limits or Limits(),
            catalogue=catalogue,
            group=np.append(listed, count - 1).astype(np.int64),
            entries=(),
            p=catalogue.prior(),
        )

    def enter(self, check: Check, reading: Reading, *, number: int | None = None) -> Session:
        """The session after one more reading; ``number`` is the log's own, else the next.

        Raises :class:`UnknownName` for a kind of check that is not there or a number that is
        taken, :class:`RegistryError` for a kind whose likelihood cannot be used.
        """
        row = self._likelihood(check, reading, self.world)
        sides = [
            self._likelihood(check, reading, OneSide(world=self.world, second=second))
            for second in (False, True)
        ]
        for side in sides:
            side[-1] = row[-1]
        taken = {entry.number for entry in self.entries}
        number = number if number is not None else max(taken, default=0) + 1
        if number in taken:
            raise UnknownName("free entry number", str(number), [str(max(taken) + 1)])
        entry = Entry(
            number=number,
            check=check,
            reading=reading,
            about=about(check, self.catalogue.kind(check.kind).takes, self.world),
            expects=self.catalogue.expected_volts(check),
            likelihood=row,
            sides=(sides[0], sides[1]),
            surprise=surprise(self.p, row),
        )
        return self._with((*self.entries, entry))

    def without(self, number: int) -> Session:
        """As if the entry of that number had not been made; the others keep their numbers.

        Raises :class:`UnknownName`.
        """
        if all(entry.number != number for entry in self.entries):
            raise UnknownName("entry", str(number), [str(entry.number) for entry in self.entries])
        session = self._with(())
        for entry in self.entries:
            if entry.number != number:
                again = replace(entry, surprise=surprise(session.p, entry.likelihood))
                session = session._with((*session.entries, again))
        return session

    def p_without(self, number: int) -> Array:
        """[F + 1] the belief without one entry; cheaper than :meth:`without`."""
        rest = [entry for entry in self.entries if entry.number != number]
        return posterior(self._prior, joint_of(rest, len(self.p)))

    def within(self, limits: Limits) -> Session:
        """The same belief with other limits."""
        return replace(self, limits=limits)

    def by_suspect(self, p: Array | None = None) -> Array:
        """[suspects] probabilities in the order of ``world.suspects``, of the belief ``p``
        [F + 1] if given; they sum to one unless the healthy board has a share."""
        count = len(self.world.suspects)
        return group_sums(self.p if p is None else p, self.group, count + 1)[:count]

    def suspects(self) -> list[Ranked]:
        """All suspects, likeliest first; something else among them."""
        members: list[list[int]] = [[] for _ in self.world.suspects]
        for row, name in enumerate(self.group[:-1]):
            if name < len(members):
                members[name].append(row)
        faults, p = self.world.faults, self.p
        ranked = [
            Ranked(
                suspect=suspect,
                probability=float(probability),
                faults=tuple(
                    (faults[row], float(p[row])) for row in sorted(rows, key=lambda row: -p[row])
                ),
            )
            for suspect, probability, rows in zip(
                self.world.suspects, self.by_suspect(), members, strict=True
            )
        ]
        return sorted(ranked, key=lambda one: -one.probability)

    def answered(self) -> dict[str, int]:
        """Id of every check entered -> how many times."""
        counts: dict[str, int] = {}
        for entry in self.entries:
            counts[entry.check.id] = counts.get(entry.check.id, 0) + 1
        return counts

    def _likelihood(self, check: Check, reading: Reading, world: World) -> Array:
        kind = self.catalogue.kind(check.kind)
        row = np.array(kind.likelihood(check, reading, world, self.meter), dtype=np.float64)
        if row.shape != self.p.shape or not np.isfinite(row).all() or (row < 0.0).any():
            raise RegistryError(
                f"kind of check {check.kind!r}: expected {len(self.p)} likelihoods, finite and "
                f"not negative, for {check.id!r} = {reading.text!r}; got shape {row.shape}, "
                f"{int((~np.isfinite(row) | (row < 0.0)).sum())} of them unusable"
            )
        return row

    def _with(self, entries: tuple[Entry, ...]) -> Session:
        p = posterior(self._prior, joint_of(entries, len(self.p)))
        return replace(self, entries=entries, p=p)

    @property
    def _prior(self) -> Array:
        return self.catalogue.prior()


def joint_of(entries: Iterable[Entry], size: int) -> Array:
    """[size] joint log2 likelihood."""
    groups: dict[tuple[str, ...], list[Entry]] = {}
    for entry in entries:
        groups.setdefault(entry.about, []).append(entry)
    kin = [(members, _firsts(members, size)) for members in groups.values()]
    each, one, other = (
        _joint([([row(entry) for entry in members], firsts) for members, firsts in kin], size)
        for row in _WAYS
    )
    return either(each, one, other)


def _likelihood(entry: Entry) -> Array:
    return entry.likelihood


def _one_side(entry: Entry) -> Array:
    return entry.sides[0]


def _other_side(entry: Entry) -> Array:
    return entry.sides[1]


_WAYS = (_likelihood, _one_side, _other_side)


def _joint(groups: Sequence[tuple[Sequence[Array], Indices | None]], size: int) -> Array:
    """[size] of groups of rows of likelihoods about one thing each."""
    total = joint([rows[0] for rows, _ in groups if len(rows) == 1], size)
    for rows, firsts in groups:
        if len(rows) > 1:
            total = total + repeats(rows, firsts)
    return total


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


def percent(probability: float) -> str:
    """``62 %``; ``under 1 %`` and ``over 99 %`` at the ends."""
    if probability < 0.01:
        return "under 1 %"
    if probability > 0.99:
        return "over 99 %"
    return f"{100.0 * probability:.0f} %"
