"""Stage against stage: does an output do what its inputs ask, and which stage is the first bad."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.waves.function import Function, apply
from halfsplit.waves.line import Array, Line, merge, window

__all__ = ["StageResult", "Violation", "check_stage", "first_bad"]

DELAY_SHARE = 0.05
"""Of the usual pulse; the longest delay that is taken as one, where none is told (judgement)."""

MOSTLY = 0.9
"""Part of the time that makes a rule (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Violation:
    """From ``time`` for ``span`` (s) the output is ``level`` and should be the other; ``after`` is
    True when it lags behind an edge, False when it is wrong in the midst of a pulse."""

    time: float
    span: float
    level: bool
    after: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StageResult:
    """``verdict`` is ``right``, ``stuck high``, ``stuck low``, ``inverted``, ``late to fall``,
    ``late to rise``, ``missing``, ``extra``, ``wrong``, or ``not exercised``; ``rise`` and ``fall``
    (s) are the usual delays, not-a-number where there was none; ``edges`` how many should be."""

    name: str
    verdict: str
    words: str
    edges: int
    rise: float
    fall: float
    violations: tuple[Violation, ...]

    @property
    def good(self) -> bool:
        return self.verdict == "right"


def check_stage(
    name: str,
    inputs: Sequence[Line],
    output: Line,
    function: Function,
    longest: float | None = None,
) -> StageResult:
    """Compare an output with what the stage's function makes of its inputs.

    ``longest`` (s) is the delay allowed, else a twentieth of the usual pulse. Raises
    :class:`halfsplit.errors.WaveError` when inputs and output share no time.
    """
    wanted = apply(function, inputs, f"{name} should")
    both = merge([wanted, output])
    start, stop = float(both.times[0]), both.stop
    wanted, shown = window(wanted, start, stop), window(output, start, stop)
    allowed = longest
    if allowed is None:
        usual = float(np.median(np.diff(wanted.edges))) if len(wanted.edges) > 1 else stop - start
        allowed = max(DELAY_SHARE * usual, 2.0 * both.resolution)
    violations = _violations(wanted, shown, allowed)
    rise, fall = (_delay(wanted, shown, level, 4 * allowed) for level in (True, False))
    verdict = _verdict(wanted, shown, violations, stop - start)
    return StageResult(
        name=name, verdict=verdict, words=_words(name, verdict, function, wanted, violations),
        edges=len(wanted.edges), rise=rise, fall=fall, violations=violations,
    )  # fmt: skip


def first_bad(results: Sequence[StageResult]) -> StageResult | None:
    """The first stage along the path whose own inputs ask for something else; None if none."""
    return next((one for one in results if not one.good and one.verdict != "not exercised"), None)


def _violations(wanted: Line, shown: Line, allowed: float) -> tuple[Violation, ...]:
    both = merge([wanted, shown])
    differs = (both.codes == 1) | (both.codes == 2)
    edges = set(wanted.edges.tolist())
    found = []
    for k in np.flatnonzero(differs).tolist():
        time, span = float(both.times[k]), float(both.spans[k])
        after = time in edges
        if span > allowed or not (after or span <= both.resolution):
            level = bool(both.codes[k] == 2)
            found.append(Violation(time=time, span=span, level=level, after=after))
    return tuple(found)


def _delay(wanted: Line, shown: Line, level: bool, longest: float) -> float:
    """Usual time from an edge to ``level`` that should be to the one that is."""
    ask, come = _edges(wanted, level), _edges(shown, level)
    if not len(ask) or not len(come):
        return float("nan")
    at = np.searchsorted(come, ask - 1e-12)
    inside = at < len(come)
    lags = come[at[inside]] - ask[inside]
    lags = lags[lags <= longest]
    return float(np.median(lags)) if len(lags) else float("nan")


def _edges(line: Line, level: bool) -> Array:
    return line.edges[0 if line.first != level else 1 :: 2]


def _verdict(wanted: Line, shown: Line, violations: tuple[Violation, ...], span: float) -> str:
    if not len(wanted.edges):
        return "not exercised"
    if not violations:
        return "right"
    if not len(shown.edges):
        return "stuck high" if shown.first else "stuck low"
    wrong = sum(one.span for one in violations)
    if wrong > MOSTLY * span:
        return "inverted"
    after = [one for one in violations if one.after]
    if len(after) >= MOSTLY * len(violations):
        high = sum(one.level for one in after)
        recovers = all(one.span < MOSTLY * _pulse_at(wanted, one.time) for one in after)
        if recovers and high >= MOSTLY * len(after):
            return "late to fall"
        if recovers and high <= (1 - MOSTLY) * len(after):
            return "late to rise"
        if high <= (1 - MOSTLY) * len(after):
            return "missing"
    if all(one.level for one in violations):
        return "extra"
    return "wrong"


def _pulse_at(wanted: Line, time: float) -> float:
    """How long the level that begins at that edge should hold."""
    at = int(np.searchsorted(wanted.edges, time))
    end = wanted.edges[at + 1] if at + 1 < len(wanted.edges) else wanted.stop
    return float(end - time)


def _words(
    name: str, verdict: str, function: Function, wanted: Line, violations: tuple[Violation, ...]
) -> str:
    asked = f"{len(wanted.edges)} edges"
    if verdict == "right":
        return f"{name} is right: it follows its inputs as {function.name} over {asked}."
    if verdict == "not exercised":
        return f"{name} was not exercised: its inputs never ask it to change."
    first = f"first at {1e3 * violations[0].time:.4g} ms"
    said = {
        "missing": "misses pulses that its inputs ask for",
        "extra": "comes high when its inputs do not ask for it",
        "wrong": f"does not follow its inputs as {function.name}",
    }.get(verdict, f"is {verdict}")
    return f"{name} {said}: {len(violations)} violations over {asked}, {first}."
