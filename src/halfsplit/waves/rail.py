"""A supply rail: ripple, dips, and whether they come with odd events more than by chance."""

from __future__ import annotations

import math

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import Array

__all__ = ["Coincidence", "Dip", "Rail", "coincidence", "read_rail"]

MAINS = (50.0, 60.0)
"""Hz."""

SURPRISING = 0.01
"""Chance below which coming together is called no accident (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dip:
    """The rail fell below its limit at ``time`` for ``span`` (s), down to ``lowest`` V."""

    time: float
    span: float
    lowest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """``mean`` V, ``ripple`` V peak to peak (central 99 % of the samples outside dips), ``hertz``
    of its strongest component (not-a-number without one), ``source`` in words, ``dips``."""

    mean: float
    ripple: float
    hertz: float
    source: str
    dips: tuple[Dip, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coincidence:
    """``hits`` of ``events`` fall within the window of a dip; the dips cover the part ``covered``
    of the record; ``chance`` of so many hits or more if the events came at random."""

    hits: int
    events: int
    covered: float
    chance: float

    @property
    def words(self) -> str:
        if not self.events or not self.covered:
            return "There is nothing to come together: no odd events, or no dips."
        odds = "1 in more than a million" if self.chance < 1e-6 else f"{self.chance:.2g}"
        verdict = (
            "that is no accident" if self.chance < SURPRISING else "that may well be an accident"
        )
        return (
            f"{self.hits} of {self.events} odd events come with a dip, which covers "
            f"{100 * self.covered:.2g} % of the record: chance {odds}, {verdict}."
        )


def read_rail(start: float, interval: float, volts: Array, lowest: float) -> Rail:
    """Read a rail sampled every ``interval`` s from ``start`` s on; it dips below ``lowest`` V,
    until it is back above by a tenth of the way to its mean. Raises :class:`WaveError`."""
    volts = np.asarray(volts, float)
    if len(volts) < 8 or not np.isfinite(volts).all():
        raise WaveError(f"expected at least 8 samples that are numbers, got {len(volts)}")
    if not interval > 0:
        raise WaveError(f"expected a sample interval above 0 s, got {interval:g}")
    mean = float(np.median(volts))
    if mean <= lowest:
        raise WaveError(
            f"expected a rail mostly above {lowest:g} V, got {mean:.3g} V in the middle: it is low "
            "all the time, or these are not volts"
        )
    dips, inside = _dips(start, interval, volts, lowest, lowest + 0.1 * (mean - lowest))
    calm = volts[~inside] if (~inside).sum() >= 8 else volts
    ripple = float(np.quantile(calm, 0.995) - np.quantile(calm, 0.005))
    hertz = _strongest(interval, np.where(inside, mean, volts))
    return Rail(mean=mean, ripple=ripple, hertz=hertz, source=_source(hertz), dips=dips)


def coincidence(
    events: Array, dips: tuple[Dip, ...], start: float, stop: float, window: float
) -> Coincidence:
    """How likely it is that events (s) fall within ``window`` s of dips by chance alone.

    Each random event hits with the covered part p of the record, so hits are binomial.
    """
    spans = sorted((max(d.time - window, start), min(d.time + d.span + window, stop)) for d in dips)
    covered, reached = 0.0, start
    for begin, end in spans:
        covered += max(0.0, end - max(begin, reached))
        reached = max(reached, end)
    p = min(1.0, covered / (stop - start)) if stop > start else 0.0
    times = np.asarray(events, float)
    times = times[(times >= start) & (times <= stop)]
    hits = int(sum(any(begin <= t <= end for begin, end in spans) for t in times.tolist()))
    return Coincidence(
        hits=hits, events=len(times), covered=p, chance=_at_least(hits, len(times), p)
    )


def _at_least(hits: int, events: int, p: float) -> float:
    """Binomial tail."""
    return min(
        1.0,
        math.fsum(
            math.comb(events, k) * p**k * (1 - p) ** (events - k) for k in range(hits, events + 1)
        ),
    )


def _dips(
    start: float, interval: float, volts: Array, low: float, back: float
) -> tuple[tuple[Dip, ...], np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    side = np.where(volts < low, 1, np.where(volts > back, 0, -1))
    known = np.maximum.accumulate(np.where(side >= 0, np.arange(len(side)), 0))
    inside = np.where(side[known] >= 0, side[known], 0).astype(bool)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], inside.astype(int), [0]))))
    dips = tuple(
        Dip(
            time=start + interval * float(a),
            span=interval * float(b - a),
            lowest=float(volts[a:b].min()),
        )
        for a, b in edges.reshape(-1, 2).tolist()
    )
    return dips, inside


def _strongest(interval: float, volts: Array) -> float:
    """Frequency of the strongest component, when it stands out of the rest by ten times."""
    calm = (volts - volts.mean()) * np.hanning(len(volts))
    power = np.abs(np.fft.rfft(calm)) ** 2
    if len(power) < 8:
        return float("nan")
    top = int(power[2:].argmax()) + 2
    if power[top] < 10.0 * np.median(power[1:]) or power[top] < 1e-18:
        return float("nan")
    return float(top / (len(volts) * interval))


def _source(hertz: float) -> str:
    if math.isnan(hertz):
        return "no one frequency stands out"
    for mains in MAINS:
        if abs(hertz - mains) < 0.05 * mains:
            return f"{mains:.0f} Hz: the mains itself, one half of the rectifier does not conduct"
        if abs(hertz - 2 * mains) < 0.05 * mains:
            return f"{2 * mains:.0f} Hz: full-wave rectified mains, the reservoir or the regulator"
    return f"{hertz:.3g} Hz: a converter, or the load itself"
