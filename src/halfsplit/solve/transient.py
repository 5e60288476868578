"""Many cases of one circuit through time, with capacitors and coils.

One step has two stages of one implicit method of order two that damps all that is fast (R.
Alexander, SIAM J. Numer. Anal. 14, 1977: gamma = 1 - 1/sqrt 2). It needs nothing of the past, so
an edge costs no restart, a current that a diode cuts off does not ring, and one case can take
smaller steps than its neighbours.

The error of a step is its leading term by the differences of the three slopes at hand; behind an
edge, where there are two, as if the second difference were half of the first. All cases
take the same step; those whose error is too large, or that could not be solved, do it again in
two halves. Each stage is one DC solve (:mod:`halfsplit.solve.engine`), so a fault stays a
parameter. What this file does with numpy, transient.c does faster where it was compiled
(:mod:`halfsplit.solve.transient_compiled`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.engine import solve
from halfsplit.solve.law import Array
from halfsplit.solve.transient_compiled import Stepper
from halfsplit.solve.transient_stores import Stores

__all__ = ["GAMMA", "Guide", "March", "Now"]

Index = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]
Force = Callable[[float, Sequence[Array], Index], Array]
"""(time, parameters to write into, columns) -> volts induced in the stores [K, 1] or [K, B]."""

GAMMA = 1.0 - np.sqrt(0.5)
_LENIENT = 2.0
"""Tolerances by which a case may be off in a step that another found."""
_NEAR, _SHARE = 0.5, 0.25
"""A node goes along with the guide's within so many volts of it, or such a share of the move."""
_NO_EMF = np.zeros((1, 1))
_AGAIN = (1.0 - GAMMA) / GAMMA
_THIRD = 4.0 * GAMMA**3 + 3.0 * (1.0 - 2.0 * GAMMA) * GAMMA**2 - 1.0 / 6.0
"""What the method makes of the third derivative too much: R(z) = (1 + (1 - 2 g) z)/(1 - g z)^2
against exp(z)."""


@dataclass(frozen=True, slots=True)
class Now:
    """B cases at one moment: ``v`` [N, B], what the stores hold ``x`` [K, B] and its ``slope``
    [K, B] per second (not-a-number behind an edge)."""

    v: Array
    x: Array
    slope: Array

    def take(self, columns: Index) -> Now:
        """The cases ``columns``."""
        return Now(self.v[:, columns], self.x[:, columns], self.slope[:, columns])


@dataclass(frozen=True, slots=True)
class Guide:
    """Node voltages [N, 1] of the case that went first, at both stages and before them. Steps of
    one ``slot`` have like voltages there: a case begins with what it did the last time."""

    before: Array
    first: Array
    second: Array
    slot: int = -1


