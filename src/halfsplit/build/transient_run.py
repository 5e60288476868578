"""The walk itself: the healthy board finds the steps, the faults follow in them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import field, replace

import numpy as np
import numpy.typing as npt

from halfsplit.build.clocking import Bits
from halfsplit.build.parameters import Overlay
from halfsplit.build.transient_network import Case, Network
from halfsplit.build.transient_schedule import Schedule
from halfsplit.errors import ScheduleError, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.loops import let_fall
from halfsplit.solve.persistent import persist
from halfsplit.solve.transient import Guide, March, Now
from halfsplit.solve.transient_stores import AT_REST, Stores

__all__ = ["Course", "Emf", "Runner"]

Index = npt.NDArray[np.intp]

_FINEST = 64.0
"""A fault's step is at most so many times shorter than the first behind an edge."""
_GROWTH, _SHRINK, _SAFETY = 4.0, 0.2, 0.9
_TURNS = 8
_ALIKE = 0.01
"""Steps are alike that begin, go and end within so many volts of each other."""
_STIRRED = 0.01
"""A clocked element looks again when one of its pins has moved by so much, V."""
_PER_PHASE, _PER_SWING = 4.0, 40.0
_MOST_KNOWN = 24
_MOST_STEPS = 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Emf:
    """Volts that motion induces in a winding: ``volts`` [J] at ``time`` [J] seconds, against a
    current into its pin 1; between them straight lines. The same for every fault."""

    designator: str
    time: Array
    volts: Array


