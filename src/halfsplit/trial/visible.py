"""Whether a fault can be seen at all: some reading or symptom that differs from a good board's."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Meter
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue
from halfsplit.trial.player import Player

__all__ = ["visible_by", "wrong_outputs"]

_TIMES = 2.0
"""Spreads by which a reading must differ."""
_LEAST = {"volts": 0.03, "ohms": 0.03, "diode": 0.03}
STORED = {"capacitance": 0.4, "esr": 1.0}
"""Kinds that measure capacitors -> the natural log by which they must differ: twice what one is
made within."""


def visible_by(played: Player, good: Player, world: World, catalogue: Catalogue) -> str:
    """The first check by which the board differs from the same board without the fault, by more
    than tolerance and meter allow; empty when none does. Both players answer for the same board
    (seed); only what is truly there is compared.
    """
    return (
        next((check.id for check, _ in wrong_outputs(played, good, world)), "")
        or _by_volts(played, good, world, catalogue)
        or _by_pairs(played, good, world, catalogue)
    )


def wrong_outputs(played: Player, good: Player, world: World) -> Iterator[tuple[Check, str]]:
    """Symptoms that differ from the good board's, each with what is seen; none when nobody would
    notice anything."""
    for output in played.board.outputs:
        for state in _powered(world):
            is_, was = played.outputs(output, state), good.outputs(output, state)
            if is_ is not None and was is not None and is_ != was:
                yield Check(kind=SYMPTOM, places=(output.name,), state=state), is_


def _by_volts(played: Player, good: Player, world: World, catalogue: Catalogue) -> str:
    checks = list(catalogue.kind("volts").offers(world))
    seen: set[tuple[str, str]] = set()
    for check in checks:
        node = played.stand.node(check.places[0])
        if (node, check.state) in seen:
            continue
        seen.add((node, check.state))
        now, then = played.stand.unloaded(check.state), good.stand.unloaded(check.state)
        if now is None or then is None:
            continue
        place = world.place(check.places[0])
        net = node if node in now else place.net
        limit = _limit(check, world)
        if abs(now.get(net, 0.0) - then.get(place.net, 0.0)) <= limit:
            continue
        is_ = played.stand.volts(check.places[0], check.state)
        was = good.stand.volts(check.places[0], check.state)
        if is_ is not None and was is not None and abs(is_ - was) > limit:
            return check.id
    return ""


def _by_pairs(played: Player, good: Player, world: World, catalogue: Catalogue) -> str:
    """Power-off readings at the nets around the fault."""
    fault, board = played.fault, played.board
    part = board.part(fault.designator)
    nets = set(part.pins.values()) if part is not None and fault.where == "part" else set()
    for ref in fault.pins:
        other = board.part(ref.designator)
        if other is not None and ref.pin in other.pins:
            nets.add(other.pins[ref.pin])
    nets -= {board.ground}
    if not fault.pins and part is None:
        return ""
    for name in (
        "continuity",
        "ohms",
        "diode",
        *(kind for kind in STORED if kind not in catalogue.meter.lacks),
    ):
        for check in catalogue.kind(name).offers(world):
            places = [world.place(place) for place in check.places]
            if {place.net for place in places} & nets and _differs(
                check, played, good, world, catalogue.meter
            ):
                return check.id
    return ""


def _differs(check: Check, played: Player, good: Player, world: World, meter: Meter) -> bool:
    red, black = check.places
    if check.kind in STORED:
        return _stored_otherwise(check, played, good, meter)
    if check.kind == "diode":
        is_, was = played.stand.diode(red, black), good.stand.diode(red, black)
    else:
        is_, was = played.stand.ohms(red, black), good.stand.ohms(red, black)
    if is_ is None or was is None:
        return False
    if check.kind == "continuity":
        limit = Meter().continuity_ohms
        return (is_ < limit) != (was < limit)
    if math.isinf(is_) or math.isinf(was):
        return math.isinf(is_) != math.isinf(was)
    if check.kind == "diode":
        spread = float(world.diode([(red, black)]).spread[0, 0])
        return abs(is_ - was) > _TIMES * spread + _LEAST["diode"]
    spread = float(world.ohms([(red, black)]).spread[0, 0])
    change = abs(math.log((is_ + 0.5) / (was + 0.5)))
    return change > _TIMES * spread + _LEAST["ohms"]


def _stored_otherwise(check: Check, played: Player, good: Player, meter: Meter) -> bool:
    """By a factor beyond what capacitors are made within."""
    red, black = check.places
    if check.kind == "esr":
        found = [one.stand.impedance(red, black, meter.esr_hertz) for one in (played, good)]
        is_, was = (None if z is None else z.real for z in found)
    else:
        is_, was = (one.stand.farads(red, black, meter.capacitance_hertz) for one in (played, good))
    if is_ is None or was is None or math.isnan(is_) or math.isnan(was):
        return is_ is not None and was is not None and math.isnan(is_) != math.isnan(was)
    return abs(math.log(max(is_, 1e-15) / max(was, 1e-15))) > STORED[check.kind]


def _limit(check: Check, world: World) -> float:
    spread = float(world.volts(check.state, check.places).spread[0, 0])
    return _TIMES * (spread if math.isfinite(spread) else 0.1) + _LEAST["volts"]


def _powered(world: World) -> list[str]:
    return [state.name for state in world.board.states if state.powered]
