"""Laws of small analog chips: regulator, light path of an opto device, comparator."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import VT, awake, limited_exp, sigmoid, softplus

__all__ = ["Comparator", "PhotoTransistor", "Regulator"]

_SLOPE_ON = 1e-3
_ROUND = 0.005
"""Rounding of a regulator's corner between holding and not pushing, V."""
_WAKE = 1.5
"""Input of a regulator at which half of its own current flows, V."""
_ASLEEP = 5.5277863692359955e-4
"""1/(1 + exp(_WAKE/0.2)): taken off, so that with no input no current flows."""
_LN2 = 0.6931471805599453
_NEAR = 1e-6
"""So close to a stop the iteration stands on it, V."""


@dataclass(frozen=True, slots=True)
class Regulator:
    """Input, output, ground of a three-terminal series regulator; ``sign`` -1 for negative ones.

    The output follows the lower of ``vset`` and input less ``drop``, behind ``r`` ohm, up to
    ``ilim`` A; it can only push. ``iq`` A is its own current, ``k`` 0 makes it dead, ``gio``
    S a path from input to output, ``gog`` S one from output to ground.
    """

    sign: float = 1.0
    name: str = "series regulator"
    terminals: int = 3
    parameters: tuple[str, ...] = ("vset", "drop", "r", "ilim", "iq", "k", "gio", "gog")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        vset, drop, r, ilim, iq, k, gio, gog = p
        s = self.sign
        vi, vo = s * (v[0] - v[2]), s * (v[1] - v[2])
        # smooth minimum of the set point and what the input leaves
        over, over_slope = softplus(vset - (vi - drop), 0.05)
        target, target_i = vset - over, over_slope
        head, head_slope = softplus(target - vo, _ROUND)
        z = head / (ilim * r)
        t = np.tanh(z)
        push = k * (ilim * t + _SLOPE_ON * head)
        push_h = k * ((1.0 - t * t) / r + _SLOPE_ON) * head_slope
        push_i, push_o = push_h * target_i, -push_h
        wake, wake_slope = sigmoid((vi - _WAKE) / 0.2)
        own, own_i = iq * (wake - _ASLEEP), iq * wake_slope / 0.2
        i_in = push + own + gio * (vi - vo)
        i_out = -push + gio * (vo - vi) + gog * vo
        in_i, in_o = push_i + own_i + gio, push_o - gio
        out_i, out_o = -push_i - gio, -push_o + gio + gog
        rows = [
            np.stack((in_i, in_o, -in_i - in_o)),
            np.stack((out_i, out_o, -out_i - out_o)),
        ]
        rows.append(-(rows[0] + rows[1]))
        return s * np.stack((i_in, i_out, -i_in - i_out)), np.stack(rows)

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        vset, drop, r, ilim, s = p[0], p[1], p[2], p[3], self.sign
        vi, vo = s * (v[0] - v[2]), s * (v[1] - v[2])
        was_i, was_o = s * (old[0] - old[2]), s * (old[1] - old[2])
        # on its way down the input stops at the drop-out corner, and both ways where it wakes
        corner = vset + drop
        vi = np.where((was_i > corner + _NEAR) & (vi < corner), corner, vi)
        vi = np.where(_crosses(was_i - _WAKE, vi - _WAKE), _WAKE, vi)
        # the output stops where the curve of the current turns from convex to concave: from
        # there Newton's steps do not overshoot
        turn = 0.7 * _ROUND * np.log1p(0.5 * (ilim * r / _ROUND) ** 2)
        target = vset - softplus(corner - vi, 0.05)[0]
        was = vset - softplus(corner - was_i, 0.05)[0] - was_o
        vo = np.where(_crosses(was - turn, target - vo - turn), target - turn, vo)
        return np.stack((v[2] + s * vi, v[2] + s * vo, v[2]))


