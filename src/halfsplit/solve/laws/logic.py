"""Laws of logic chips: what an input pin takes, what an output pin gives.

Starting points measured on prototypes of this project; held to transistor-level textbook
circuits and datasheet limits by tests. All voltages are taken against the chip's own ground
pin, so a chip that lost its ground behaves as one.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve import expression
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import awake, sigmoid, softplus

__all__ = ["LogicOutput", "Pull", "TtlInput", "switched"]

Pull = Literal["none", "follower", "darlington", "mos"]
"""What makes an output high."""

_OUTPUT_PARAMETERS = (
    "vth", "rel", "steep", "a0", "a1", "e0", "e1", "bit", "kl", "kh",
    "il", "rl", "off", "ih", "rh", "drop", "on_at", "leak", "swing",
)  # fmt: skip
_SLOPE_ON = 1e-3
"""Slope of a saturated output beyond its current limit, S: no flat regions."""
_BEND = 0.03
"""Volts in which a follower's current falls to 1/e."""
_SOONER, _BLEEDER = 0.755, 4e3
"""Of a Darlington pull-up: its first transistor conducts so many volts sooner than both, through
the resistor from its emitter to the output, ohm (the circuit of the 74LS00's data sheet; volts
fitted by tests/parts/stages.py)."""
_BACK = 0.65
"""From its output through that resistor and the base-collector junction of the second transistor
to the supply, V: a path that is there without power (the same circuit)."""


@dataclass(frozen=True, slots=True)
class TtlInput:
    """Pin, supply, ground. The current that a TTL input pushes out: i_out =
    (k/r) sp(VCC - drop - v) sg(12 (off_at - v)) while VCC is there. ``r`` ohm, ``drop`` V,
    ``off_at`` V, ``k`` strength (0 = input open inside), ``g`` parallel conductance pin to ground
    (leak, short)."""

    name: str = "TTL input"
    terminals: int = 3
    parameters: tuple[str, ...] = ("r", "drop", "off_at", "k", "g")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        r, drop, off_at, k, g = p
        y, vs = v[0] - v[2], v[1] - v[2]
        ramp, ramp_slope = softplus(vs - drop - y, 0.05)
        gate, gate_slope = sigmoid(12.0 * (off_at - y))
        wake, wake_slope = awake(vs)
        push = k / r * wake * ramp * gate
        push_y = k / r * wake * (-ramp_slope * gate - 12.0 * ramp * gate_slope)
        push_s = k / r * (wake * ramp_slope + wake_slope * ramp) * gate
        leak = g * y
        zero = np.zeros_like(push)
        i = np.stack((leak - push, push, -leak))
        rows = [
            np.stack((g - push_y, -push_s, push_y + push_s - g)),
            np.stack((push_y, push_s, -push_y - push_s)),
            np.stack((-g, zero, g)),
        ]
        return i, np.stack(rows)

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return old + np.clip(v - old, -0.7, 0.7)


