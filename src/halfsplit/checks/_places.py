"""Which places and parts are worth offering, and how a person is told where they are."""

from __future__ import annotations

import re

from halfsplit.board.model import Part
from halfsplit.build.fault import Place
from halfsplit.build.world import World

__all__ = [
    "ground_place",
    "is_chip",
    "leg",
    "legs_by_net",
    "part_named",
    "powered_states",
    "representative",
    "where",
]


_BESIDE = {"pad": "the pad under ", "tail": "the tail, on the solder side, of the socket at "}
"""Before the name of a leg: what is near it."""


def powered_states(world: World) -> list[str]:
    """Names of the powered states, in order."""
    return [state.name for state in world.board.states if state.powered]


def is_chip(part: Part) -> bool:
    """True for integrated circuits: their supply pins are implied, or their letter says so."""
    letters = _letters(part.designator)
    return bool(part.implied) or letters in {"U", "IC"}


def leg(designator: str, pin: str) -> str:
    """Name of the place at the leg of a pin."""
    return f"{designator}.{pin}"


def ground_place(world: World) -> str:
    """Name of "anywhere on ground", the black probe's usual place."""
    return f"net {world.board.ground}"


def legs_by_net(world: World) -> dict[str, list[str]]:
    """Net -> its test points and legs that are places of this world, the representative first."""
    nets: dict[str, list[str]] = {}
    chips = {part.designator for part in world.board.parts if is_chip(part)}
    for net, pins in world.board.nets().items():
        points = [name for name, on in world.board.testpoints.items() if on == net]
        chips_first = sorted(pins, key=lambda pin: pin[0] not in chips)
        legs = [leg(designator, pin) for designator, pin in chips_first]
        found = [name for name in (*points, *legs) if name in world.places]
        if found:
            nets[net] = found
    return nets


def representative(world: World, net: str) -> str:
    """The place by which a net is measured first: a test point, else a chip's leg, else any."""
    return legs_by_net(world)[net][0]


def part_named(world: World, designator: str) -> Part | None:
    """The part, letters' case folded."""
    fold = designator.casefold()
    return next((part for part in world.board.parts if part.designator.casefold() == fold), None)


def where(name: str, world: World, *, net: bool = True) -> str:
    """A place in words: ``U3 pin 6 (net DRA)``."""
    place = world.place(name)
    text = _spot(place)
    if net and place.kind != "net":
        text += f" (net {place.net})"
    return text


def _spot(place: Place) -> str:
    if place.kind == "net":
        return f"any good place on net {place.net}"
    if place.kind == "testpoint" or place.pin is None:
        return f"test point {place.name}"
    pin = place.pin.pin
    text = f"{place.pin.designator} pin {pin}"
    if not re.fullmatch(r"\d+", pin):
        text = f"{place.pin.designator}, leg {pin}"
    return f"{_BESIDE.get(place.kind, '')}{text}"


def _letters(designator: str) -> str:
    found = re.match(r"[A-Za-z]+", designator)
    return found[0].upper() if found else ""
