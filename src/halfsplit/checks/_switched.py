"""A coil's end at the moment it is switched off: how high it goes, and how long until it rests.

The transient engine plays it for the faults near the line: those of its parts, and of the parts
that share a net with these. All others leave it as it is on a good board.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from typing import ClassVar
from weakref import WeakKeyDictionary

import numpy as np

from halfsplit.build.compiled import Compiled
from halfsplit.build.transient import run
from halfsplit.build.transient_schedule import Schedule, read_schedule
from halfsplit.build.world import Numbers, World
from halfsplit.checks._answers import read_number
from halfsplit.checks._base import Kind
from halfsplit.checks._cautions import slip
from halfsplit.checks._exercise import exercise_of
from halfsplit.checks._expected import expected_span
from halfsplit.checks._grid import Grid
from halfsplit.checks._numeric import Predicted, likelihood, outcome_tables, predicted
from halfsplit.checks._places import where
from halfsplit.checks._recorded import Bits, Stage, stage_at
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["AFTER", "Switched", "SwitchedKind", "carries", "coil_at", "near", "shape", "switched"]

COILS = frozenset({"winding", "coil", "solenoid", "relay"})

LEFT = 0.1
"""Of the swing: a line has left a level, or come to rest, when it is so far from it."""
LEAST_SWING = 0.3
"""V; less is no switching (judgement)."""
AFTER = 3.0
"""Steps that are watched after it is switched off."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Switched:
    """``peak`` [F] V, the highest after the line is switched off; ``settle`` [F] s from leaving
    its level to resting; not-a-number where it does not switch, or nobody knows."""

    peak: Array
    settle: Array


class SwitchedKind(Kind):
    """What both kinds share. Never offered: each line costs half a second to predict; a capture
    gives them, and a person may enter them."""

    takes = "place"
    usual_setup = "powered"
    usual_minutes = 4.0
    spread: ClassVar[float]
    """Standard deviation of the natural log, tolerances and instrument together (judgement)."""
    asks: ClassVar[str]

    @abstractmethod
    def grid(self) -> Grid:
        """Its bins."""

    @abstractmethod
    def of(self, found: Switched) -> Array:
        """[F] its quantity."""

    def offers(self, world: World) -> Sequence[Check]:
        return []

    def risk(self, check: Check, world: World) -> float:
        return slip(check, world)

    def sentence(self, check: Check, world: World) -> str:
        played = _schedule_text(check.places[0], world)
        how = f" and play: {played}" if played else ""
        return f"Put a scope on {where(check.places[0], world)}{how}. {self.asks}"

    def read(self, check: Check, text: str, world: World) -> Reading:
        reading = read_number(text, self.unit, over=False, what=f"{self.name} at {check.places[0]}")
        if reading.value is not None and reading.value < 0.0:
            raise ReadingError(f"expected a {self.name} of 0 or more, got {text}; type ? if unsure")
        return reading

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        found = []
        for check in checks:
            found += outcome_tables(self.grid(), self._predict(check, world), meter.misread)
        return found

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        return likelihood(self.grid(), self._predict(check, world), reading, meter.misread)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return expected_span(self._predict(check, world), self._numbers(check, world), self.grid())

    def _predict(self, check: Check, world: World) -> Predicted:
        numbers = self._numbers(check, world)
        return predicted(numbers, self.grid())

    def _numbers(self, check: Check, world: World) -> Numbers:
        mean = self.of(switched(check.places[0], world))[:, None]
        unresolved = np.isnan(mean)
        return Numbers(
            mean=mean,
            spread=np.where(unresolved, np.nan, self.spread),
            other=np.full_like(mean, np.nan),
            other_spread=np.full_like(mean, np.nan),
            floating=np.zeros_like(unresolved),
            unresolved=unresolved,
        )


def coil_at(net: str, world: World) -> str:
    """Designator of a coil that ends on the net, empty without."""
    if net in world.supply_pin_nets:
        return ""
    coils = (p for p in world.board.parts if p.kind in COILS and net in p.pins.values())
    return next((part.designator for part in coils), "")


