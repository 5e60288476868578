"""What is hidden on the board of a trial: one fault, two at once, or one that comes and goes."""

from __future__ import annotations

import numpy as np

from halfsplit.belief.posterior import Array
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks.kind import Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue
from halfsplit.frozen import dataclass

__all__ = ["Hidden", "draw_faults", "draw_hidden"]

PRESENT = (0.3, 0.8)
"""Share of readings at which a fault that comes and goes is there, drawn between these."""

_PLAINLY = 0.9
"""Probability of a wrong output from which a fault is one that anybody notices."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hidden:
    """``faults`` in different parts, ``present`` in that share of readings. ``weight`` is how often
    it is met beside the others of its list: alike where they were drawn by their rates."""

    faults: tuple[Fault, ...]
    present: float = 1.0
    weight: float = 1.0

    @property
    def name(self) -> str:
        """Ids of the faults; a share below one is told."""
        ids = " + ".join(fault.id for fault in self.faults)
        return ids if self.present >= 1.0 else f"{ids} ({self.present:.0%} of the time)"

    @property
    def suspects(self) -> tuple[str, ...]:
        """Ids of the suspects that have to be put right."""
        return tuple(dict.fromkeys(fault.suspect for fault in self.faults))


def draw_faults(world: World, count: int, seed: int) -> list[Fault]:
    """Faults of the board drawn by their prior probability, without repeats; all of them when too
    few. Of faults that come in degrees the middling one is drawn."""
    plain, weights = _able(world)
    rng = np.random.default_rng(seed)
    size = min(count, int((weights > 0.0).sum()))
    chosen = rng.choice(len(plain), size=size, replace=False, p=weights)
    return [plain[k] for k in sorted(chosen)]


def draw_hidden(world: World, count: int, seed: int, shape: str) -> list[Hidden]:
    """``count`` things to hide of a ``shape``: ``single``, ``noticed`` (those of them that put an
    output wrong by the prediction), ``double`` (two faults in different parts) or
    ``intermittent``. Of two at once each puts some output wrong by itself: what nobody
    notices nobody looks for once the board works. The whole list is weighted by its rates."""
    if shape == "double":
        plain, weights = _able(world)
        weights = weights * _noticed(world, plain)
        weights /= weights.sum()
        rng = np.random.default_rng([seed, 2])
        found: list[Hidden] = []
        while len(found) < count:
            one, other = (plain[k] for k in rng.choice(len(plain), size=2, p=weights))
            if not _parts(one) & _parts(other) and one.suspect != other.suspect:
                found.append(Hidden(faults=(one, other)))
        return found
    faults = draw_faults(world, count, seed)
    plain, weights = _able(world)
    whole = len(faults) == int((weights > 0.0).sum())
    weight = {
        fault.id: float(share) if whole else 1.0
        for fault, share in zip(plain, weights, strict=True)
    }
    if shape == "noticed":
        faults = [
            fault for fault, sure in zip(faults, _noticed(world, faults), strict=True) if sure
        ]
    if shape == "intermittent":
        rng = np.random.default_rng([seed, 3])
        return [
            Hidden(faults=(fault,), present=float(rng.uniform(*PRESENT)), weight=weight[fault.id])
            for fault in faults
        ]
    return [Hidden(faults=(fault,), weight=weight[fault.id]) for fault in faults]


def _able(world: World) -> tuple[list[Fault], Array]:
    """Faults of the board without their other degrees, and their probabilities."""
    prior: dict[str, float] = {}
    for fault, share in zip(world.faults, world.prior, strict=False):
        prior[fault.plain_id] = prior.get(fault.plain_id, 0.0) + float(share)
    plain = [fault for fault in world.faults if not fault.version_of and fault.where != "off-board"]
    weights = np.asarray([prior[fault.id] for fault in plain])
    return plain, weights / weights.sum()


def _noticed(world: World, faults: list[Fault]) -> Array:
    """Probability that some output is predicted to be wrong in some state."""
    catalogue = Catalogue(world, Meter(), [CHECKS.get(SYMPTOM)])
    shown = 1.0 - catalogue.unseen()
    row = {fault.id: float(p) for fault, p in zip(world.faults, shown, strict=False)}
    return np.asarray([row[fault.id] > _PLAINLY for fault in faults], dtype=float)


def _parts(fault: Fault) -> set[str]:
    return {fault.designator, *(pin.designator for pin in fault.pins)}
