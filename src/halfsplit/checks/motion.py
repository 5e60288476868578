"""What a stepping mechanism does while the equipment works it: soft evidence."""

from __future__ import annotations

from collections.abc import Sequence
from weakref import WeakKeyDictionary

import numpy as np

from halfsplit.build.motion import Stepper, follows_home, steppers
from halfsplit.build.motion_file import described
from halfsplit.build.motion_symptom import symptoms
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._vague import FLOOR, with_else
from halfsplit.checks._words import read_word
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.checks.warm import SHIFTS
from halfsplit.errors import MotionError, UnknownName
from halfsplit.motion.judge import WORDS
from halfsplit.solve.law import Array

__all__ = ["KIND", "Motion"]

SEEN = np.array([
    [0.94, 0.00, 0.01, 0.01, 0.04],
    [0.00, 0.88, 0.10, 0.01, 0.01],
    [0.00, 0.08, 0.72, 0.05, 0.15],
    [0.01, 0.02, 0.12, 0.65, 0.20],
    [0.05, 0.02, 0.20, 0.08, 0.65],
])  # fmt: skip
"""Row: what it does (in the order of the motion's words); column: what a person says. Buzzing and
losing steps turn into each other with load and speed, so they are told apart badly."""
HOMELESS = 0.8
"""With a home sensor that is not followed: told as never finding home."""
WARMS = 0.25
"""Share of a fault's answer to warmth that is told as works cold. All judgement, no source."""
SOFT = 5.0 * FLOOR
"""Spread evenly over the answers: motion depends on a mechanism that nobody measured."""


class Motion(Kind):
    """Offered once for each stepping motor whose steps are among the board's states."""

    name = "motion"
    title = "what the mechanism does"
    help = (
        "Let the equipment move it there and back. Load and rate decide whether a fault buzzes or "
        "loses steps, so the answer moves belief gently and rules nothing out. Without a meter it "
        "tells dead drives, a missing or stuck phase and a lost home sensor apart."
    )
    takes = "part"
    words = {  # noqa: RUF012 - declared in Kind
        "runs": "goes there and back and lands where it should",
        "dead": "no movement, no sound, no hold",
        "buzzes": "buzzes, rattles or rocks on the spot",
        "one way": "goes one way only, whatever is asked",
        "wrong place": "moves, but lands beside its place or loses steps",
        "no home": "never finds home, or runs against the stop looking for it",
        "works cold": "right when cold, wrong when warm",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(("ok", "good", "fine", "works", "right", "moves", "yes"), "runs"),
        **dict.fromkeys(("nothing", "silent", "limp", "no movement", "still", "off"), "dead"),
        **dict.fromkeys(
            ("buzz", "buzzing", "hums", "vibrates", "rattles", "rocks", "buzzes and stays",
             "jitters", "stays", "trembles"),
            "buzzes",
        ),
        **dict.fromkeys(("one way only", "one direction", "only one way"), "one way"),
        **dict.fromkeys(
            ("loses steps", "wrong track", "lands on the wrong track", "off track", "skips",
             "lands wrong", "misses", "slips"),
            "wrong place",
        ),
        **dict.fromkeys(
            ("never finds home", "bangs", "hits the stop", "no track zero", "not home"), "no home"
        ),
        **dict.fromkeys(("cold only", "only cold", "fails warm", "fails when warm"), "works cold"),
    }  # fmt: skip
    usual_setup = "watching"
    usual_minutes = 0.7

    def offers(self, world: World) -> Sequence[Check]:
        return [
            Check(kind=self.name, places=(stepper.windings[0],)) for stepper in _known(world).motors
        ]

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Switch on and let the equipment move what {check.places[0]} and its sisters drive, "
            "there and back: runs, dead, buzzes, one way, wrong place, no home, or works cold?"
        )

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            *super().cautions(check, world),
            "Fingers clear. Nothing in it that holds data you need, and no writing: what moves "
            "wrongly writes in the wrong place. Switch off when it runs against its stop.",
        )

    def risk(self, check: Check, world: World) -> float:
        return 0.2

    def read(self, check: Check, text: str, world: World) -> Reading:
        known = {**{word: word for word in self.words}, **self.synonyms}
        return read_word(text, known, what=f"what {check.places[0]} moves")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        labels = tuple(self.words)
        return [Outcomes(labels=labels, p=_rows(check, world)) for check in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = _rows(check, world)
        if reading.nothing:
            return np.ones(len(p) + 1)
        labels = tuple(self.words)
        if reading.word not in labels:
            raise UnknownName("answer", reading.word, labels)
        even = np.full(len(labels), 1.0 / len(labels))
        column: Array = with_else(p, even)[:, labels.index(reading.word)]
        return column

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return tuple(self.words)[int(np.argmax(_rows(check, world)[0]))]


class _Known:
    """Motors of one world, and what was worked out about each."""

    def __init__(self, world: World) -> None:
        self.motors: tuple[Stepper, ...] = tuple(steppers(world))
        self.rows: dict[str, Array] = {}


_WORLDS: WeakKeyDictionary[World, _Known] = WeakKeyDictionary()


def _known(world: World) -> _Known:
    if world not in _WORLDS:
        _WORLDS[world] = _Known(world)
    return _WORLDS[world]


def _rows(check: Check, world: World) -> Array:
    """[F, 7] what would be said. Raises :class:`UnknownName`."""
    known = _known(world)
    name = check.places[0]
    if name not in known.rows:
        motors = {winding: one for one in known.motors for winding in one.windings}
        if name not in motors:
            raise UnknownName("winding of a stepping motor", name, motors)
        known.rows[name] = _told(world, motors[name])
    return known.rows[name]


def _told(world: World, stepper: Stepper) -> Array:
    try:
        found = described(world.board, stepper).symptoms(world, stepper)
    except (MotionError, UnknownName):
        # `halfsplit motion` tells what cannot be so; the check goes on with a usual mechanism
        found = symptoms(world, stepper)
    even = 1.0 / len(WORDS)
    seen = np.where(np.isfinite(found.words), found.words, even) @ SEEN
    lost = np.zeros(len(seen))
    home = follows_home(world)
    if home is not None:
        lost = np.where(home[1], 0.0, HOMELESS) * (1.0 - seen[:, WORDS.index("dead")])
    warm = np.nan_to_num(found.fades) + WARMS * np.array([_answers(f.mode) for f in world.faults])
    warm = np.minimum(warm, 1.0) * (1.0 - lost)
    p = np.column_stack([seen * (1.0 - lost - warm)[:, None], lost, warm])
    told: Array = (1.0 - SOFT) * p + SOFT / p.shape[1]
    return told


def _answers(mode: str) -> float:
    """How often a fault of that mode answers to warmth."""
    return next((share for word, share in SHIFTS if word in mode), 0.0)


KIND = Motion()
