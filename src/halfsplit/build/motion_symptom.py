"""What each fault makes of a motor, as somebody would tell it, averaged over loads and rates.

Currents come from what the board settles to in each state, and rise and fall by the windings' own
time constant; that is enough for a word. :mod:`halfsplit.build.transient` gives the true waveforms
of single faults.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace
from itertools import product

import numpy as np
import numpy.typing as npt

from halfsplit.build.mechanics import MECHANICAL
from halfsplit.build.motion import Stepper, steady
from halfsplit.build.world import World
from halfsplit.frozen import dataclass
from halfsplit.motion.drive import Drive
from halfsplit.motion.judge import RUNS, WORDS, Errand, judge
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Columns, Grid, walk

__all__ = ["Symptoms", "symptoms", "unknown_mechanism"]

Index = npt.NDArray[np.intp]

_RATES = (40.0, 120.0, 250.0)
"""Steps a second: 25, 8 and 4 ms a track, as units of the time stepped (OEM manuals,
from memory)."""
_SLOW = 0.5
"""And half of the rate that is known: it does not start at its fastest (judgement)."""
_FRICTION = (0.10, 0.25, 0.40)
_LOAD = (-0.08, 0.08)
"""Shares of the holding torque (judgement, no source)."""
_NEAR_FRICTION = (0.7, 1.0, 1.4)
_NEAR_LOAD = (-0.02, 0.02)
"""Around a friction that was measured, as factors; around a load that was, as shares of the holding
torque (judgement, no source)."""
_WARM = 0.82
"""Current left when copper is 50 K warmer: 1 / (1 + 0.0039 50), 0.84, and a little for drivers."""
_COUNT = 12
_HERTZ = 90.0
"""Natural frequency of a mechanism nobody described: small motors resonate at 70 to 120 steps a
second (a practitioner's account)."""
_HOLDING = 0.1
_USUAL_FRICTION = 0.2
_FINE = 1e-3
_BINDS = np.array([0.1, 0.1, 0.4, 0.1, 0.3])
"""What is told of a mechanism that binds, in the order of the words (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Symptoms:
    """``words`` [F, W] share of the conditions in which each fault looks like each of
    :data:`halfsplit.motion.judge.WORDS`; ``fades`` [F] share in which it runs cold and not warm.
    Rows of faults whose currents are unresolved are not-a-number. ``conditions``: how many counted.
    """

    words: Array
    fades: Array
    conditions: int


def unknown_mechanism(stepper: Stepper) -> Mechanism:
    """A usual one, for a motor of which only its windings are known: what matters here are ratios,
    of load to holding torque and of step rate to natural frequency."""
    model = stepper.fit(Mechanism(holding=_HOLDING, rated=stepper.amps, detent=0.05 * _HOLDING))
    inertia = model.stiffness() / (2.0 * np.pi * _HERTZ) ** 2
    return replace(model, inertia=inertia, friction=_USUAL_FRICTION * _HOLDING)


def symptoms(
    world: World, stepper: Stepper, known: Mechanism | None = None, *,
    measured: Container[str] = (), rate: float | None = None,
) -> Symptoms:  # fmt: skip
    """All faults of the board, over the conditions in which a healthy unit runs, cold and
    warm. ``known``: the mechanism; its friction or load is narrowed to what it says when
    ``measured`` names it. ``rate``: steps a second of the equipment, when somebody knows."""
    given = known or unknown_mechanism(stepper)
    mechanism = replace(given, friction=given.holding, load=given.holding)
    friction = given.friction / given.holding * np.array(_NEAR_FRICTION)
    load = given.load / given.holding + np.array(_NEAR_LOAD)
    frictions = friction if "friction" in measured else _FRICTION
    loads = load if "load" in measured else _LOAD
    amps = steady(world, stepper)
    distinct, where = _distinct(amps, stepper.amps)
    conditions = np.array(list(product(frictions, loads)))
    words = np.zeros((len(distinct), len(WORDS)))
    fades = np.zeros(len(distinct))
    counted = 0
    for turned, pace in enumerate(_RATES if rate is None else (_SLOW * rate, rate)):
        seen = _seen(mechanism, stepper, distinct, pace, conditions, turned)
        fair = (seen[where[0]] == RUNS).all(axis=-1)
        if not fair.any():
            continue
        cold, warm = seen[:, fair, 0], seen[:, fair, 1]
        counted += int(fair.sum())
        words += (cold[:, :, None] == np.arange(len(WORDS))).sum(axis=1)
        fades += ((cold == RUNS) & (warm != RUNS)).sum(axis=1)
    words, fades = words[where] / max(counted, 1), fades[where] / max(counted, 1)
    words[_binding(world, stepper)] = _BINDS
    lost = np.isnan(amps.reshape(len(amps), -1).sum(axis=1) if counted else fades * np.nan)
    return Symptoms(
        words=np.where(lost[:, None], np.nan, words),
        fades=np.where(lost, np.nan, fades),
        conditions=counted,
    )


def _binding(world: World, stepper: Stepper) -> list[int]:
    """Rows of the faults of the mechanism itself."""
    return [
        row
        for row, fault in enumerate(world.faults)
        if fault.mode == MECHANICAL and fault.designator in stepper.windings
    ]


def _distinct(amps: Array, most: float) -> tuple[Array, Index]:
    """Rows [D, C, P] that differ by more than a thousandth, and the row of each fault [F]."""
    flat = np.nan_to_num(amps).reshape(len(amps), -1)
    _, first, where = np.unique(
        np.rint(flat / (_FINE * most)), axis=0, return_index=True, return_inverse=True
    )
    return flat[first].reshape(-1, *amps.shape[1:]), where.reshape(-1)


def _seen(
    mechanism: Mechanism,
    stepper: Stepper,
    amps: Array,
    rate: float,
    conditions: Array,
    turned: int,
) -> Index:
    """[D, conditions, 2] words of rows ``amps`` [D, C, P] at one rate, cold and warm, begun
    in the state number ``turned`` of the cycle."""
    errand = Errand.make(_COUNT, len(stepper.states), rate / stepper.size)
    grid = Grid.make(mechanism, errand.seconds.tolist())
    drive = Drive(ohms=stepper.ohms, henries=stepper.henries, clamp=stepper.amps * stepper.ohms)
    settled = np.moveaxis(amps[:, (errand.path + turned) % len(stepper.states)], 0, -1)
    settled = np.where(np.abs(settled) < _FINE * stepper.amps, 0.0, settled)
    given = drive.currents(grid, settled)
    both = np.stack([given, _WARM * given], axis=-1)
    width = len(conditions)
    currents = np.repeat(both[:, :, :, None, :], width, axis=3).reshape(*given.shape[:2], -1)
    friction, load = (np.tile(np.repeat(column, 2), len(amps)) for column in conditions.T)
    done = walk(
        mechanism, grid, currents, start=stepper.first + turned * stepper.size,
        columns=Columns(friction=friction, load=load), winding=(stepper.ohms, stepper.henries),
    )  # fmt: skip
    found: Index = judge(errand, done, size=stepper.size).word.reshape(len(amps), width, 2)
    return found
