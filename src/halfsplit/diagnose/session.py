"""What is believed after some readings. A session is frozen; a reading gives a new one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from halfsplit.belief.after import FAILED, Mask, Split, across_repairs
from halfsplit.belief.posterior import Array, Indices, group_sums, surprise
from halfsplit.build.fault import Fault, Suspect
from halfsplit.build.one_side import OneSide
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Limits, Meter, Reading
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.cures import cured_by, fresh_work, known_suspect
from halfsplit.diagnose.entry import Entry, joint_of
from halfsplit.errors import RegistryError, UnknownName
from halfsplit.frozen import dataclass

__all__ = ["Ranked", "Session", "percent"]

VOLTS = "volts"
OF_REMOVED = frozenset({"parttest"})
"""Kinds of check that tell about a part that was taken out, whatever is in its place now."""


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
    """A board, a meter, limits, the readings and repairs so far, and what follows from them:
    ``cause`` [F + 1] what was wrong to begin with, ``p`` [F + 1] what is wrong now. They differ
    only by what repairs have put right, which counts as healthy."""

    world: World
    meter: Meter
    limits: Limits
    catalogue: Catalogue
    group: Indices
    """[F + 1] index into ``world.suspects``; one past its end for healthy."""
    entries: tuple[Entry, ...]
    cause: Array
    p: Array
    cured_at: Indices
    """[F + 1] number of the last repair (from 1) that should have put each fault right, or 0."""
    tries: Indices
    """[F + 1] how many repairs should have put it right."""
    done: tuple[str, ...] = ()
    """Ids of the suspects repaired, in order."""

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
            cause=catalogue.prior(),
            p=catalogue.prior(),
            cured_at=np.zeros(len(catalogue.prior()), dtype=np.int64),
            tries=np.zeros(len(catalogue.prior()), dtype=np.int64),
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
        of_removed = check.kind in OF_REMOVED
        entry = Entry(
            number=number,
            check=check,
            reading=reading,
            about=self.catalogue.about(check),
            expects=self.catalogue.forecast(check),
            likelihood=row,
            sides=(sides[0], sides[1]),
            raw=(row, sides[0], sides[1]),
            shown=self._shown(check, reading),
            surprise=surprise(self.p, row),
            epoch=0 if of_removed else len(self.done),
        )
        return self._with((*self.entries, self._as_now(entry)))

    def _shown(self, check: Check, reading: Reading) -> tuple[float, float] | None:
        value = reading.value if check.kind == VOLTS else None
        if value is None or not np.isfinite(value):
            return None
        return value, float(self.meter.volts_error(value))

    def repaired(self, suspect: str) -> Session:
        """The session after the repair of a suspect, or of two joined by `` + ``. Readings from
        now on are of the board as it is then. Raises :class:`UnknownName`."""
        known_suspect(self.world, suspect)
        mask = np.append(cured_by(self.world, suspect), False)
        number = len(self.done) + 1
        cured_at = np.where(mask, number, self.cured_at)
        done, tries = (*self.done, suspect), self.tries + mask
        after = replace(self, done=done, cured_at=cured_at, tries=tries)
        return after._with(self.entries)

    def _as_now(self, entry: Entry) -> Entry:
        """The entry as it reads after the repairs so far: what they cured reads as a good board
        does, unless the repair did not take."""
        if entry.epoch == 0:
            return entry
        row, one, other = (
            np.where(self.cured_at > 0, (1.0 - FAILED) * raw[0] + FAILED * raw, raw)
            for raw in entry.raw
        )
        return replace(entry, likelihood=row, sides=(one, other))

    def without(self, number: int) -> Session:
        """As if the entry of that number had not been made; the others keep their numbers.

        Raises :class:`UnknownName`.
        """
        if all(entry.number != number for entry in self.entries):
            raise UnknownName("entry", str(number), [str(entry.number) for entry in self.entries])
        rest = tuple(entry for entry in self.entries if entry.number != number)
        return self._with(()).told(rest)

    def before_repairs(self) -> Session:
        """As it stood when the first repair was begun: what was known then."""
        known = tuple(entry for entry in self.entries if entry.epoch == 0)
        untouched = np.zeros_like(self.tries)
        return replace(self, done=(), cured_at=untouched, tries=untouched)._with(()).told(known)

    def p_without(self, number: int) -> Array:
        """[F + 1] the belief without one entry; cheaper than :meth:`without`."""
        rest = [entry for entry in self.entries if entry.number != number]
        return self._belief(rest).now

    def cause_after(self, count: int) -> Array:
        """[F + 1] what was wrong to begin with, as the first ``count`` entries tell it."""
        return self._belief(self.entries[:count]).cause

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
        group, faults, p = self.group.tolist(), self.world.faults, self.p.tolist()
        for row in np.argsort(-self.p[:-1], kind="stable").tolist():
            if group[row] < len(members):
                members[group[row]].append(row)
        ranked = [
            Ranked(
                suspect=suspect,
                probability=float(probability),
                faults=tuple((faults[row], p[row]) for row in rows),
            )
            for suspect, probability, rows in zip(
                self.world.suspects, self.by_suspect(), members, strict=True
            )
        ]
        return sorted(ranked, key=lambda one: -one.probability)

    def answered(self) -> dict[str, int]:
        """Id of every check entered since the last repair, or of parts as they were before it ->
        how many times."""
        counts: dict[str, int] = {}
        for entry in self.entries:
            if entry.epoch == len(self.done) or entry.check.kind in OF_REMOVED:
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

    def told(self, entries: tuple[Entry, ...]) -> Session:
        """The session with these entries, each weighed as the readings before it make it."""
        session = self
        for entry in entries:
            shown = replace(self._as_now(entry), surprise=surprise(session.p, entry.raw[0]))
            session = session._with((*session.entries, shown))
        return session

    def _with(self, entries: tuple[Entry, ...]) -> Session:
        split = self._belief(entries)
        return replace(self, entries=entries, cause=split.cause, p=split.now)

    def _belief(self, entries: Iterable[Entry]) -> Split:
        size = len(self._prior)
        epochs: list[list[Entry]] = [[] for _ in range(len(self.done) + 1)]
        for entry in entries:
            epochs[entry.epoch].append(entry.plain)
        return across_repairs(
            self._prior,
            [joint_of(epoch, size) for epoch in epochs],
            self.cured_at,
            self.tries,
            self._harm(),
        )

    def _harm(self) -> list[Mask]:
        """[F + 1] for each repair: what its work may have made and no later one put right."""
        found = []
        for at, name in enumerate(self.done):
            mask = fresh_work(self.world, name)
            for later in self.done[at + 1 :]:
                mask = mask & ~cured_by(self.world, later)
            found.append(np.append(mask, False))
        return found

    @property
    def _prior(self) -> Array:
        return self.catalogue.prior()


def percent(probability: float) -> str:
    """``62 %``; ``under 1 %`` and ``over 99 %`` at the ends."""
    if probability < 0.01:
        return "under 1 %"
    if probability > 0.99:
        return "over 99 %"
    return f"{100.0 * probability:.0f} %"
