"""Predicted resistance on the axis log(1 + R / 1 Ω), meter error included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.build.world import Numbers, World
from halfsplit.checks._grid import ohms_grid
from halfsplit.checks._numeric import Predicted, predicted
from halfsplit.checks.kind import Check, Meter

__all__ = ["predict"]


def predict(checks: Sequence[Check], world: World, meter: Meter) -> tuple[Numbers, Predicted]:
    """The world's ohms [F, C] for checks at two places each, and the same on the axis.

    One standard deviation of R is R times (spread and the meter's relative error) and the
    meter's absolute error together; on the axis it is that over 1 Ω + R.
    """
    numbers = world.ohms([(check.places[0], check.places[1]) for check in checks], meter.source)
    known = np.where(np.isfinite(numbers.mean), np.maximum(numbers.mean, 0.0), 1e12)
    share = known / (1.0 + known)
    relative = np.hypot(numbers.spread, meter.ohms_relative)
    sigma = np.hypot(share * relative, meter.ohms_absolute / (1.0 + known))
    return numbers, predicted(replace(numbers, spread=sigma), ohms_grid())
