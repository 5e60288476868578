"""Logic level at a place, by a logic probe."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._cautions import slip
from halfsplit.checks._gather import gather
from halfsplit.checks._places import is_chip, legs_by_net, powered_states, where
from halfsplit.checks._three import three_way
from halfsplit.checks._vague import FLOOR, with_else
from halfsplit.checks._words import read_word
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import UnknownName
from halfsplit.solve.law import Array

__all__ = ["KIND", "Level"]

PROBE_ERROR = 0.15
"""Volt; how far a probe's thresholds lie from the family's (judgement, no source)."""

NOT_HIGH, NOT_LOW = "not high", "not low"
"""A vague answer: one of the other two."""

NOTHING_LIT = np.array([0.05, 0.9, 0.05])
"""What a probe that moves the place shows where nothing holds it (judgement, no source)."""
STAYS = 0.35
"""Chance that it does not move it: probes have 100 kilohm to 10 megohm (common practice, no
source), and a place floats from 2 megohm on."""


class Level(Kind):
    """Offered at the chips' legs and test points of signal nets, in every powered state."""

    name = "level"
    title = "logic level by a probe"
    help = (
        "What is expected comes from the load on the net: a net that a transistor's base holds "
        "at 0.7 V is low whether it drives or not, and the probe cannot tell; use volts there. "
        "A net that is not driven shows undefined, and that can be right."
    )
    takes = "place"
    stateful = True
    words = {  # noqa: RUF012 - declared in Kind
        "low": "below what an input surely takes as low",
        "undefined": "neither light is on: floating, or between the two",
        "high": "above what an input surely takes as high",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(("low", "lo", "l", "0", "zero", "logic low"), "low"),
        **dict.fromkeys(("high", "hi", "h", "1", "one", "logic high"), "high"),
        **dict.fromkeys(
            ("undefined", "floating", "float", "floats", "nothing", "none", "neither", "between",
             "no light", "open", "tristate", "z", "hi-z", "in between", "not lit", "nothing lit",
             "no lights"),
            "undefined",
        ),
        **dict.fromkeys(
            ("low-ish", "lowish", "weak low", "dim low", "not high", "low or floating"), NOT_HIGH
        ),
        **dict.fromkeys(
            ("high-ish", "highish", "weak high", "dim high", "not low", "high or floating"), NOT_LOW
        ),
    }  # fmt: skip
    usual_setup = "powered"
    usual_minutes = 0.5

    def offers(self, world: World) -> Sequence[Check]:
        chips = {part.designator for part in world.board.parts if is_chip(part)}
        wanted: list[str] = []
        for net, names in legs_by_net(world).items():
            pins = [world.place(name).pin for name in names]
            if net in world.supply_pin_nets or not any(p and p.designator in chips for p in pins):
                continue
            wanted += [
                name
                for name, pin in zip(names, pins, strict=True)
                if pin is None or pin.designator in chips
            ]
        return [
            Check(kind=self.name, places=(name,), state=state)
            for state in powered_states(world)
            for name in wanted
        ]

    def risk(self, check: Check, world: World) -> float:
        return slip(check, world)

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Hold the logic probe to {where(check.places[0], world)} with the board in state "
            f"{check.state}: low, high or undefined?"
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what=f"the level at {check.places[0]}")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        if not checks:
            return []
        labels = tuple(self.words)
        return [Outcomes(labels=labels, p=p) for p in self._rows(checks, world)]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(self._rows([check], world)[0], np.full(3, 1.0 / 3.0))
        labels = tuple(self.words)
        if reading.nothing:
            return np.ones(len(p))
        if reading.word in (NOT_HIGH, NOT_LOW):
            other: Array = 1.0 - p[:, labels.index(reading.word.removeprefix("not "))]
            return other
        if reading.word not in labels:
            raise UnknownName("answer", reading.word, labels)
        column: Array = p[:, labels.index(reading.word)]
        return column

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        p = self._rows([check], world)[0][0]
        best = int(np.argmax(p))
        return tuple(self.words)[best] if p[best] > 0.5 else "cannot be told"

    def _rows(self, checks: Sequence[Check], world: World) -> Array:
        """[C, F, 3]."""
        numbers = gather(checks, world).widened(lambda _: PROBE_ERROR)
        limits = [world.thresholds(world.place(check.places[0]).net) for check in checks]
        low, high = np.array(limits).T
        p = three_way(numbers, low, high, NOTHING_LIT, STAYS)
        p *= 1.0 - FLOOR
        p += FLOOR / 3.0
        return p


KIND = Level()
