"""What the lines of a stage did in the states of an exercise, as a finding."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from halfsplit.checks._line_words import RIGHT, Finding, line_word
from halfsplit.checks._recorded import Bits, Stage
from halfsplit.diagnose.laid_over import LaidOver, Trace, Visit
from halfsplit.errors import WaveError
from halfsplit.solve.law import Array

__all__ = ["finding_of"]

SETTLED = (0.5, 0.95)
"""Part of a state in which its level is read."""
EARLY = (0.12, 0.4)
"""Part in which a line that comes off late is still on (judgement)."""
MOSTLY = 2.0 / 3.0
GLITCHES = 3
_POINTS = 9


def finding_of(stage: Stage, own: Sequence[Trace | None], laid: LaidOver) -> Finding:
    """``own`` are the stage's lines, None where not recorded. Raises WaveError for a state of the
    stage that the record does not have."""
    here = [i for i, trace in enumerate(own) if trace is not None]
    shown = np.full((len(stage.states), len(own)), np.nan)
    late, restless = np.zeros(len(own), dtype=bool), np.zeros(len(own), dtype=int)
    unclear = np.zeros(len(own), dtype=bool)
    for i, trace in enumerate(own):
        if trace is not None:
            shown[:, i], unclear[i] = _shown(stage, i, trace, laid.visits)
            late[i] = _late(stage, i, trace, laid.visits)
            restless[i] = _restless(trace, laid.visits)
    words = {i: line_word(shown[:, i].tolist(), stage.active[:, i].tolist()) for i in here}
    for i in here:
        if unclear[i]:
            words[i] = "undefined"
        elif words[i] == RIGHT and late[i] and not late[here].all():
            words[i] = "late"
        elif words[i] == RIGHT and _noisiest(i, restless[here], int(restless[i])):
            words[i] = "glitching"
    return _finding(stage, words, shown > 0.5, here)


def _finding(stage: Stage, words: dict[int, str], on: Bits, here: Sequence[int]) -> Finding:
    absent = frozenset(range(len(stage.nets))) - frozenset(here)
    odd = {i: word for i, word in words.items() if word != RIGHT}
    stuck = set(words.values())
    if len(here) > 1 and len(stuck) == 1 and stuck <= {"stuck on", "stuck off"}:
        return Finding(whole=f"all {stuck.pop()}", absent=absent)
    if len(odd) == 2 and "undefined" not in odd.values():
        i, j = odd
        pair = _pair(stage.active[:, i], stage.active[:, j], on[:, i], on[:, j])
        if pair:
            return Finding(pair=(pair, i, j), absent=absent)
    return Finding(odd=tuple(odd.items()), absent=absent)


def _pair(due: Bits, other_due: Bits, on: Bits, other_on: Bits) -> str:
    """The word for what two lines do together, or nothing."""
    both, either = due & other_due, due | other_due
    if (both == due).all() or (both == other_due).all():
        return ""
    if (on == other_due).all() and (other_on == due).all():
        return "swapped"
    together = (on == other_on).all() and ((on == both).all() or (on == either).all())
    return "shorted" if together else ""


def _shown(stage: Stage, i: int, trace: Trace, visits: Sequence[Visit]) -> tuple[Array, bool]:
    """[S] part of the times of each state for which the line is on; whether it is between the
    levels in most of the times of some state."""
    parts, unclear = [], False
    for state in stage.states:
        levels = [_level(stage, i, trace, one, SETTLED) for one in visits if one.state == state]
        seen = [level for level in levels if level is not None]
        if not seen:
            raise WaveError(f"the exercise as recorded has no {state}; play that too")
        sure = [level for level in seen if level >= 0.0]
        unclear |= 2 * len(sure) < len(seen)
        parts.append(float(np.mean(sure)) if sure else 0.5)
    return np.array(parts), unclear


def _level(
    stage: Stage, i: int, trace: Trace, visit: Visit, part: tuple[float, float]
) -> float | None:
    """1 on, 0 off, -1 neither, None not recorded, in that part of a visit."""
    span = visit.end - visit.begin
    begin, end = (visit.begin + share * span for share in part)
    if trace.volts.size:
        inside = trace.volts[np.searchsorted(trace.seconds, begin) :
                             np.searchsorted(trace.seconds, end)]  # fmt: skip
        if not inside.size:
            return None
        volts = float(np.median(inside))
        if stage.below[i] <= volts <= stage.above[i]:
            return -1.0
        return float((volts > stage.above[i]) == stage.on[i])
    line = trace.line
    if line is None or end < line.start or begin > line.stop:
        return None
    high = line.at(np.linspace(begin, end, _POINTS)).mean() > 0.5
    return float(high == stage.on[i])


def _late(stage: Stage, i: int, trace: Trace, visits: Sequence[Visit]) -> bool:
    """Whether it is still on early in most of the states in which it has just come off."""
    active = dict(zip(stage.states, stage.active[:, i].tolist(), strict=True))
    early = [
        _level(stage, i, trace, after, EARLY) == 1.0
        for before, after in pairwise(visits)
        if active.get(before.state, False) and not active.get(after.state, True)
    ]
    return bool(early) and float(np.mean(early)) >= MOSTLY


def _restless(trace: Trace, visits: Sequence[Visit]) -> int:
    """How often it changes where it should have settled."""
    if trace.line is None:
        return 0
    count = 0
    for visit in visits:
        begin, end = (visit.begin + share * (visit.end - visit.begin) for share in SETTLED)
        count += int(((trace.line.edges > begin) & (trace.line.edges < end)).sum())
    return count


def _noisiest(i: int, all_of: Sequence[int] | Array, own: int) -> bool:
    others = sorted(int(one) for one in all_of)[:-1]
    return own >= GLITCHES and own > 4 * max(others, default=0)