@dataclass(slots=True, kw_only=True)
class March:
    """B cases on their way.

    ``params`` for each group [P, M, B], written into; ``tolerance`` [K, 1] error of one step,
    in volts or amperes; ``shortest`` seconds below which no step is halved. ``which`` [B] are the
    numbers of the cases: one whose stage cannot be solved even so drops out.
    """

    circuit: Circuit
    stores: Stores
    params: list[Array]
    now: Now
    which: Index
    tolerance: Array
    shortest: float
    force: Force | None = None
    slots: int = 0
    _stepper: Stepper | None = None
    _touched: bool = True

    def step(self, t: float, h: float, guide: Guide | None = None) -> None:
        """All cases from ``t`` to ``t + h``."""
        lost: list[Index] = []
        columns = np.arange(self.which.size)
        if self._compiled():
            before = self._copy()
            columns = np.flatnonzero(self._step(h, guide, self.shortest))
            if columns.size:  # numpy tries harder
                self._put(columns, before.take(columns))
        if columns.size:
            self._over(columns, t, h, guide, lost)
        if lost:
            self.drop(np.concatenate(lost))

    def trial(self, t: float, h: float) -> tuple[Now, Array, Guide]:
        """One step of all cases, without taking it; its error [B] in tolerances; and the first
        case as a guide for others."""
        columns = np.arange(self.which.size)
        if not self._compiled():
            return self._try(columns, self.params, self.stores, self.now, t, h, None)
        before = self._copy()
        lost = self._step(h, None, h)
        new, self.now = self.now, before
        new.v[:, lost] = np.nan
        assert self._stepper is not None
        shown = (before.v[:, :1], self._stepper.middle[:, None], new.v[:, :1])
        first, middle, last = (volts.copy() for volts in shown)  # steps to come write over these
        guide = Guide(first, middle, last)
        return new, self._stepper.error.copy(), guide

    def edge(self, columns: Index | slice = slice(None)) -> None:
        """Parameters jumped: slopes of the past say nothing any more."""
        self.now.slope[:, columns] = np.nan
        self._touched = True

    def accept(self, new: Now) -> None:
        """Take the step of a :meth:`trial`."""
        self.now = new

    def _compiled(self) -> bool:
        """Whether the compiled steps can be used; they do not know a force."""
        if self.force is not None:
            return False
        if self._stepper is None:
            self._stepper, self._touched = Stepper.make(self.stores), True
            if self._stepper is not None:
                self._stepper.remember(self.slots)
        return self._stepper is not None

    def _step(self, h: float, guide: Guide | None, shortest: float) -> Mask:
        assert self._stepper is not None
        self.now = Now(*(np.ascontiguousarray(x) for x in (self.now.v, self.now.x, self.now.slope)))
        if self._touched:  # the stores are transient.c's own; what numpy wrote there must not count
            self.params[self.stores.group][0, self.stores.members] = 0.0
        guided = None
        if guide is not None:
            guided = np.concatenate((guide.before, guide.first, guide.second), axis=1).T
        lost = self._stepper.step(
            self.params, self.stores, self.now.x, self.now.slope, self.now.v, guided,
            slot=-1 if guide is None else guide.slot, tolerance=self.tolerance, h=h,
            shortest=shortest, gamma=GAMMA, third=_THIRD, reload=self._touched,
        )  # fmt: skip
        self._touched = False
        return lost

    def _copy(self) -> Now:
        return Now(self.now.v.copy(), self.now.x.copy(), self.now.slope.copy())

    def _over(
        self, columns: Index, t: float, h: float, guide: Guide | None, lost: list[Index]
    ) -> Index:
        """Cases ``columns`` over one step, in halves where one will not do; which are left."""
        whole = columns.size == self.which.size
        params = self.params if whole else [p[:, :, columns] for p in self.params]
        stores = self.stores if whole else self.stores.take(columns)
        start = self.now if whole else self.now.take(columns)
        new, error, _ = self._try(columns, params, stores, start, t, h, guide)
        solved = np.isfinite(new.v).all(axis=0)
        small = h < 2.0 * self.shortest
        good = solved & (small | (error <= (1.0 if guide is None else _LENIENT)))
        self._put(columns[good], new.take(np.flatnonzero(good)))
        again = columns[~good]
        if small and again.size:
            lost.append(again)
            return columns[good]
        for begin in (t, t + 0.5 * h):
            if again.size:
                again = self._over(again, begin, 0.5 * h, None, lost)
        return np.concatenate((columns[good], again))

    def _try(
        self, columns: Index, params: list[Array], stores: Stores, at: Now, t: float, h: float,
        guide: Guide | None,
    ) -> tuple[Now, Array, Guide]:  # fmt: skip
        gh = GAMMA * h
        ahead = at.v if guide is None else _along(at.v, guide.before, guide.first)
        v1, x1 = self._stage(columns, params, stores, at.x, gh, t + gh, ahead)
        base = at.x + _AGAIN * (x1 - at.x)
        ahead = v1 if guide is None else _along(v1, guide.first, guide.second)
        v2, x2 = self._stage(columns, params, stores, base, gh, t + h, ahead)
        slope1, slope2 = (x1 - at.x) / gh, (x2 - base) / gh
        late = (slope2 - slope1) / (h - gh)
        early = (slope1 - at.slope) / gh
        bend = late - np.where(np.isnan(early), 0.5 * late, early)
        error = np.abs(_THIRD * 2.0 * bend * h * h) / self.tolerance
        worst = np.nan_to_num(error, nan=0.0).max(axis=0, initial=0.0)
        return Now(v2, x2, slope2), worst, Guide(at.v[:, :1], v1[:, :1], v2[:, :1])

    def _stage(
        self, columns: Index, params: list[Array], stores: Stores, x: Array, gh: float, t: float,
        guess: Array,
    ) -> tuple[Array, Array]:  # fmt: skip
        emf = _NO_EMF if self.force is None else self.force(t, params, columns)
        stores.write(params, x, gh, emf)
        done = solve(self.circuit, params, np.nan_to_num(guess))
        return done.v, stores.after(stores.amps(params, done.v), x, gh)

    def _put(self, columns: Index, new: Now) -> None:
        if columns.size == self.which.size:
            self.now = new
            return
        self.now.v[:, columns] = new.v
        self.now.x[:, columns] = new.x
        self.now.slope[:, columns] = new.slope

    def drop(self, columns: Index) -> None:
        """Go on without these cases."""
        left = np.setdiff1d(np.arange(self.which.size), columns)
        self.which, self.now = self.which[left], self.now.take(left)
        self.params, self.stores = [p[:, :, left] for p in self.params], self.stores.take(left)
        self._stepper = None


def _along(v: Array, before: Array, after: Array) -> Array:
    """Volts [N, B] moved as the guide's are, from ``before`` to ``after`` [N, 1], where they are
    near it: what a fault holds elsewhere does not follow."""
    move = after - before
    near = np.abs(v - before) <= np.maximum(_NEAR, _SHARE * np.abs(move))
    return np.where(near, v + move, v)
