"""Lines recorded together, by a scope or a logic analyser, while the board changes its states."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._cautions import slip
from halfsplit.checks._exercise import exercise_of
from halfsplit.checks._line_chances import chances
from halfsplit.checks._line_words import (
    LINE_WORDS,
    PAIR_WORDS,
    RIGHT,
    SEVERAL,
    WHOLE_WORDS,
    Finding,
    labels,
)
from halfsplit.checks._places import where
from halfsplit.checks._recorded import stage_at, stages
from halfsplit.checks._vague import FLOOR, with_else
from halfsplit.checks._words import is_nothing
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError, UnknownName
from halfsplit.solve.law import Array

__all__ = ["KIND", "Capture"]

SETTING_UP = 3.0
"""Minutes to set the instrument and the exercise."""
CLIP = 0.5
"""Minutes for each line. Both: common practice, no source."""
RARE = 0.1
"""Of an even share: what a finding that has no label of its own gets without any model."""


class Capture(Kind):
    """Offered once for every net that several like channels have, and for other nets that change,
    unless a good board shows nothing there."""

    name = "capture"
    title = "lines recorded while the board works"
    help = (
        "A scope or a logic analyser on a net of every like channel at once, through all the "
        "states that differ there: right, or which line does what. `halfsplit capture` reads the "
        "instrument's file, and answers for every stage in it. Levels are predicted for steady "
        "states, with the net's own two levels where the inputs' thresholds would not tell them "
        "apart; what only a moving board shows (late, glitching, reset) counts by where a fault "
        "sits. Without such an instrument leave the kind out by `halfsplit limits`."
    )
    takes = "place"
    words = {  # noqa: RUF012 - declared in Kind
        RIGHT: "every line does what a good board does",
        **LINE_WORDS,
        **PAIR_WORDS,
        **WHOLE_WORDS,
        SEVERAL: "more than one line differs, in no way above",
    }
    usual_setup = "powered"

    def offers(self, world: World) -> Sequence[Check]:
        return [Check(kind=self.name, places=stage.places[:1]) for stage in stages(world)]

    def minutes(self, check: Check, world: World) -> float:
        return SETTING_UP + CLIP * len(stage_at(check.places[0], world).places)

    def risk(self, check: Check, world: World) -> float:
        return sum(
            slip(Check(kind=self.name, places=(place,)), world)
            for place in stage_at(check.places[0], world).places
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Clip on with the power off. The ground of a scope is the mains' earth: clip it to the "
            "board's ground and nowhere else.",
        )

    def sentence(self, check: Check, world: World) -> str:
        stage = stage_at(check.places[0], world)
        *first, last = [where(place, world) for place in stage.places]
        lines = f"{', '.join(first)} and {last}" if first else last
        exercise = exercise_of(stage, world).words if len(stage.states) > 1 else "Any exercise"
        asked = "right, or which line does what" if first else "right, or what does it do"
        return f"Record {lines}. {exercise}. Is it {asked}?"

    def read(self, check: Check, text: str, world: World) -> Reading:
        stage = stage_at(check.places[0], world)
        if is_nothing(text):
            return Reading(text=text, nothing=True)
        finding = Finding.read(text, stage.nets, stage.on.tolist())
        return Reading(text=text, word=finding.text(stage.nets))

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        found = []
        for check in checks:
            stage = stage_at(check.places[0], world)
            p = _floored(chances(stage, world).table())
            names = tuple(one.text(stage.nets) for one in labels(stage.nets))
            found.append(Outcomes(labels=names, p=p))
        return found

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        stage = stage_at(check.places[0], world)
        if reading.nothing:
            return np.ones(len(world.faults) + 1)
        known = labels(stage.nets)
        finding = _finding(reading.word, stage.nets, stage.on.tolist())
        model = chances(stage, world)
        if finding in known:
            p = _floored(model.table())
            even = np.full(len(known), 1.0 / len(known))
            labelled: Array = with_else(p, even)[:, known.index(finding)]
            return labelled
        share = RARE / len(known)
        own = (1.0 - FLOOR) * model.of(finding) + FLOOR * share
        row: Array = with_else(own[:, None], np.array([share]))[:, 0]
        return row

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        stage = stage_at(check.places[0], world)
        spans = [
            f"{net} {'high' if on else 'low'} in {', '.join(states)}"
            for net, on, active in zip(stage.nets, stage.on, stage.active.T, strict=True)
            if (states := [s for s, yes in zip(stage.states, active, strict=True) if yes])
        ]
        return "; ".join(spans) or "no line is ever on"


def _finding(word: str, nets: Sequence[str], on: Sequence[bool]) -> Finding:
    try:
        return Finding.read(word, nets, on)
    except ReadingError as error:
        known = [one.text(nets) for one in labels(nets)]
        raise UnknownName("answer", word, known) from error


def _floored(p: Array) -> Array:
    result: Array = (1.0 - FLOOR) * p + FLOOR / p.shape[1]
    return result


KIND = Capture()
