"""A mechanism as somebody describes it in a small TOML file beside the board.

Numbers are SI, or text with a unit (``"60mNm"``, ``"112Hz"``). What is left out is taken as usual,
in proportion to the rest, and named as assumed.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from halfsplit.build.motion import Stepper
from halfsplit.build.motion_symptom import unknown_mechanism
from halfsplit.errors import MotionError, UnitError, UnknownName
from halfsplit.motion import estimate
from halfsplit.motion.mechanism import FAMILIES, Mechanism
from halfsplit.units import parse

__all__ = ["KEYS", "Described", "read_mechanism"]

KEYS: Mapping[str, tuple[str, str]] = {
    "family": ("", "variable-reluctance, permanent-magnet or hybrid"),
    "order": ("", "windings in the order of their phases: ['L1', 'L3', 'L2', 'L4']"),
    "steps_per_turn": ("1", "full steps of a turn: clicks felt by hand, one turn"),
    "holding": ("Nm", "holding torque of one phase"),
    "slips_at": ("kg", "weight on a thread round the shaft at which one phase slips"),
    "turns_at": ("kg", "weight that keeps the shaft turning, power off"),
    "radius": ("m", "radius at which these weights pull"),
    "rings": ("Hz", "frequency at which it swings after a flick, one phase on"),
    "rings_down_to": ("1", "each swing as a share of the one before, same side"),
    "inertia": ("kgm2", "inertia of rotor and load at the shaft"),
    "friction": ("Nm", "friction at the shaft"),
    "viscous": ("Nms", "drag that grows with speed"),
    "detent": ("Nm", "torque of the clicks, power off"),
    "load": ("Nm", "torque that pulls towards the home end, such as a weight"),
    "carriage": ("kg", "mass of what moves along"),
    "travel": ("m", "way of one turn: band, lead screw or rack"),
    "track": ("m", "from one track to the next"),
    "stops": ("1", "full steps of the two end stops, home is at 0: [-2, 84]"),
    "home": ("1", "full steps at and below which the home sensor sees it"),
}  # fmt: skip
"""Key -> unit ("" a word, "1" a number) and what it means."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Described:
    """A mechanism, the order of windings typed (or none), and what nobody said."""

    mechanism: Mechanism
    order: tuple[str, ...]
    assumed: tuple[str, ...]


def read_mechanism(path: str | Path | None, stepper: Stepper) -> Described:
    """The mechanism of a file, or a usual one when there is none. Raises :class:`MotionError` and
    :class:`UnknownName`."""
    if path is None:
        return Described(mechanism=unknown_mechanism(stepper), order=(), assumed=_ASSUMED)
    try:
        typed = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as error:
        raise MotionError(f"{path}: cannot be read: {error.strerror}") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise MotionError(f'{path}: expected lines such as holding = "60mNm": {error}') from error
    for name in typed:
        if name not in KEYS:
            raise UnknownName("key of a mechanism", name, KEYS)
    return _described(_Typed(str(path), typed), stepper)


_ASSUMED = ("holding", "steps_per_turn", "inertia", "friction")


@dataclass(frozen=True, slots=True)
class _Typed:
    path: str
    said: Mapping[str, object]

    def number(self, name: str) -> float | None:
        if name not in self.said:
            return None
        unit = KEYS[name][0]
        return self._one(name, self.said[name], "" if unit == "1" else unit)

    def needed(self, name: str, for_what: str) -> float:
        found = self.number(name)
        if found is None:
            raise MotionError(f"{self.path}: expected {name} beside {for_what}: {KEYS[name][1]}")
        return found

    def numbers(self, name: str) -> tuple[float, float] | None:
        said = self.said.get(name)
        if said is None:
            return None
        if not isinstance(said, list) or len(said) != 2:
            raise MotionError(f"{self.path}: expected two numbers for {name}, got {said!r}")
        low, high = (self._one(name, one, "") for one in said)
        return low, high

    def _one(self, name: str, said: object, unit: str) -> float:
        if isinstance(said, int | float) and not isinstance(said, bool):
            return float(said)
        try:
            return parse(str(said), unit)
        except UnitError as error:
            raise MotionError(f"{self.path}: {name}: {error}") from error


def _described(typed: _Typed, stepper: Stepper) -> Described:
    usual = unknown_mechanism(stepper)
    family = str(typed.said.get("family", usual.family))
    if family not in FAMILIES:
        raise UnknownName("family of motor", family, FAMILIES)
    order = typed.said.get("order", [])
    if not isinstance(order, list) or not all(isinstance(one, str) for one in order):
        raise MotionError(f"{typed.path}: expected a list of windings for order, got {order!r}")
    steps = typed.number("steps_per_turn") or usual.steps_per_turn
    holding = _either(typed, "holding", "slips_at", lambda kg: _weight(typed, kg)) or usual.holding
    friction = _either(typed, "friction", "turns_at", lambda kg: _weight(typed, kg))
    travel, track = typed.number("travel"), typed.number("track")
    model = replace(
        usual, family=next(one for one in FAMILIES if one == family), steps_per_turn=steps,
        holding=holding, detent=_given(typed, "detent", 0.05 * holding),
        friction=usual.friction / usual.holding * holding if friction is None else friction,
        load=_given(typed, "load", 0.0), stops=typed.numbers("stops"), travel=travel,
        home=_given(typed, "home", 0.0), viscous=_given(typed, "viscous", 0.0),
        per_track=track / travel * steps if track and travel else 1.0,
    )  # fmt: skip
    rings = typed.number("rings")
    inertia = typed.number("inertia")
    if rings is not None:
        inertia = estimate.inertia_from_ring(holding, model.teeth, rings)
    elif inertia is None:
        inertia = estimate.inertia_from_ring(holding, model.teeth, usual.hertz())
    carriage = typed.number("carriage")
    if carriage is not None and rings is None:
        inertia += estimate.inertia_of_carriage(carriage, typed.needed("travel", "carriage"))
    model = replace(model, inertia=inertia)
    share = typed.number("rings_down_to")
    if share is not None:
        model = replace(model, viscous=estimate.viscous_from_ring(inertia, model.hertz(), share))
    return Described(mechanism=model, order=tuple(order), assumed=_left_out(typed))


def _weight(typed: _Typed, kilograms: float) -> float:
    return estimate.torque_of_weight(kilograms, typed.needed("radius", "a weight"))


def _given(typed: _Typed, name: str, usual: float) -> float:
    found = typed.number(name)
    return usual if found is None else found


def _either(
    typed: _Typed, direct: str, measured: str, made: Callable[[float], float]
) -> float | None:
    weight = typed.number(measured)
    return typed.number(direct) if weight is None else made(weight)


def _left_out(typed: _Typed) -> tuple[str, ...]:
    said = typed.said.keys()
    ways = {
        "holding": {"holding", "slips_at"}, "steps_per_turn": {"steps_per_turn"},
        "inertia": {"inertia", "rings"}, "friction": {"friction", "turns_at"},
    }  # fmt: skip
    return tuple(name for name in _ASSUMED if not ways[name] & said)
