"""Law of an operational amplifier: high differential gain, a push-pull output between two rails."""

from __future__ import annotations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import awake, sigmoid, softplus

__all__ = ["Amplifier"]

_SLOPE_ON = 1e-3
"""Slope of an output beyond its current limit, S: no flat regions."""
_BOTH_ON = 1e-4
"""Current at which the two halves of the output stage take over from each other, A."""
_NO_ROOM = 0.05
"""Rounding where the supply gets too small for any swing, V."""
_LEAST = 0.01
"""Half of the least swing, V."""
_ROOM = 1.2
"""So far inside the supplies an input carries half of its bias current, V."""
_NEAR = 1e-6
"""So close to a stop the iteration stands on it, V."""
_FAR = 2.0
"""In units of the linear range: nearer to its middle the iteration is not held back."""
_SUPPLY = 4.0
"""Longest step of a supply, V."""


@dataclass(frozen=True, slots=True)
class Amplifier:
    """Output, positive supply, negative supply, plus input, minus input.

    The output follows ``steep`` * (plus - minus + ``vos``) about the middle of its swing, which
    ends ``high`` V below the positive and ``low`` V above the negative supply, behind ``ro`` ohm
    up to ``ilim`` A. ``k`` strength (0 = output open), ``on_at`` V of supply at which it wakes,
    ``ib`` A from the positive supply out of each input (negative: into it, to the
    negative supply) while the input is 1.2 V inside the supplies,
    ``gp`` ``gm`` ``leak`` S from plus, minus and output to the negative supply.
    """

    name: str = "amplifier"
    terminals: int = 5
    parameters: tuple[str, ...] = (
        "vos", "steep", "high", "low", "ro", "ilim", "k", "on_at", "ib", "gp", "gm", "leak",
    )  # fmt: skip
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        vos, steep, high, low, ro, ilim, k, on_at, ib, gp, gm, leak = p
        y, vs = v[0] - v[2], v[1] - v[2]
        half, half_s = _half_swing(vs, high, low)
        x = steep * (v[3] - v[4] + vos) / half
        t = np.tanh(x)
        bend = 1.0 - t * t
        # voltage that the output wants, against the negative supply
        target = low + half * (1.0 + t)
        target_d = steep * bend
        target_s = half_s * (1.0 + t - x * bend)
        power, power_slope = sigmoid(4.0 * (vs - on_at))
        wake, wake_slope = awake(vs)
        on_slope = k * (4.0 * power_slope * wake + power * wake_slope)
        on = k * power * wake
        head = y - target
        s = np.tanh(head / (ilim * ro))
        raw, raw_h = ilim * s + _SLOPE_ON * head, (1.0 - s * s) / ro + _SLOPE_ON
        # what it sinks goes to the negative supply, what it gives comes out of the positive one
        pull, share = softplus(raw, _BOTH_ON)
        push = pull - raw
        i_out, i_plus = on * raw + leak * y, on * push
        out_y, out_d = on * raw_h + leak, -on * raw_h * target_d
        out_s = on_slope * raw - on * raw_h * target_s
        plus_h = on * (share - 1.0) * raw_h
        plus_y, plus_d, plus_s = plus_h, -plus_h * target_d, on_slope * push - plus_h * target_s
        inputs = [
            _bias(u, vs, ib, g, wake, wake_slope) for u, g in ((v[3] - v[2], gp), (v[4] - v[2], gm))
        ]
        for _, _, _, bias, _, by_s in inputs:  # what leaves an input comes from the supply
            i_plus, plus_s = i_plus + bias, plus_s + by_s
        currents = [i_out, i_plus, inputs[0][0], inputs[1][0]]
        zero = np.zeros_like(i_out)
        rows = [
            [out_y, out_s, out_d, -out_d],
            [plus_y, plus_s, plus_d + inputs[0][4], inputs[1][4] - plus_d],
            [zero, inputs[0][2], inputs[0][1], zero],
            [zero, inputs[1][2], zero, inputs[1][1]],
        ]
        i = np.stack((i_out, i_plus, -sum(currents), *currents[2:]))
        slopes = np.zeros((5, 5, *i_out.shape))
        for e, row in zip((0, 1, 3, 4), rows, strict=True):
            for f, slope in zip((0, 1, 3, 4), row, strict=True):
                slopes[e, f] = slope
        slopes[:, 2] = -slopes.sum(axis=1)
        slopes[2] = -slopes.sum(axis=0)
        return i, slopes

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        """Supplies move by 4 V at most. An input stops where its bias current begins or ends. On
        its way from one end of the swing to the other the output stops in the middle, from
        where a step of Newton's finds the balance of a feedback loop outright."""
        vos, steep, high, low = p[:4]
        held = v.copy()
        held[1:3] = old[1:3] + np.clip(v[1:3] - old[1:3], -_SUPPLY, _SUPPLY)
        out = p[8] >= 0.0
        corner, before = (np.where(out, x[1] - _ROOM, x[2] + _ROOM) for x in (held, old))
        for e in (3, 4):
            was = old[e] - before
            stops = ((v[e] - corner) * was < 0.0) & (np.abs(was) > _NEAR)
            held[e] = np.where(stops, corner, v[e])
        half = _half_swing(held[1] - held[2], high, low)[0]
        new, was = held[3] - held[4] + vos, old[3] - old[4] + vos
        crosses = (new * was < 0.0) & (np.abs(was) > _FAR * half / steep)
        held[3] = np.where(crosses, held[4] - vos, held[3])
        held[0] = np.where(crosses, held[2] + low + half, v[0])
        return held


def _half_swing(vs: Array, high: Array, low: Array) -> tuple[Array, Array]:
    """Half of what the output can swing, V, and its slope with the supply."""
    room, slope = softplus(vs - high - low, _NO_ROOM)
    return 0.5 * room + _LEAST, 0.5 * slope


def _bias(
    u: Array, vs: Array, ib: Array, g: Array, wake: Array, wake_slope: Array
) -> tuple[Array, Array, Array, Array, Array, Array]:
    """Current into an input at ``u`` V over the negative supply, and its slopes with u and vs;
    the part of it that comes out of the positive supply, and its slopes."""
    below, below_slope = sigmoid(6.0 * (vs - _ROOM - u))
    above, above_slope = sigmoid(6.0 * (u - _ROOM))
    out = ib >= 0.0  # out of the input: until it is near the positive supply
    gate = ib * np.where(out, below, above)
    by_u = ib * np.where(out, -6.0 * below_slope, 6.0 * above_slope) * wake
    by_s = ib * np.where(out, 6.0 * below_slope, 0.0) * wake + gate * wake_slope
    bias = gate * wake
    given = [np.where(out, each, 0.0) for each in (bias, by_u, by_s)]
    return (g * u - bias, g - by_u, -by_s, given[0], given[1], given[2])
