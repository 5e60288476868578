"""How well predictions for a good board agree with the independent simulator, check by check."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from halfsplit.build.fault import HEALTHY
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.frozen import dataclass
from halfsplit.trial.stand import Bench, Stand

__all__ = ["Agreement", "Compared", "agreement"]

_FAR = 50.0
"""Spreads counted where one is open and the other is not, or the simulator found nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One reading: predicted mean and spread (of the logarithm for ohms), what the simulator
    gives for each board drawn, and how many spreads their median is away."""

    check: Check
    mean: float
    spread: float
    played: tuple[float, ...]
    away: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Readings of some kinds of check, the farthest first."""

    compared: tuple[Compared, ...]

    def share_beyond(self, spreads: float) -> float:
        """Share of readings that are farther away than that."""
        far = sum(one.away > spreads for one in self.compared)
        return far / len(self.compared) if self.compared else 0.0

    def table(self, most: int = 20) -> str:
        """Figures and the farthest readings."""
        rows = [
            f"{len(self.compared)} readings, {self.share_beyond(2.0):.0%} beyond 2 spreads, "
            f"{self.share_beyond(3.0):.0%} beyond 3"
        ]
        for one in self.compared[:most]:
            played = ", ".join(f"{value:.4g}" for value in one.played)
            rows.append(
                f"  {one.away:5.1f}  {one.check.id}: predicted {one.mean:.4g} "
                f"(spread {one.spread:.2g}), played {played}"
            )
        return "\n".join(rows) + "\n"


def agreement(world: World, kinds: Sequence[str], *, boards: int = 3, seed: int = 1) -> Agreement:
    """Compare every offered check of the kinds (volts, ohms, diode) on good boards."""
    healthy = next(fault for fault in world.faults if fault.id == HEALTHY)
    benches = [Bench() for _ in range(boards)]
    try:
        stands = [
            Stand(world.board, healthy, seed * 1000 + k, bench) for k, bench in enumerate(benches)
        ]
        found = [
            _compare(check, world, stands)
            for name in kinds
            for check in CHECKS.get(name).offers(world)
        ]
    finally:
        for bench in benches:
            bench.close()
    return Agreement(compared=tuple(sorted(found, key=lambda one: -one.away)))


def _compare(check: Check, world: World, stands: Sequence[Stand]) -> Compared:
    mean, spread = _predicted(check, world)
    played = tuple(math.nan if (v := _played(check, each)) is None else v for each in stands)
    return Compared(
        check=check, mean=mean, spread=spread, played=played,
        away=_away(check.kind, mean, spread, played),
    )  # fmt: skip


def _predicted(check: Check, world: World) -> tuple[float, float]:
    if check.kind == "volts":
        numbers = world.volts(check.state, check.places)
    else:
        pair = [(check.places[0], check.places[1])]
        numbers = world.ohms(pair) if check.kind == "ohms" else world.diode(pair)
    return float(numbers.mean[0, 0]), float(numbers.spread[0, 0])


def _played(check: Check, stand: Stand) -> float | None:
    if check.kind == "volts":
        return stand.volts(check.places[0], check.state)
    red, black = check.places
    return stand.ohms(red, black) if check.kind == "ohms" else stand.diode(red, black)


def _away(kind: str, mean: float, spread: float, played: Sequence[float]) -> float:
    meter = Meter()
    if any(math.isnan(value) for value in (mean, spread, *played)):
        return _FAR
    value = statistics.median(played)
    if math.isinf(value) or math.isinf(mean):
        return 0.0 if value == mean else _FAR
    if kind == "ohms":
        own = meter.ohms_relative
        return abs(math.log((value + 0.5) / (mean + 0.5))) / math.hypot(spread, own)
    own = meter.volts_absolute + meter.volts_relative * abs(mean)
    return abs(value - mean) / math.hypot(spread, own)
