"""A recording of the mechanism held against what each fault would make it sound like."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from halfsplit.build.compiled import Compiled
from halfsplit.build.motion import Stepper, steady
from halfsplit.build.motion_file import Described
from halfsplit.build.motion_run import play_steady
from halfsplit.capture.read import read
from halfsplit.errors import WaveError
from halfsplit.motion.judge import Errand
from halfsplit.motion.sound import Heard, alike, hear

__all__ = ["matches", "recorded"]

_SAME = 0.01
"""Share of the motor's current within which two faults sound alike."""


def recorded(path: str | Path, name: str = "") -> Heard:
    """What is heard in a recording, called ``name`` in messages. Raises CaptureError for what is
    no recording, WaveError for one without samples evenly apart."""
    record = read(str(path))
    if not record.analog or not record.analog[0].step:
        raise WaveError(
            f"{name or path}: expected a sound with samples evenly apart, such as a WAV"
        )
    return hear(record.analog[0].samples, record.analog[0].step)


def matches(
    world: Compiled, stepper: Stepper, described: Described, rate: float, heard: Heard, steps: int
) -> list[tuple[str, float]]:
    """Faults with how like the recording they would sound, 0 to 1, at ``rate`` steps a second:
    the best first, one of each sort that sounds the same."""
    amps = np.nan_to_num(steady(world, stepper))
    flat = np.rint(amps.reshape(len(amps), -1) / (_SAME * stepper.amps))
    _, first = np.unique(flat, axis=0, return_index=True)
    first.sort()
    names = [world.faults[row].id for row in first.tolist()]
    errand = Errand.make(steps, len(stepper.states), rate)
    done = play_steady(stepper, described.mechanism, errand, amps[first], names)
    fits = [
        (name, 0.5 * (alike(heard.repeats, one.repeats) + alike(heard.tone, one.tone)))
        for name, one in zip(names, done.heard, strict=True)
        if one.loudness > 0.0
    ]
    return sorted(fits, key=lambda pair: -pair[1])