@dataclass(frozen=True, slots=True)
class LogicOutput:
    """Output, supply, ground, then the inputs in ``inputs``.

    ``level`` and ``enable`` are logic expressions over ``inputs`` and ``q`` (the stored bit);
    an empty ``enable`` is always on; else it goes through :func:`switched`. ``high`` says what
    pulls up: ``"none"`` (open collector or drain), ``"follower"`` (totem pole), ``"darlington"``
    (the totem pole of Schottky families, which has a knee: up to 0.2 mA one transistor gives
    alone, 0.7 V nearer to the supply; held above the supply it feeds it) or ``"mos"``.

    Parameters: ``vth`` input threshold V; ``rel`` 1: vth is a fraction of the supply (CMOS: vth
    0.5, rel 1), 0: volts; ``steep`` 1/V; ``a0`` ``a1``: level used = a0 + a1 * expression
    (stuck: a1 = 0); ``e0`` ``e1`` the same for the enable; ``bit`` stored bit 0..1; ``kl``
    ``kh`` strength of the low and high side; ``il`` A and ``rl`` ohm limit and slope of the low
    side, ``off`` its offset V; ``ih`` ``rh`` the same for the high side, ``drop`` V lost below
    the supply; ``on_at`` V supply at which the chip wakes; ``leak`` S from the pin to ground;
    ``swing``, in the unit of ``vth``: inputs see vth + swing/2 while the stored bit is 0 and
    vth - swing/2 while it is 1 (Schmitt inputs; else 0). Then for each input k (from 1) ``ok``
    and ``wk``: level used = ok + wk * level at the pin (0 and 1 when good; an input open inside
    has w 0 and o the level it floats to).
    """

    inputs: tuple[str, ...]
    level: str
    enable: str = ""
    high: Pull = "follower"
    name: str = "logic output"
    linear: bool = False

    @property
    def terminals(self) -> int:
        return 3 + len(self.inputs)

    @property
    def parameters(self) -> tuple[str, ...]:
        views = (f"{what}{k}" for k in range(1, len(self.inputs) + 1) for what in "ow")
        return (*_OUTPUT_PARAMETERS, *views)

    def logic(self, v: Array, p: Array) -> tuple[dict[str, Array], list[Array]]:
        """Inputs as the chip sees them, levels 0..1 by name (and ``q``), and dx/du of each."""
        rel, steep = p[1], p[2]
        threshold = self._middle(p) * (1.0 - rel + rel * (v[1] - v[2]))
        levels: dict[str, Array] = {"q": p[7]}
        slopes = []
        for k, name in enumerate(self.inputs):
            x, slope = sigmoid(steep * (v[3 + k] - v[2] - threshold))
            seen = len(_OUTPUT_PARAMETERS) + 2 * k
            levels[name] = p[seen] + p[seen + 1] * x
            slopes.append(p[seen + 1] * steep * slope)
        return levels, slopes

    def views(self, p: Array) -> Array:
        """[5, I, M, B] of every input: the threshold that the stored bit leaves, ``rel``,
        ``steep``, ``o`` and ``w``; what :meth:`logic` works with."""
        own = p[len(_OUTPUT_PARAMETERS) :].reshape(len(self.inputs), 2, *p.shape[1:])
        shared = np.stack((self._middle(p), p[1], p[2]))[:, None]
        shape = (3, len(self.inputs), *p.shape[1:])
        return np.concatenate((np.broadcast_to(shared, shape), own.swapaxes(0, 1)))

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        (_, rel, _, a0, a1, e0, e1, _, kl, kh, il, rl, off, ih, rh, drop, on_at, leak) = p[:18]
        y, vs = v[0] - v[2], v[1] - v[2]
        levels, dx = self.logic(v, p)
        value, by_input = expression.evaluate_slopes(self.level, levels, self.inputs)
        h = a0 + a1 * value
        dh = [a1 * slope * step for slope, step in zip(by_input, dx, strict=True)]
        if self.enable:
            on, on_by = expression.evaluate_slopes(self.enable, levels, self.inputs)
            on, sharper = switched(on)
            en = e0 + e1 * on
            den = [e1 * sharper * slope * step for slope, step in zip(on_by, dx, strict=True)]
        else:
            en, den = e0 + e1, [np.asarray(0.0)] * len(self.inputs)
        power, power_slope = sigmoid(4.0 * (vs - on_at))
        wake, wake_slope = awake(vs)
        power_slope = 4.0 * power_slope * wake + power * wake_slope
        power = power * wake

        low, low_y = _saturating(y - off, il, rl)
        low, low_y = kl * low, kl * low_y
        if self.high == "none":
            up, up_y, up_s = np.zeros_like(low), np.zeros_like(low), np.zeros_like(low)
        else:
            head = vs - drop - y
            if self.high == "mos":
                ramp, ramp_slope = head, np.ones_like(head)
            else:
                ramp, ramp_slope = softplus(head, _BEND)
            up, up_z = _saturating(ramp, ih, rh)
            up_s = up_z * ramp_slope
            if self.high == "darlington":
                first, first_slope = softplus(head + _SOONER, _BEND)
                up, up_s = (
                    up + (first - ramp) / _BLEEDER,
                    up_s + (first_slope - ramp_slope) / _BLEEDER,
                )
            up, up_s = kh * up, kh * up_s
            up_y = -up_s
        back, back_y = np.zeros_like(low), np.zeros_like(low)
        if self.high == "darlington":
            back, back_y = softplus(y - vs - _BACK, _BEND)
            back, back_y = kh * back / _BLEEDER, kh * back_y / _BLEEDER

        down_on, up_on = power * en * (1.0 - h), power * en * h
        i_low, i_up = down_on * low, up_on * up
        shape = np.broadcast_shapes(i_low.shape, y.shape)
        zero = np.zeros(shape)
        i_up = i_up - back
        i = np.stack((i_low - i_up + leak * y, i_up + zero, -i_low - leak * y))
        currents = np.concatenate((i, np.zeros((len(self.inputs), *shape))))

        low_by = [down_on * low_y, power_slope * en * (1.0 - h) * low]
        up_by = [up_on * up_y - back_y, up_on * up_s + power_slope * en * h * up + back_y]
        n = self.terminals
        slopes = np.zeros((n, n, *shape))
        slopes[0, 0], slopes[0, 1] = low_by[0] - up_by[0] + leak, low_by[1] - up_by[1]
        slopes[1, 0], slopes[1, 1] = up_by[0], up_by[1]
        slopes[2, 0], slopes[2, 1] = -low_by[0] - leak, -low_by[1]
        if not frozen:
            for k in range(len(self.inputs)):
                low_k = power * ((1.0 - h) * den[k] - en * dh[k]) * low
                up_k = power * (h * den[k] + en * dh[k]) * up
                slopes[0, 3 + k] = low_k - up_k
                slopes[1, 3 + k] = up_k
                slopes[2, 3 + k] = -low_k
            slopes[:3, 1] -= self._middle(p) * rel * slopes[:3, 3:].sum(axis=1)
        slopes[:, 2] = -slopes[:, 0] - slopes[:, 1] - slopes[:, 3:].sum(axis=1)
        return currents, slopes

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return old + np.clip(v - old, -0.6, 0.6)

    @staticmethod
    def _middle(p: Array) -> Array:
        """The threshold that the stored bit leaves, in the unit of ``vth``."""
        threshold: Array = p[0] + p[18] * (0.5 - p[7])
        return threshold


def switched(on: Array) -> tuple[Array, Array]:
    """An enable 0..1 behind its buffer and its slope: on^2 / (on^2 + (1 - on)^2). Two stages turn
    over twice as sharply as one, and what is nearly off is off: an output that is let go leaks
    microamperes (I OZ of the 74LS373 data sheet: 20 uA at most), so an open enable lets the bus
    float."""
    square, off = on * on, 1.0 - on
    share = 1.0 / (square + off * off)
    return square * share, 2.0 * on * off * share * share


def _saturating(x: Array, limit: Array, ohms: Array) -> tuple[Array, Array]:
    """limit * tanh(x / (limit * ohms)) plus a small slope, and its derivative."""
    t = np.tanh(x / (limit * ohms))
    return limit * t + _SLOPE_ON * x, (1.0 - t * t) / ohms + _SLOPE_ON
