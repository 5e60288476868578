"""Continuity between two places by the meter's beeper, power off."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._normal import quick_cdf
from halfsplit.checks._places import leg, legs_by_net, where
from halfsplit.checks._resistance import predict
from halfsplit.checks._vague import FLOOR, with_else
from halfsplit.checks._words import read_word
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import UnknownName
from halfsplit.solve.law import Array

__all__ = ["KIND", "Continuity"]

LIMIT_ERROR = 0.4
"""Of the natural log: how well the meter's limit is known (judgement, no source)."""


class Continuity(Kind):
    """Offered from each leg to its own pad and to one other place of its net, where a joint,
    contact or track can be bad, by way of the tail of its socket where it stands in one, and
    across pins that can be bridged."""

    name = "continuity"
    title = "continuity, power off"
    help = (
        "A beep means less than the meter's limit, some tens of ohms, not a wire: windings and "
        "low resistors beep too. From a leg to its own pad it tells a bad joint from a broken "
        "track; from a leg to the tail of its socket, where the socket's pin comes out on the "
        "solder side, a bad contact from the joint under it."
    )
    takes = "pair"
    words = {  # noqa: RUF012 - declared in Kind
        "beeps": "less than the meter's limit",
        "silent": "more than the meter's limit, or open",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(
            ("beeps", "beep", "yes", "connected", "short", "continuous", "good", "beeping", "tone"),
            "beeps",
        ),
        **dict.fromkeys(
            ("silent", "silence", "no", "open", "ol", "none", "nothing", "no beep", "quiet",
             "not connected", "does not beep", "doesn't beep"),
            "silent",
        ),
    }  # fmt: skip
    usual_setup = "off"
    usual_minutes = 0.5

    def offers(self, world: World) -> Sequence[Check]:
        pairs: list[tuple[str, str]] = []
        legs = legs_by_net(world)
        for fault in world.faults:
            names = [leg(pin.designator, pin.pin) for pin in fault.pins]
            if not names or any(name not in world.places for name in names):
                continue
            if fault.where == "bridge" and len(names) == 2:
                pairs.append((names[0], names[1]))
            elif fault.where in ("joint", "contact", "track"):
                pairs += [pair for name in names for pair in self._about(name, legs, world)]
        either_way: dict[frozenset[str], tuple[str, str]] = {}
        for pair in pairs:
            either_way.setdefault(frozenset(pair), pair)
        return [Check(kind=self.name, places=pair) for pair in either_way.values()]

    def sentence(self, check: Check, world: World) -> str:
        one, two = check.places
        return (
            f"Power off, supply unplugged: continuity between {where(one, world)} and "
            f"{where(two, world)}: does it beep?"
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what=f"continuity {' to '.join(check.places)}")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        if not checks:
            return []
        labels = tuple(self.words)
        return [Outcomes(labels=labels, p=p) for p in self._rows(checks, world, meter)]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(self._rows([check], world, meter)[0], np.full(2, 0.5))
        labels = tuple(self.words)
        if reading.nothing:
            return np.ones(len(p))
        if reading.word not in labels:
            raise UnknownName("answer", reading.word, labels)
        column: Array = p[:, labels.index(reading.word)]
        return column

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        p = self._rows([check], world, meter)[0][0]
        return "cannot be told" if abs(p[0] - 0.5) < 0.2 else tuple(self.words)[int(p[0] < 0.5)]

    def _rows(self, checks: Sequence[Check], world: World, meter: Meter) -> Array:
        """[C, F, 2]."""
        what = predict(checks, world, meter)[1]
        limit = math.log1p(meter.continuity_ohms)
        sigma = np.hypot(what.sigma, LIMIT_ERROR)
        beeps = _below((limit - what.mean) / sigma)
        two = np.isfinite(what.other)
        second = _below((limit - np.where(two, what.other, what.mean)) / sigma)
        beeps = np.where(two, 0.5 * (beeps + second), beeps)
        weight = np.maximum(what.loose, FLOOR)
        beeps = ((1.0 - weight) * beeps + 0.5 * weight).T
        return np.stack([beeps, 1.0 - beeps], axis=-1)

    def _about(self, name: str, legs: dict[str, list[str]], world: World) -> list[tuple[str, str]]:
        """From a leg to its pad, and to the first other place of its net."""
        near = [at for at in (f"{name}/tail", f"{name}/pad") if at in world.places]
        pairs = [(name, at) for at in near] + ([(near[0], near[1])] if len(near) > 1 else [])
        mates = [other for other in legs.get(world.place(name).net, []) if other != name]
        return pairs + [(name, mate) for mate in mates[:1]]


def _below(z: Array) -> Array:
    return quick_cdf(z.astype(np.float32)).astype(np.float64)


KIND = Continuity()