@dataclass(frozen=True, slots=True)
class PhotoTransistor:
    """LED anode, LED cathode, collector, emitter: the light path (the LED itself is a diode
    element of its own with the same ``is_`` and ``n``).

    Collector current = ``ctr`` * ``light`` * LED current, saturating below 0.2 V; ``light`` is 1
    for a clear path and near 0 for a blocked one. ``dark`` S leaks from collector to emitter.
    """

    name: str = "phototransistor"
    terminals: int = 4
    parameters: tuple[str, ...] = ("is_", "n", "ctr", "light", "dark")
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        is_, n, ctr, light, dark = p
        vd, vce = v[0] - v[1], v[2] - v[3]
        e, e_slope = limited_exp(vd / (n * VT))
        led, led_slope = softplus(is_ * (e - 1.0), 1e-6)
        led = led - 1e-6 * _LN2
        led_slope = led_slope * is_ * e_slope / (n * VT)
        pos, pos_slope = softplus(vce, 0.02)
        pos = pos - 0.02 * _LN2
        t = np.tanh(pos / 0.1)
        t_slope = (1.0 - t * t) / 0.1 * pos_slope
        gain = ctr * light
        i = gain * led * t + dark * vce
        by_led, by_ce = gain * led_slope * t, gain * led * t_slope + dark
        zero = np.zeros_like(i)
        row = np.stack((by_led, -by_led, by_ce, -by_ce))
        none = np.stack((zero, zero, zero, zero))
        return np.stack((zero, zero, i, -i)), np.stack((none, none, row, -row))

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        vt = p[1] * VT
        step = np.clip((v[0] - v[1]) - (old[0] - old[1]), -0.5, 6.0 * vt)
        bounded = v.copy()
        bounded[0] = v[1] + (old[0] - old[1]) + step
        # do not jump over the knee of the saturation curve, from either side
        new, was = v[2] - v[3], old[2] - old[3]
        floor = np.where(was > 0.6, 0.3, was - 0.15)
        ceiling = np.where(was < 0.3, 0.6, np.inf)
        bounded[2] = v[3] + np.clip(new, floor, ceiling)
        return bounded


@dataclass(frozen=True, slots=True)
class Comparator:
    """Output, supply, ground, plus input, minus input of an open-collector comparator.

    Sinks when minus is above plus. ``vos`` V offset, ``steep`` 1/V, ``a0`` ``a1``: release = a0 +
    a1 * (plus above minus), ``il`` A and ``rl`` ohm of the sink, ``on_at`` V supply needed,
    ``ib`` A flowing from the supply out of each input, ``gp`` ``gm`` S leak of plus and minus to
    ground, ``leak`` S of the output.
    """

    name: str = "comparator"
    terminals: int = 5
    parameters: tuple[str, ...] = (
        "vos", "steep", "a0", "a1", "k", "il", "rl", "on_at", "ib", "gp", "gm", "leak",
    )  # fmt: skip
    linear: bool = False

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        vos, steep, a0, a1, k, il, rl, on_at, ib, gp, gm, leak = p
        y, vs = v[0] - v[2], v[1] - v[2]
        x, x_slope = sigmoid(steep * (v[3] - v[4] + vos))
        h, h_slope = a0 + a1 * x, a1 * steep * x_slope
        power, power_slope = sigmoid(4.0 * (vs - on_at))
        wake, wake_slope = awake(vs)
        power_slope = 4.0 * power_slope * wake + power * wake_slope
        power = power * wake
        t = np.tanh(y / (il * rl))
        sink, sink_y = il * t + _SLOPE_ON * y, (1.0 - t * t) / rl + _SLOPE_ON
        on = k * power * (1.0 - h)
        i_out = on * sink + leak * y
        out_y = on * sink_y + leak
        out_s = k * power_slope * (1.0 - h) * sink
        out_d = np.zeros_like(i_out) if frozen else -k * power * h_slope * sink
        # a bias current leaves each input while the supply, where it comes from, is well above
        zero = np.zeros_like(i_out)
        i_supply, supply_s = zero, zero
        currents, slopes = [], []
        for u, g in ((v[3] - v[2], gp), (v[4] - v[2], gm)):
            gate, gate_slope = sigmoid(6.0 * (vs - 1.2 - u))
            bend = ib * 6.0 * gate_slope * wake
            by_supply = bend + ib * gate * wake_slope
            bias = ib * gate * wake
            currents.append(g * u - bias)
            slopes.append((g + bend, -by_supply, -bend))
            i_supply, supply_s = i_supply + bias, supply_s + by_supply
        i_gnd = -(i_out + i_supply + currents[0] + currents[1])
        i = np.stack((i_out, i_supply, i_gnd, currents[0], currents[1]))
        rows = [
            [out_y, out_s, zero, out_d, -out_d],
            [zero, supply_s, zero, slopes[0][2], slopes[1][2]],
            [zero, zero, zero, zero, zero],
            [zero, slopes[0][1], zero, slopes[0][0], zero],
            [zero, slopes[1][1], zero, zero, slopes[1][0]],
        ]
        rows[2] = [-(rows[0][c] + rows[1][c] + rows[3][c] + rows[4][c]) for c in range(5)]
        for row in rows:
            row[2] = -(row[0] + row[1] + row[3] + row[4])
        return i, np.stack([np.stack(row) for row in rows])

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        return old + np.clip(v - old, -1.0, 1.0)


def _crosses(was: Array, now: Array) -> npt.NDArray[np.bool_]:
    """Where a step goes through zero and does not start there."""
    crossed: npt.NDArray[np.bool_] = (np.abs(was) > _NEAR) & (was * now < 0.0)
    return crossed
