"""What is wrong with phase lines, by the simplest fault of a line, or that the pattern is right."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, groupby

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.waves.ledger import Ledger, Step
from halfsplit.waves.line import Array, Bits
from halfsplit.waves.recognise import Recognised
from halfsplit.waves.tidy import SKEW

__all__ = ["KINDS", "Explanation", "explain", "order_words"]

KINDS = (
    "right", "stuck on", "stuck off", "missing", "late", "swapped", "inverted", "shorted",
    "glitching", "reset", "irregular", "too few",
)  # fmt: skip

ENOUGH = 4
"""Steps for a verdict, and no less than one whole cycle."""

CONCENTRATED = 0.8
"""Part of all misfits on one line that makes it that line's fault (judgement)."""

GLITCHES = 3
LATENESS = 0.15
"""Steps (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """``kind`` is one of :data:`KINDS`; ``lines`` it concerns by name; ``words`` say it in a
    sentence; ``also`` has other explanations that fit as well, each as kind and lines."""

    kind: str
    lines: tuple[str, ...]
    words: str
    also: tuple[tuple[str, tuple[str, ...]], ...] = ()


def explain(
    found: Recognised, ledger: Ledger, *, order_known: bool = False, first_way: int | None = None
) -> Explanation:
    """The simplest explanation of a recognised record.

    ``order_known`` as for :func:`halfsplit.waves.recognise.recognise`. ``first_way``: the first
    move is meant to go through the lines as listed (1) or backwards (-1); it tells swaps apart.
    """
    names = found.states.names
    kind = found.best.fault.partition(",")[0]
    lines = tuple(names[i] for i in found.best.lines)
    misfit, due, shown = _misfits(found)
    if kind == "missing" and _noisy(found) == found.best.lines[0]:
        kind = "glitching"
    if not kind:
        kind, lines = _beyond_the_table(found, ledger, misfit, due)
    if kind == "right" and order_known:
        swaps = _swaps(found, ledger, first_way)
        if swaps:
            first, *more = [(names[a], names[b]) for a, b in swaps]
            also = tuple(("swapped", pair) for pair in more)
            return Explanation(
                kind="swapped", lines=first, words=_swap_words(first, more), also=also
            )
    return Explanation(
        kind=kind,
        lines=lines,
        words=_words(kind, lines, found, ledger, due, shown),
        also=tuple(
            dict.fromkeys(
                (other.fault.partition(",")[0] or "right", tuple(names[i] for i in other.lines))
                for other in found.others
                if not (kind == "shorted" and other.fault.startswith("shorted"))
                and kind not in ("missing", "glitching", "reset")
            )
        ),
    )


def order_words(found: Recognised) -> str:
    """The order of the wires: ``A B C D``."""
    names = found.states.names
    by_phase = dict(zip(found.best.order, names, strict=True))
    return " ".join(by_phase.get(p, "?") for p in range(found.best.sequence.phases))


def _misfits(found: Recognised) -> tuple[Bits, Bits, Bits]:
    """[K, n] where a line differs from what the best assumption shows; which it asks to be on;
    which are on. Rests, and single restarts, do not count."""
    table, off, _ = found.best.shown()
    walk, states = found.walk, found.states
    expected = np.where(walk.resting, off, table[walk.positions])
    bit = np.arange(len(states.names))
    asked = (expected[:, None] >> bit & 1).astype(bool) ^ found.best.active_low
    shown = states.bits() ^ found.best.active_low
    return (asked != shown) & ~walk.resting[:, None], asked, shown


def _beyond_the_table(
    found: Recognised, ledger: Ledger, misfit: Bits, due: Bits
) -> tuple[str, tuple[str, ...]]:
    """Faults that leave the codes of the positions as they are: seen in what is left over."""
    names = found.states.names
    noisy = _noisy(found)
    if noisy is not None:
        return "glitching", (names[noisy],)
    counts = misfit.sum(axis=0)
    worst = int(counts.argmax())
    if counts[worst] >= 2 and counts[worst] >= CONCENTRATED * counts.sum():
        wrong, asked = misfit[:, worst], due[:, worst]
        absent = int((wrong & asked).sum())
        overlaps = int((wrong & ~asked & np.append(False, asked[:-1])).sum())
        few = CONCENTRATED * counts[worst]
        kind = "missing" if absent > few else "late" if overlaps > few else "glitching"
        return kind, (names[worst],)
    if ledger.restarts_at or counts.sum() > 1:
        return "irregular", ()
    behind = _lateness(found, ledger)
    if np.isfinite(behind).any():
        late = int(np.nanargmax(behind))
        others = np.abs(np.delete(behind, late))
        if behind[late] > LATENESS and behind[late] > 2.0 * np.nanmax(others, initial=0.0):
            return "late", (names[late],)
    if sum(step.moved for step in ledger.steps) < max(ENOUGH, len(found.best.sequence.codes)):
        return "too few", ()
    return "right", ()


def _noisy(found: Recognised) -> int | None:
    """The line that has glitches, when its sisters hardly have any."""
    glitches = np.array([len(one) for one in found.tidy.glitches])
    most = int(glitches.argmax())
    rest = int(np.delete(glitches, most).max())
    return most if glitches[most] >= GLITCHES and glitches[most] > 4 * rest else None


def _lateness(found: Recognised, ledger: Ledger) -> Array:
    """[n] by how many steps the releases of each line lie behind the time that the lines which
    come on around them give for that position; not-a-number where fewer than three are seen."""
    states = found.states
    on = states.bits() ^ found.best.active_low
    behind: list[list[float]] = [[] for _ in states.names]
    for run in _runs(ledger):
        at = np.searchsorted(states.times, [step.time for step in run])
        rises, falls = on[at] & ~on[at - 1], ~on[at] & on[at - 1]
        along = np.array([step.position * step.direction for step in run], dtype=float)
        anchors = rises.any(axis=1)
        if anchors.sum() < 2:
            continue
        due = np.interp(along, along[anchors], states.times[at][anchors], left=np.nan, right=np.nan)
        late = (states.times[at] - due) / found.tidy.step
        for i in range(len(states.names)):
            behind[i] += late[falls[:, i] & np.isfinite(late)].tolist()
    return np.array([np.median(one) if len(one) >= 3 else np.nan for one in behind])


def _runs(ledger: Ledger) -> Iterator[list[Step]]:
    """Steps one after the other in one move, one way."""
    for _, run in groupby(ledger.steps, key=lambda step: (step.move, step.direction)):
        yield [step for step in run if step.direction]


def _swaps(found: Recognised, ledger: Ledger, first_way: int | None) -> list[tuple[int, int]]:
    """Pairs of lines whose exchange turns the listed order into the one found; none if it is that
    one. Where the direction is not known, an order and its mirror image are alike."""
    lines, phases = len(found.best.order), found.best.sequence.phases
    mirrors: tuple[int, ...] = (1, -1)
    if first_way is not None and ledger.moves and ledger.moves[0].net:
        mirrors = (1 if ledger.moves[0].net * first_way > 0 else -1,)
    seen = {
        tuple((way * p + turn) % phases for p in found.best.order)
        for way in mirrors
        for turn in range(phases)
    }
    listed = tuple(range(lines))
    if listed in seen:
        return []
    return [(a, b) for a, b in combinations(range(lines), 2) if _exchanged(listed, a, b) in seen]


def _exchanged(order: tuple[int, ...], a: int, b: int) -> tuple[int, ...]:
    changed = list(order)
    changed[a], changed[b] = changed[b], changed[a]
    return tuple(changed)


def _swap_words(first: tuple[str, str], more: list[tuple[str, str]]) -> str:
    text = f"{first[0]} and {first[1]} are swapped"
    if more:
        text += (
            ", or "
            + ", or ".join(f"{a} and {b}" for a, b in more)
            + " (the phase lines alone cannot tell these apart)"
        )
    return text + "."


def _words(
    kind: str,
    lines: Iterable[str],
    found: Recognised,
    ledger: Ledger,
    due: Bits,
    shown: Bits,
) -> str:
    names = list(lines)
    line = names[0] if names else ""
    states = found.states
    count = sum(step.moved for step in ledger.steps)
    level = {True: "low", False: "high"}[found.best.active_low]
    other = {"low": "high", "high": "low"}[level]
    if kind == "right":
        ways = "both directions" if ledger.forward and ledger.backward else "one direction"
        return (
            f"The pattern is right: {count} steps of {found.best.sequence.name} in {ways}, order "
            f"{order_words(found)}, no illegal or skipped state longer than "
            f"{1e3 * max(SKEW * found.tidy.step, states.resolution):.2g} ms."
        )
    if kind == "too few":
        return f"Only {count} steps were recorded: too few to say whether the pattern is right."
    if kind == "stuck on":
        return f"{line} is stuck on ({level} all the time)."
    if kind == "stuck off":
        return f"{line} never comes on ({other} all the time)."
    if kind == "missing":
        i = states.names.index(line)
        wanted, came = _pulses(due[:, i]), _pulses(due[:, i] & shown[:, i])
        if not wanted:
            return f"{line} misses most of its pulses."
        return f"{line} misses {wanted - min(came, wanted)} of {wanted} pulses."
    if kind == "late":
        late = found.late or LATENESS * found.tidy.step
        about = f"{1e3 * late:.2g} ms" if found.late else "part of a step"
        return f"{line} releases late, by {about}, and overlaps the next phase."
    if kind == "inverted":
        return f"{line} is inverted."
    if kind == "shorted":
        wins = found.best.fault.partition(", ")[2]
        return f"{names[0]} and {names[1]} follow each other as if shorted together ({wins})."
    if kind == "glitching":
        i = states.names.index(line)
        return f"{line} glitches: {len(found.tidy.glitches[i])} pulses far shorter than a step."
    if kind == "reset":
        codes = [step.code for step in ledger.steps if step.restart or step.skipped]
        home = codes[0] if codes else "its first state"
        times = len(ledger.restarts_at)
        return (
            f"The pattern is right but restarts {times} times, always at {home}: the controller is "
            "being reset. Look at its reset line, clock and supply."
        )
    return (
        f"{len(ledger.oddities)} states are out of turn, and no single fault of a line explains "
        "them."
    )


def _pulses(on: Bits) -> int:
    """How many separate stretches are on."""
    return int((np.diff(np.concatenate(([False], on)).astype(int)) > 0).sum())
