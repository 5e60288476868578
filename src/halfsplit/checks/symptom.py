"""What an output of the board is seen to do in a state: the cheapest reading, asked for first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.board.model import Output
from halfsplit.build.world import Numbers, World
from halfsplit.checks._base import Kind
from halfsplit.checks._places import powered_states
from halfsplit.checks._right import right
from halfsplit.checks._three import three_way
from halfsplit.checks._vague import FLOOR, with_else
from halfsplit.checks._words import read_word
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import UnknownName
from halfsplit.solve.law import Array

__all__ = ["KIND", "Symptom"]

WEAK = 1.0 / 3.0
"""An output below its threshold and above this part of it is called weak."""

SEEN = np.array([[0.96, 0.03, 0.01], [0.15, 0.70, 0.15], [0.01, 0.03, 0.96]])
"""Row: what it truly does (off, weak, on); column: what a person says (judgement, no source)."""

UNTOUCHED = 0.005
"""A fault that moves an output by less than this part of it leaves it as it is."""

LOADS = ("off", "weak", "on")
LEVELS = ("low", "undefined", "high")
RIGHT = ("right", "wrong")
_MISSEEN = 0.02
"""An output called right when it is wrong, or wrong when it is right (judgement, no source)."""

SYNONYMS_BOTH = {
    "right": "right", "ok": "right", "okay": "right", "good": "right", "correct": "right",
    "as expected": "right", "fine": "right", "works": "right", "working": "right",
    "yes": "right", "wrong": "wrong", "bad": "wrong", "not right": "wrong", "faulty": "wrong",
    "no": "wrong", "not working": "wrong", "does not work": "wrong", "doesn't work": "wrong",
}  # fmt: skip
SYNONYMS_LOADS = {
    "on": "on", "live": "on", "energised": "on", "energized": "on", "pulls": "on", "pulls in": "on",
    "lit": "on", "holds": "on", "strong": "on", "runs": "on", "off": "off", "dead": "off",
    "nothing": "off", "dark": "off", "limp": "off", "free": "off", "weak": "weak", "dim": "weak",
    "half": "weak", "faint": "weak", "low": "off", "high": "on", "barely": "weak",
    "weakly": "weak", "hardly": "weak", "twitches": "weak", "hums": "weak", "vibrates": "weak",
    "almost": "weak", "not quite": "weak", "slightly": "weak", "a little": "weak",
}  # fmt: skip
SYNONYMS_LEVELS = {
    "high": "high", "hi": "high", "h": "high", "1": "high", "on": "high", "low": "low",
    "lo": "low", "l": "low", "0": "low", "off": "low", "undefined": "undefined",
    "between": "undefined", "in between": "undefined", "floating": "undefined",
    "neither": "undefined", "half": "undefined", "nothing": "undefined",
}  # fmt: skip

SYNONYMS_RIGHT = dict.fromkeys(("dead", "nothing", "silent", "dark", "none", "missing"), "wrong")
_SYNONYMS = {"level": SYNONYMS_LEVELS, "right": SYNONYMS_RIGHT}
_CHOICES = {"level": "high, low or undefined", "right": "right or wrong"}


class Symptom(Kind):
    """Offered for every output of the board in every powered state."""

    name = "symptom"
    title = "what an output does"
    help = (
        "Say what it does, or only right or wrong. State by state this is worth several other "
        "checks and costs a minute, so it comes first."
    )
    takes = "output"
    stateful = True
    words = {  # noqa: RUF012 - declared in Kind
        "on": "above its threshold",
        "weak": "between a third of its threshold and the threshold",
        "off": "below a third of its threshold",
        "high": "a sure logic high",
        "low": "a sure logic low",
        "undefined": "between low and high",
        "right": "does what a good board does in this state",
        "wrong": "does anything else",
    }
    usual_setup = "watching"
    usual_minutes = 0.3

    def offers(self, world: World) -> Sequence[Check]:
        return [
            Check(kind=self.name, places=(output.name,), state=state)
            for state in powered_states(world)
            for output in world.board.outputs
        ]

    def sentence(self, check: Check, world: World) -> str:
        output = _output(check, world)
        choice = _CHOICES.get(output.measure, "on, weak or off")
        return f"With the board in state {check.state}, watch {output.name}: is it {choice}?"

    def read(self, check: Check, text: str, world: World) -> Reading:
        own = _SYNONYMS.get(_output(check, world).measure, SYNONYMS_LOADS)
        known = {**own, **SYNONYMS_BOTH}
        return read_word(text, known, what=f"what {check.places[0]} does")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        return [
            Outcomes(labels=_labels(check, world), p=self._rows(check, world, meter))
            for check in checks
        ]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = self._rows(check, world, meter)
        if reading.nothing:
            return np.ones(len(p) + 1)
        p = with_else(p, np.full(p.shape[1], 1.0 / p.shape[1]))
        good = int(np.argmax(p[0]))
        if reading.word == "right":
            right: Array = p[:, good]
            return right
        if reading.word == "wrong":
            wrong: Array = 1.0 - p[:, good]
            return wrong
        labels = _labels(check, world)
        if reading.word not in labels:
            raise UnknownName("answer", reading.word, [*labels, "right", "wrong"])
        said: Array = p[:, labels.index(reading.word)]
        return said

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        p = self._rows(check, world, meter)[0]
        best = int(np.argmax(p))
        return _labels(check, world)[best] if p[best] > 0.5 else "cannot be told"

    def _rows(self, check: Check, world: World, meter: Meter) -> Array:
        """[F, 3] what a person would say, lowest first; [F, 2] right or wrong."""
        output = _output(check, world)
        if output.measure == "right":
            good = _MISSEEN + (1.0 - 2.0 * _MISSEEN) * right(world, check.state, output.target)
            return np.stack((good, 1.0 - good), axis=1)
        if output.measure == "current":
            numbers = world.current(check.state, [output.target])
            # A load works whichever way round it is wired.
            numbers = replace(numbers, mean=np.abs(numbers.mean), other=np.abs(numbers.other))
        else:
            numbers = world.volts(check.state, [f"net {output.target}"])
            numbers = numbers.widened(lambda _: meter.volts_absolute)
        true = _true(numbers, *_thresholds(output, world))
        seen: Array = (1.0 - FLOOR) * (true @ SEEN) + FLOOR / 3.0
        return seen


def _true(numbers: Numbers, low: float, high: float) -> Array:
    """[F, 3] what the output truly does. A good board does what is asked of it, whatever the
    tolerances would allow, and so does one whose fault leaves the output as it is."""
    floating = np.array([0.4, 0.4, 0.2])
    true: Array = three_way(numbers, np.array([low]), np.array([high]), floating)[0]
    good = int(np.argmax(true[0]))
    if true[0, good] > 0.5 and not np.isfinite(numbers.other[0, 0]):
        mean = numbers.mean[:, 0]
        untouched = np.abs(mean - mean[0]) <= UNTOUCHED * np.abs(mean[0])
        true[untouched & ~numbers.floating[:, 0] & ~np.isfinite(numbers.other[:, 0])] = np.eye(3)[
            good
        ]
    return true


def _thresholds(output: Output, world: World) -> tuple[float, float]:
    if output.measure == "level":
        return world.thresholds(output.target)
    ends = sorted((WEAK * output.threshold, output.threshold))
    return ends[0], ends[1]


def _labels(check: Check, world: World) -> tuple[str, ...]:
    return {"level": LEVELS, "right": RIGHT}.get(_output(check, world).measure, LOADS)


def _output(check: Check, world: World) -> Output:
    names = {output.name.casefold(): output for output in world.board.outputs}
    found = names.get(check.places[0].casefold())
    if found is None:
        raise UnknownName("output", check.places[0], [output.name for output in names.values()])
    return found


KIND = Symptom()
