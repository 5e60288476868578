"""How likely each finding about recorded lines is under every fault.

Each word of a line is a set of patterns over the states of the exercise. The chance of a pattern
is the product of the line's levels over the states; the words of one line share out all patterns.
What steady levels cannot show (late, glitching, missing now and then, reset) takes small shares of
a right pattern, larger where a fault touches the line.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._line_words import LINE_WORDS, RIGHT, SEVERAL, Finding, labels
from halfsplit.checks._recorded import Bits, Stage, levels
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["Chances", "chances"]

RARELY = {"late": 0.004, "glitching": 0.004, "missing": 0.004}
TOUCHED = {"late": 0.03, "glitching": 0.03, "missing": 0.02}
"""Shares of a right pattern, for faults that do not touch the line and those that do (judgement,
no source)."""
RESETS, RESETS_BEHIND = 0.002, 0.05
"""The same for a pattern that restarts, and where a rail or the controller is at fault."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chances:
    """``words`` word -> [F, n] that a line by itself does this; ``on`` and ``off`` [F, S, n]."""

    stage: Stage
    words: dict[str, Array]
    on: Array
    off: Array
    resets: Array

    def of(self, finding: Finding) -> Array:
        """[F]; of "several" all that has no label of its own."""
        if finding.whole == SEVERAL:
            own = [
                replace(one, absent=finding.absent)
                for one in labels(self.stage.nets)
                if one.whole != SEVERAL and not _lines(one) & finding.absent
            ]
            rest: Array = np.maximum(1.0 - sum(self._product(one) for one in own), 0.0)
            return rest
        return self._product(finding)

    def table(self) -> Array:
        """[F, O] of :func:`halfsplit.checks._line_words.labels`, rows sum to one."""
        own = [one for one in labels(self.stage.nets) if one.whole != SEVERAL]
        p = np.stack([self._product(one) for one in own], axis=1)
        if len(self.stage.nets) > 1:
            p = np.hstack([p, np.maximum(1.0 - p.sum(axis=1, keepdims=True), 0.0)])
        normal: Array = p / p.sum(axis=1, keepdims=True)
        return normal

    def _product(self, finding: Finding) -> Array:
        n = len(self.stage.nets)
        word = dict(finding.odd)
        if finding.whole in ("all stuck on", "all stuck off"):
            word = dict.fromkeys(range(n), finding.whole.removeprefix("all "))
        p = np.ones(len(self.on))
        if finding.pair is not None:
            p = self._pair(*finding.pair)
        for i in range(n):
            if i not in finding.absent and i not in (finding.pair or ())[1:]:
                p = p * self.words[word.get(i, RIGHT)][:, i]
        if word or finding.pair is not None or n == 1:
            return p
        return p * (self.resets if finding.whole == "reset" else 1.0 - self.resets)

    def _pair(self, word: str, i: int, j: int) -> Array:
        one, two = self.stage.active[:, i], self.stage.active[:, j]
        both, either = one & two, one | two
        if (both == one).all() or (both == two).all():
            return np.zeros(len(self.on))  # nothing that the words of one line do not say
        if word == "swapped":
            return self._shows(i, two) * self._shows(j, one)
        p = np.zeros(len(self.on))
        for pattern in (either, both):
            if len(self.stage.nets) > 2 or not (pattern.all() or not pattern.any()):
                p = p + self._shows(i, pattern) * self._shows(j, pattern)
        return p

    def _shows(self, line: int, pattern: Bits) -> Array:
        shown: Array = np.where(pattern, self.on[:, :, line], self.off[:, :, line]).prod(axis=1)
        return shown


def chances(stage: Stage, world: World) -> Chances:
    """Of the lines of a stage under every fault."""
    p = levels(stage, world)
    on, off = p[..., 0], p[..., 2]
    words = _patterns(on, off, stage.active)
    touched = _touched(stage, world)
    for word in RARELY:
        share = np.where(touched, TOUCHED[word], RARELY[word])
        words[word] = words[word] + share * words[RIGHT]
    left = sum(np.where(touched, TOUCHED[word], RARELY[word]) for word in RARELY)
    words[RIGHT] = (1.0 - left) * words[RIGHT]
    return Chances(stage=stage, words=words, on=on, off=off, resets=_resets(stage, world))


def _lines(finding: Finding) -> set[int]:
    """Numbers of the lines that it is about."""
    return {i for i, _ in finding.odd} | set((finding.pair or ("",))[1:])


def _patterns(on: Array, off: Array, active: Bits) -> dict[str, Array]:
    """Word -> [F, n] by steady levels; over the words they sum to one."""
    never, always = ~active.any(axis=0), active.all(axis=0)
    due, idle = active, ~active
    right = np.where(active, on, off).prod(axis=1)
    clear = (on + off).prod(axis=1)
    found = {
        RIGHT: right,
        "stuck on": np.where(always, 0.0, on.prod(axis=1)),
        "stuck off": np.where(never, 0.0, off.prod(axis=1)),
        "inverted": np.where(never | always, 0.0, np.where(active, off, on).prod(axis=1)),
        "missing": _over(off, idle) * _some(on, off, due),
        "extra": _over(on, due) * _some(on, off, idle),
        "late": np.zeros_like(right),
        "glitching": np.zeros_like(right),
        "undefined": np.maximum(1.0 - clear, 0.0),
    }
    found["irregular"] = np.maximum(1.0 - sum(found.values()), 0.0)
    total = sum(found.values())
    return {word: found[word] / total for word in (RIGHT, *LINE_WORDS)}


def _over(p: Array, which: Bits) -> Array:
    """[F, n] product over the states [S, n] that count."""
    product: Array = np.where(which, p, 1.0).prod(axis=1)
    return product


def _some(on: Array, off: Array, which: Bits) -> Array:
    """[F, n] that over those states the line is on in some and off in others."""
    mixed: Array = np.maximum(_over(on + off, which) - _over(on, which) - _over(off, which), 0.0)
    return mixed


def _touched(stage: Stage, world: World) -> Bits:
    """[F, n] whether a fault sits on a line or in a part on it."""
    parts = [
        {part.designator for part in world.board.parts if net in part.pins.values()}
        for net in stage.nets
    ]
    nets = {
        (part.designator, pin): net for part in world.board.parts for pin, net in part.pins.items()
    }
    touched = np.zeros((len(world.faults), len(stage.nets)), dtype=np.bool_)
    for row, fault in enumerate(world.faults):
        on = {nets.get((pin.designator, pin.pin), "") for pin in fault.pins}
        for i, net in enumerate(stage.nets):
            touched[row, i] = net in on or fault.designator in parts[i]
    return touched


def _resets(stage: Stage, world: World) -> Array:
    """[F]."""
    controllers = {part.designator for part in world.board.parts if part.kind == "controller"}
    behind = [
        fault.where == "rail"
        or bool(controllers & {fault.designator, *(pin.designator for pin in fault.pins)})
        for fault in world.faults
    ]
    return np.where(behind, RESETS_BEHIND, RESETS)