def carries(stage: Stage, coil: str, world: World) -> Bits:
    """[S] whether a good board's coil carries half of its largest current or more."""
    amperes = np.array([abs(world.current(s, [coil]).mean[0, 0]) for s in stage.states])
    on: Bits = amperes > 0.5 * np.nanmax(amperes)
    return on


def shape(time: Array, volts: Array, off: float) -> Switched:
    """Of waveforms ``volts`` [F, K] at ``time`` [K] s, switched off at ``off`` s and watched to the
    end."""
    before = volts[:, max(int(np.searchsorted(time, off)) - 1, 0)][:, None]
    after = time >= off
    own, t = volts[:, after], time[after]
    rest = own[:, -1:]
    swing = np.abs(rest - before)
    whole = np.isfinite(own).all(axis=1)
    begin = _crossing(t, np.abs(own - before), LEFT * swing)
    end = -_crossing(-t[::-1], np.abs(own - rest)[:, ::-1], LEFT * swing)
    return Switched(
        peak=np.where(whole, own.max(axis=1), np.nan),
        settle=np.where(whole & (swing[:, 0] > LEAST_SWING), np.maximum(end - begin, 0.0), np.nan),
    )


def _crossing(time: Array, away: Array, limit: Array) -> Array:
    """[F] when ``away`` [F, K] first rises beyond ``limit`` [F, 1], by straight lines."""
    rows = np.arange(len(away))
    after = np.maximum((away > limit).argmax(axis=1), 1)
    low, high = away[rows, after - 1], away[rows, after]
    part = np.clip((limit[:, 0] - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    crossed: Array = time[after - 1] + part * (time[after] - time[after - 1])
    return crossed


def switched(place: str, world: World) -> Switched:
    """Under every fault, by the transient engine; nothing known where that cannot play it. Raises
    PlaceError."""
    net = world.place(place).net
    if not isinstance(world, Compiled):
        return _nothing(world)
    known = _KNOWN.setdefault(world, {})
    if net not in known:
        known[net] = _play(net, place, world)
    return known[net]


_KNOWN: WeakKeyDictionary[Compiled, dict[str, Switched]] = WeakKeyDictionary()


def _nothing(world: World) -> Switched:
    nothing = np.full(len(world.faults), np.nan)
    return Switched(peak=nothing, settle=nothing)


def _play(net: str, place: str, world: Compiled) -> Switched:
    text = _schedule_text(place, world)
    if not text:
        return _nothing(world)
    schedule: Schedule = read_schedule(text)
    rows = near(net, world)
    ids = [world.faults[0].id, *(world.faults[row].id for row in rows)]
    played = run(world, schedule, faults=ids, places=[f"net {net}"])
    off = schedule.phases[0].seconds + schedule.phases[1].seconds
    found = shape(played.time, played.volts[f"net {net}"], off)
    peak = np.full(len(world.faults), found.peak[0])
    settle = np.full(len(world.faults), found.settle[0])
    peak[rows], settle[rows] = found.peak[1:], found.settle[1:]
    return Switched(peak=peak, settle=settle)


def _schedule_text(place: str, world: World) -> str:
    """Off, on, off; empty where no state switches a coil there."""
    coil = coil_at(world.place(place).net, world)
    if not coil:
        return ""
    stage = stage_at(place, world)
    on = carries(stage, coil, world)
    if on.all() or not on.any():
        return ""
    step = exercise_of(stage, world).step
    low, high = stage.states[int((~on).argmax())], stage.states[int(on.argmax())]
    wait, hold, watch = (
        format_quantity(seconds, "s").replace(" ", "") for seconds in (2 * step, step, AFTER * step)
    )
    return f"{low} {wait}, {high} {hold}, {low} {watch}"


def near(net: str, world: Compiled) -> list[int]:
    """Rows of the faults near the net."""
    rails = world.supply_pin_nets
    parts = world.board.parts

    def touching(nets: set[str]) -> set[str]:
        return {part.designator for part in parts if nets & set(part.pins.values())}

    own = touching({net})
    nets = {n for part in parts if part.designator in own for n in part.pins.values()} - rails
    near = touching(nets)
    return [
        row
        for row, fault in enumerate(world.faults)
        if row and (fault.designator in near or any(pin.designator in near for pin in fault.pins))
    ]
