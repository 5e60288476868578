"""A board that is not there, for trying the program: what it would read with a hidden fault.

The answers are the program's own predictions, so finding the fault proves nothing; a trial does
(``halfsplit.trial``).
"""

from __future__ import annotations

import math

import numpy as np

from halfsplit.build.fault import HEALTHY, Fault
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Outcomes
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue
from halfsplit.errors import UnknownName

__all__ = ["answer", "complaint", "fault_named", "hide_fault"]

STEPS = 17
"""Readings tried within the likeliest span, both ends included."""


def hide_fault(catalogue: Catalogue, seed: int) -> Fault:
    """A fault in a part that the outputs show, drawn by its prior probability.

    On a board without outputs, any fault in a part. Raises :class:`UnknownName` when there is
    none at all.
    """
    world = catalogue.world
    shown = _shown(catalogue)
    chance = np.array(
        [
            prior if fault.where == "part" and one else 0.0
            for prior, fault, one in zip(world.prior, world.faults, shown, strict=False)
        ]
    )
    if chance.sum() <= 0.0:
        raise UnknownName("fault to hide", "any", [fault.id for fault in world.faults[1:]])
    rng = np.random.default_rng(seed)
    return world.faults[int(rng.choice(len(chance), p=chance / chance.sum()))]


def fault_named(name: str, world: World) -> Fault:
    """The fault of that id. Raises :class:`UnknownName`."""
    known = {fault.id: fault for fault in world.faults if fault.id != HEALTHY}
    if name not in known:
        raise UnknownName("fault", name, known)
    return known[name]


def complaint(fault: Fault, catalogue: Catalogue) -> tuple[Check, str] | None:
    """What an owner would say: the first symptom that differs from a good board's."""
    world = catalogue.world
    healthy = world.faults[0]
    for check in _symptoms(catalogue):
        said = answer(check, fault, catalogue)
        if said != answer(check, healthy, catalogue):
            return check, said
    return None


def answer(check: Check, fault: Fault, catalogue: Catalogue) -> str:
    """What a person would type: of the likeliest outcome of the check under the fault, the number
    that suits the fault best."""
    row = next(at for at, one in enumerate(catalogue.world.faults) if one.id == fault.id)
    table = _outcomes(check, catalogue)
    best = int(np.argmax(table.p[row]))
    if not table.edges:
        return table.labels[best]
    low, high = table.edges[best], table.edges[best + 1]
    if math.isinf(high):
        return "OL" if table.labels[best] == "OL" else f"over {low:g}"
    if math.isinf(low):
        return f"under {high:g}"
    typed = [f"{value:.4g}" for value in np.linspace(low, high, STEPS)]
    return max(typed, key=lambda text: _fit(check, text, row, catalogue))


def _fit(check: Check, text: str, row: int, catalogue: Catalogue) -> float:
    kind, world = catalogue.kind(check.kind), catalogue.world
    reading = kind.read(check, text, world)
    return float(kind.likelihood(check, reading, world, catalogue.meter)[row])


def _outcomes(check: Check, catalogue: Catalogue) -> Outcomes:
    kind = catalogue.kind(check.kind)
    return kind.outcomes([check], catalogue.world, catalogue.meter)[0]


def _symptoms(catalogue: Catalogue) -> tuple[Check, ...]:
    if SYMPTOM not in catalogue.kinds:
        return ()
    return tuple(catalogue.kinds[SYMPTOM].offers(catalogue.world))


def _shown(catalogue: Catalogue) -> list[bool]:
    """[F] whether some output does something else than on a good board."""
    world = catalogue.world
    differs = np.zeros(len(world.faults), dtype=np.bool_)
    checks = _symptoms(catalogue)
    for check in checks:
        p = _outcomes(check, catalogue).p
        differs |= p.argmax(axis=1) != p[0].argmax()
    return [bool(one) for one in differs] if checks else [True] * len(differs)
