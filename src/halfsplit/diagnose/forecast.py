"""What a check is predicted to read under each fault, and what it shares with other readings.

The legs of one net read alike in a state, and often in several states, by one and the same
prediction: what the model or the parts' tolerances are off by, they are off by in all of them. So
do nets with only a fuse between them. With the power off, all paths that lead through unpowered
silicon share one error. Which are of a kind depends on the fault: an open joint makes two legs of
a net two things.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Meter, Takes
from halfsplit.frozen import dataclass

__all__ = ["Forecast", "about", "forecast", "subject"]

VOLTAGES = frozenset({"volts", "level"})
"""Kinds of check that read the voltage of a place, each in its way."""
OHMS = "ohms"
_NEAR, _SHARE = 0.03, 0.02
"""Predictions closer than this are one: volts or nepers, and share of the prediction (half the
model's own error)."""
_THROUGH_SILICON = 0.3
"""Nepers; a resistance that is known less well is that of a leak or a junction (resistors and
their tolerances give 0.05, chips 0.6 to 0.9 on the examples)."""
_MOST_OHMS = 1e9
_SLACK = 0.25
"""Share by which a predicted drop may be off (judgement)."""
_SLIPS = 0.02
"""Chance that one of two readings is a slip: twice a meter's share of them."""

Rows = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """``mean`` [F]: volts, or the natural log of ohms. ``shared`` [F]: its error is that of all
    others about the same; elsewhere only of those at the same ``nets``. ``firm`` [F]: it stands one
    way only and something holds the place."""

    nets: tuple[str, ...]
    state: str
    mean: Array
    shared: Rows
    firm: Rows

    def same(self, other: Forecast) -> Rows:
        """[F + 1] whether the two are one and the same reading. Whatever else may be wrong, the
        legs of a net read alike in a state."""
        apart = np.abs(self.mean - other.mean)
        alike: Rows = apart <= _NEAR + _SHARE * np.abs(self.mean)
        if self.nets != other.nets:
            return np.append(alike & self.shared & other.shared, False)
        return np.append(alike, self.state == other.state)

    def agreement(
        self, other: Forecast, mine: tuple[float, float], others: tuple[float, float]
    ) -> Array:
        """[F + 1] bits, none above zero, by which two readings in volts that share all errors but
        the meter's speak against a fault that predicts another difference. Of each what was
        shown, and one standard deviation of the meter's error."""
        drop = np.append(self.mean - other.mean, 0.0)
        slack = _NEAR + 0.5 * _SHARE * abs(mine[0]) + _SLACK * np.abs(drop)
        sigma = np.hypot(np.hypot(mine[1], others[1]), slack)
        z = (mine[0] - others[0] - drop) / sigma
        bits = np.log2((1.0 - _SLIPS) * np.exp(-0.5 * z**2) + _SLIPS)
        firm = self.same(other) & np.append(self.firm & other.firm, True)
        return np.where(firm, np.minimum(bits, 0.0), 0.0)


def subject(check: Check, takes: Takes, world: World) -> tuple[str, ...]:
    """What a check reads: equal for the legs of a net, in every state for voltages."""
    nets = _nets(check, takes, world)
    if nets is None:
        return (check.id,)
    return ("voltage", *nets) if check.kind in VOLTAGES else (check.kind, check.state, *nets)


def about(check: Check, takes: Takes, world: World, strands: Mapping[str, str]) -> tuple[str, ...]:
    """Equal for checks that may share their errors; ``strands`` names nets that are joined."""
    kind, *nets = subject(check, takes, world)
    if kind == OHMS:
        return (OHMS,)
    return (kind, *(strands.get(net, net) for net in nets)) if kind == "voltage" else (kind, *nets)


def forecast(check: Check, takes: Takes, world: World, meter: Meter) -> Forecast | None:
    """What volts, levels and ohms are predicted to be; ``None`` for other checks."""
    nets = _nets(check, takes, world)
    if nets is None:
        return None
    if check.kind in VOLTAGES:
        volts = world.volts(check.state, check.places)
        mean = volts.mean[:, 0]
        firm = np.isnan(volts.other[:, 0]) & ~volts.floating[:, 0]
        return Forecast(
            nets=nets, state=check.state, mean=mean, shared=np.isfinite(mean), firm=firm
        )
    if check.kind == OHMS:
        red, black = check.places
        ohms = world.ohms([(red, black)], meter.source)
        mean = np.log(np.clip(ohms.mean[:, 0], 1.0, _MOST_OHMS))
        shared: Rows = ohms.spread[:, 0] > _THROUGH_SILICON
        return Forecast(
            nets=nets, state=check.state, mean=mean, shared=shared, firm=np.zeros_like(shared)
        )
    return None


def _nets(check: Check, takes: Takes, world: World) -> tuple[str, ...] | None:
    known = world.places if takes in ("place", "pair") else {}
    if not all(place in known for place in check.places):
        return None
    return tuple(known[place].net for place in check.places)
