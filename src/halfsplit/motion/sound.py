"""What would be heard, and what was: repetitions and tones, predicted and recorded.

The frame feels the rotor's acceleration back; that is what a room hears of a stepping motor. How
the frame colours it is not known, so that loudness is compared with the healthy unit's only.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.motion.mechanism import Array
from halfsplit.motion.walk import Walk

__all__ = ["Heard", "alike", "hear", "predict"]

_LOWEST, _HIGHEST = 8.0, 2000.0
"""Hz between which a repetition is looked for."""
_AS_GOOD = 0.9
"""A shorter lag whose likeness is this share of the best is the repetition itself."""
_FAINT = 0.2
"""Likeness of the envelope to itself below which nothing repeats."""
_RATE = 8000.0
"""Samples a second of the predicted sound."""
_WIDTH = 0.08
"""Octaves by which a good guess of a rate is off (one part in twenty; judgement)."""
_FLOOR = 0.05
"""Likeness that is left to any sound: rooms, microphones and the model err."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """``repeats`` Hz: how often the pattern comes again, not-a-number when nothing repeats;
    ``tone`` Hz: the strongest line of the spectrum; ``loudness``: root mean square."""

    repeats: float
    tone: float
    loudness: float

    @property
    def words(self) -> str:
        """For a person."""
        again = "nothing repeats" if np.isnan(self.repeats) else f"repeats at {self.repeats:.0f} Hz"
        return f"{again}, strongest at {self.tone:.0f} Hz"


def predict(done: Walk, begin: float, end: float) -> list[Heard]:
    """The sound of each column [B] between two times of the walk, s."""
    middles = done.grid.middles
    kicks = np.diff(done.speed, axis=0, prepend=0.0) / done.grid.span[:, None]
    times = np.arange(begin, end, 1.0 / _RATE)
    sounds = (np.interp(times, middles, column) for column in kicks.T)
    return [_heard(sound, 1.0 / _RATE) if sound.std() > 0.0 else _SILENCE for sound in sounds]


def hear(samples: ArrayLike, step: float) -> Heard:
    """What a recording of ``samples`` [K] every ``step`` s holds. Raises :class:`WaveError` for one
    that is too short or silent."""
    sound = np.asarray(samples, dtype=float)
    sound = sound[np.isfinite(sound)]
    if sound.size * step < 2.0 / _LOWEST:
        raise WaveError(
            f"expected a sound of {2.0 / _LOWEST:g} s or more, got {sound.size * step:.3g} s"
        )
    if not sound.std() > 0.0:
        raise WaveError("expected a sound, got silence; was the right channel recorded?")
    return _heard(sound, step)


def alike(one: float, other: float) -> float:
    """How well two frequencies agree, from a floor to 1; an even 1/2 when either is not known."""
    if not (one > 0.0 and other > 0.0):
        return 0.5
    octaves = float(np.log2(one / other))
    return _FLOOR + (1.0 - _FLOOR) * float(np.exp(-0.5 * (octaves / _WIDTH) ** 2))


def _heard(sound: Array, step: float) -> Heard:
    sound = sound - sound.mean()
    loudness = float(np.sqrt(np.mean(np.square(sound))))
    return Heard(repeats=_repeats(sound, step), tone=_tone(sound, step), loudness=loudness)


def _tone(sound: Array, step: float) -> float:
    """The strongest line; three points of the spectrum set its top by a parabola of logarithms."""
    size = 1 << int(np.ceil(np.log2(2 * sound.size)))
    power = np.abs(np.fft.rfft(sound * np.hanning(sound.size), size)) ** 2
    lines = np.fft.rfftfreq(size, step)
    power[lines < _LOWEST] = 0.0
    k = int(power.argmax())
    if not 0 < k < power.size - 1 or power[k - 1] <= 0.0:
        return float(lines[k])
    return float((k + _top(np.log(power[k - 1 : k + 2]))) * lines[1])


def _repeats(sound: Array, step: float) -> float:
    """By the autocorrelation of how loud it is from moment to moment."""
    group = max(1, round(1.0 / (2.0 * _RATE * step)))
    usable = sound.size // group * group
    loud = np.sqrt(np.mean(np.square(sound[:usable].reshape(-1, group)), axis=1))
    loud -= loud.mean()
    pace = step * group
    size = 1 << int(np.ceil(np.log2(2 * loud.size)))
    likeness = np.fft.irfft(np.abs(np.fft.rfft(loud, size)) ** 2, size)[: loud.size]
    likeness /= np.maximum(np.arange(loud.size, 0, -1), 1)
    if likeness[0] <= 0.0:
        return float("nan")
    likeness /= likeness[0]
    first, last = int(1.0 / (_HIGHEST * pace)), int(1.0 / (_LOWEST * pace))
    falling = np.flatnonzero(likeness < 0.5)
    first = max(first, int(falling[0]) if falling.size else loud.size, 1)
    last = min(last, loud.size // 2)
    if first + 2 >= last:
        return float("nan")
    middle = likeness[first : last + 1]
    tops = 1 + np.flatnonzero((middle[1:-1] >= middle[:-2]) & (middle[1:-1] > middle[2:]))
    if not tops.size or middle[tops].max() < _FAINT:
        return float("nan")
    k = first + int(tops[middle[tops] >= _AS_GOOD * middle[tops].max()][0])
    return float(1.0 / ((k + _top(likeness[k - 1 : k + 2])) * pace))


def _top(three: Array) -> float:
    """Where the parabola through three points has its top, from the middle one."""
    bend = three[0] - 2.0 * three[1] + three[2]
    return float(0.5 * (three[0] - three[2]) / bend) if bend < 0.0 else 0.0


_SILENCE = Heard(repeats=float("nan"), tone=float("nan"), loudness=0.0)
