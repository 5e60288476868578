"""A mechanism as somebody describes it: in the fields of its windings, which are part of the board,
or in a small TOML file beside it, which goes before.

Numbers are SI, or text with a unit (``"60mNm"``, ``"112Hz"``). What is left out is taken as usual,
in proportion to the rest, and named as assumed.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from halfsplit.board.model import Board
from halfsplit.build.motion import Stepper
from halfsplit.build.motion_symptom import Symptoms, symptoms, unknown_mechanism
from halfsplit.build.world import World
from halfsplit.errors import MotionError, UnitError, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.motion import estimate
from halfsplit.motion.keys import KEYS
from halfsplit.motion.mechanism import FAMILIES, Mechanism
from halfsplit.units import parse

__all__ = ["Described", "described", "read_mechanism"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Described:
    """A mechanism, the order of windings typed (or none), what nobody said, and the steps a second
    at which the equipment goes, or ``None``."""

    mechanism: Mechanism
    order: tuple[str, ...]
    assumed: tuple[str, ...]
    rate: float | None = None
    loaded: bool = False
    """Whether the load was told."""

    def symptoms(self, world: World, stepper: Stepper) -> Symptoms:
        """What each fault makes of this mechanism, as somebody would tell it."""
        measured = {"friction"} - set(self.assumed) | ({"load"} if self.loaded else set())
        return symptoms(world, stepper, self.mechanism, measured=measured, rate=self.rate)


def described(board: Board, stepper: Stepper) -> Described:
    """The mechanism as the fields of its windings tell it, a usual one where they do not. Raises
    :class:`MotionError` when two windings say different things."""
    return _described(_Typed("the board", _fields(board, stepper)), stepper)


def read_mechanism(path: str | Path | None, board: Board, stepper: Stepper) -> Described:
    """The mechanism of a file, and of the board where the file says nothing. Raises
    :class:`MotionError` and :class:`UnknownName`."""
    if path is None:
        return described(board, stepper)
    try:
        typed = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as error:
        raise MotionError(f"{path}: cannot be read: {error.strerror}") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise MotionError(f'{path}: expected lines such as holding = "60mNm": {error}') from error
    for name in typed:
        if name not in KEYS:
            raise UnknownName("key of a mechanism", name, KEYS)
    return _described(_Typed(str(path), {**_fields(board, stepper), **typed}), stepper)


def _fields(board: Board, stepper: Stepper) -> dict[str, object]:
    """What the windings of a motor say of it."""
    found: dict[str, object] = {}
    for part in board.parts:
        if part.designator not in stepper.windings:
            continue
        for name in KEYS.keys() & part.fields.keys():
            said = part.fields[name]
            if found.setdefault(name, said) != said:
                raise MotionError(
                    f"{part.designator}: expected {name}={found[name]} as at the other windings of "
                    f"its motor, got {said}"
                )
    return found


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
        if isinstance(said, str):
            said = said.split("..")
        if not isinstance(said, list) or len(said) != 2:
            raise MotionError(
                f"{self.path}: expected two numbers for {name}, -2..84 or [-2, 84], got {said!r}"
            )
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
    return Described(
        mechanism=model,
        order=tuple(order),
        assumed=_left_out(typed),
        rate=typed.number("rate"),
        loaded="load" in typed.said,
    )


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