@dataclass(frozen=True, slots=True)
class Course:
    """K times [K]; what is set from each on (None: as before); and the healthy board's guide for
    the step to each (None for the first)."""

    time: Array
    sets: Sequence[Overlay | None]
    guides: Sequence[Guide | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Runner:
    """One schedule on one network. ``steps``: what is set, and from when."""

    network: Network
    schedule: Schedule
    steps: tuple[tuple[float, Overlay], ...]
    longest: float
    tolerance: Array
    emf: tuple[tuple[int, Emf], ...]

    @classmethod
    def make(
        cls, network: Network, schedule: Schedule, *, longest: float | None, accuracy: float,
        emf: Sequence[Emf],
    ) -> Runner:  # fmt: skip
        """Raises UnknownName and ScheduleError."""
        board = network.assembly.board
        steps = tuple((at.at, network.moment(at)) for at in schedule.moments(board))
        rails = [rail.net for rail in board.rails]
        for sine in schedule.sines:
            if sine.rail not in rails:
                raise UnknownName("rail that could swing", sine.rail, rails)
        most = longest or min(phase.seconds for phase in schedule.phases) / _PER_PHASE
        most = min([most, *(1.0 / sine.hertz / _PER_SWING for sine in schedule.sines)])
        if most <= 0.0 or schedule.seconds / most > _MOST_STEPS:
            raise ScheduleError(
                f"{schedule.seconds:g} s in steps of at most {most:g} s are too many steps; "
                "play a shorter time"
            )
        return cls(
            network=network, schedule=schedule, steps=steps, longest=most,
            tolerance=accuracy * network.scales(), emf=_windings(network, emf),
        )  # fmt: skip

    def lead(self, healthy: Case) -> Course:
        """Take the healthy board through, with steps as long as its error allows."""
        walk = _Walk.start(self, [healthy])
        time, sets, guides = [0.0], list[Overlay | None]([None]), list[Guide | None]([None])
        end = self.schedule.seconds
        changes = [(at, what) for at, what in self.steps if at > 0.0]
        for until, what in [*changes, (end, ())]:
            for guide in walk.towards(until):
                time.append(walk.t)
                sets.append(None)
                guides.append(guide)
            if until < end:
                walk.set(what)
                sets[-1] = what
        return Course(np.asarray(time), sets, _in_slots(guides))

    def follow(self, course: Course, cases: Sequence[Case]) -> Iterator[March]:
        """Take ``cases`` along; the march after each of the course's times, before what is set
        then."""
        walk = _Walk.start(self, cases)
        walk.march.slots = 1 + max((guide.slot for guide in course.guides if guide), default=-1)
        yield walk.march
        pairs = zip(course.time[:-1], course.time[1:], strict=True)
        for k, (t, until) in enumerate(pairs, start=1):
            walk.step(float(t), float(until - t), course.guides[k])
            yield walk.march
            what = course.sets[k]
            if what is not None:
                walk.set(what)

    @property
    def shortest(self) -> float:
        """Seconds below which no step is halved."""
        return self.schedule.gap / _FINEST


@dataclass(slots=True)
class _Walk:
    """B cases on their way: the march, the stored bits, and what the pins of clocked elements
    read when they last looked [pins, B]."""

    runner: Runner
    cases: list[Case]
    march: March
    bits: Bits
    pins: Index
    seen: Array
    rails: Array
    """[rails that swing, B]: what a fault makes of the volts of each."""
    t: float = 0.0
    known: dict[Overlay, tuple[list[Array], Stores]] = field(default_factory=dict)
    """Parameters and stores of what was set before."""

    @classmethod
    def start(cls, runner: Runner, cases: Sequence[Case]) -> _Walk:
        """The board settled in the first phase."""
        network = runner.network
        circuit, width = network.circuit, len(cases)
        bits = Bits.at_power_up(circuit, network.assembly.clocked, width)
        v: Array | None = None
        still = np.zeros((len(network.stores), width))
        for at, what in runner.steps:
            if at > 0.0:
                break
            params, stores = network.parameters(what, cases)
            stores.write(params, still, AT_REST, _emf(runner, 0.0))
            rails = _swing(runner, params, 0.0, None)
            for _ in range(_TURNS):
                bits.write(params, slice(None))
                before = None if v is None else np.nan_to_num(v)
                done, _ = persist(circuit, params, before)
                fallen = let_fall(circuit, params, done.v, before)
                v = done.v
                v[:, fallen.columns] = fallen.v
                if not bits.advance(np.nan_to_num(v), params).any():
                    break
        assert v is not None
        alive = np.flatnonzero(np.isfinite(v).all(axis=0))
        now = Now(v, stores.settled(params, np.nan_to_num(v)), still)
        march = March(
            circuit=circuit, stores=stores, params=params, now=now, which=np.arange(width),
            tolerance=runner.tolerance, shortest=runner.shortest,
        )  # fmt: skip
        pins = sorted(
            {
                int(node)
                for at in network.assembly.clocked
                for node in _nodes_of(network, at.key)
                if node < circuit.size
            }
        )
        walk = cls(
            runner, list(cases), march, bits, np.asarray(pins, dtype=np.intp),
            now.v[pins], rails,
        )  # fmt: skip
        if runner.schedule.sines or runner.emf:
            march.force = walk._force
        if alive.size < width:
            march.drop(np.flatnonzero(~np.isfinite(v).all(axis=0)))
            walk._keep(alive)
        return walk

    def towards(self, until: float) -> Iterator[Guide]:
        """Steps of one case as long as its error allows, up to ``until``."""
        runner, march = self.runner, self.march
        h = runner.schedule.gap
        while until - self.t > 1e-12 * max(until, 1.0):
            left = until - self.t
            h = min(h, left if left <= 1.1 * h else max(0.5 * left, h) if left < 2 * h else h)
            new, error, guide = march.trial(self.t, h)
            solved, small = bool(np.isfinite(new.v).all()), h < 2.0 * runner.shortest
            if small and not solved:
                raise ScheduleError(
                    f"the healthy board could not be solved {self.t:g} s into the schedule"
                )
            if not small and not (solved and error[0] <= 1.0):
                h *= max(_SHRINK, _SAFETY * float(error[0]) ** (-1 / 3)) if solved else _SHRINK
                continue
            march.accept(new)
            self._arrive(self.t + h)
            yield guide
            h = min(
                h * min(_GROWTH, _SAFETY * max(float(error[0]), 1e-9) ** (-1 / 3)), runner.longest
            )

    def step(self, t: float, h: float, guide: Guide | None) -> None:
        """All cases from ``t`` to ``t + h``, and the clocked elements with them."""
        before = self.march.which
        self.march.step(t, h, guide)
        if self.march.which.size < before.size:
            self._keep(np.flatnonzero(np.isin(before, self.march.which)))
        self._arrive(t + h)

    def _arrive(self, t: float) -> None:
        """It is ``t`` now: clocked elements look at their pins."""
        self.t = t
        if not self.pins.size:
            return
        pins = self.march.now.v[self.pins]
        if np.abs(pins - self.seen).max(initial=0.0) > _STIRRED:
            self.seen = pins.copy()
            changed = np.flatnonzero(self.bits.advance(self.march.now.v, self.march.params))
            if changed.size:
                self.bits.write(self.march.params, slice(None))
                self.march.edge(changed)

    def set(self, what: Overlay) -> None:
        """From now on ``what`` is set."""
        march = self.march
        march.params, march.stores = self._parameters(what)
        self.rails = _swing(self.runner, march.params, self.t, None)
        self.bits.write(march.params, slice(None))
        march.edge()

    def _parameters(self, what: Overlay) -> tuple[list[Array], Stores]:
        if what not in self.known or self.runner.schedule.sines:  # those write into them
            if len(self.known) >= _MOST_KNOWN:
                self.known.clear()
            self.known[what] = self.runner.network.parameters(what, self.cases)
        return self.known[what]

    def _force(self, t: float, params: Sequence[Array], columns: Index) -> Array:
        _swing(self.runner, params, t, self.rails[:, columns])
        return _emf(self.runner, t)

    def _keep(self, columns: Index) -> None:
        """Go on with these cases only."""
        self.cases = [self.cases[k] for k in columns]
        self.known.clear()
        self.seen, self.rails = self.seen[:, columns], self.rails[:, columns]
        sure = self.bits.sure
        self.bits = self.bits.take(columns)
        self.bits.sure = None if sure is None else sure[:, columns]


def _in_slots(guides: Sequence[Guide | None]) -> list[Guide | None]:
    """The guides with their slots: those whose voltages are alike share one."""
    shown = [
        np.concatenate((guide.before, guide.first, guide.second))[:, 0]
        for guide in guides
        if guide is not None
    ]
    kept = np.empty_like(shown)
    slots, used = list[int](), 0
    for here in shown:
        apart = np.abs(kept[:used] - here).max(axis=1)
        slot = int(np.argmin(apart)) if used and apart.min() < _ALIKE else used
        kept[slot] = here
        slots.append(slot)
        used = max(used, slot + 1)
    numbers = iter(slots)
    return [None if guide is None else replace(guide, slot=next(numbers)) for guide in guides]


def _swing(runner: Runner, params: Sequence[Array], t: float, factors: Array | None) -> Array:
    """Write the volts of swinging rails; without ``factors`` [rails, B] find them: what a fault
    makes of the volts typed."""
    swings = runner.network.swings(runner.schedule.sines)
    if not swings:
        return np.zeros((0, params[0].shape[2]))
    if factors is None:
        base = [runner.network.circuit.groups[g].base[1, m] for _, g, m in swings]
        found = [params[g][1, m] / volts for (_, g, m), volts in zip(swings, base, strict=True)]
        factors = np.asarray(found)
    for (sine, group, member), factor in zip(swings, factors, strict=True):
        params[group][1, member] = sine.at(t) * factor
    return factors


def _emf(runner: Runner, t: float) -> Array:
    """[K, 1] volts induced in the stores."""
    found = np.zeros((len(runner.network.stores), 1))
    for k, emf in runner.emf:
        found[k] = np.interp(t, emf.time, emf.volts)
    return found


def _windings(network: Network, emf: Sequence[Emf]) -> tuple[tuple[int, Emf], ...]:
    coils = {at.designator: k for k, at in enumerate(network.stores) if at.store.what == "coil"}
    for one in emf:
        if one.designator not in coils:
            raise UnknownName("coil or winding", one.designator, coils)
    return tuple((coils[one.designator], one) for one in emf)


def _nodes_of(network: Network, key: tuple[str, str]) -> Index:
    group, member = network.circuit.where[key]
    return network.circuit.groups[group].nodes[3:, member]
