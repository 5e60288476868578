"""All checks of all kinds on a board, and any check a program names in text."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.build.world import World
from halfsplit.checks._places import ground_place, part_named, powered_states
from halfsplit.checks.kind import Check, CheckKind, Limits
from halfsplit.checks.registry import CHECKS
from halfsplit.errors import PlaceError, UnknownName

__all__ = ["make_check", "offers", "parse_check"]


def offers(world: World, limits: Limits | None = None) -> tuple[Check, ...]:
    """Every check offered on this board within limits, in the order of the kinds' names."""
    limits = limits or Limits()
    return tuple(
        check
        for kind in CHECKS
        if kind.name not in limits.without_kinds
        for check in kind.offers(world)
        if kind.setup(check, world) not in limits.without_setups
    )


def parse_check(text: str, world: World) -> Check:
    """The check that a text such as ``volts U3.6 @hold-A`` or ``ohms R7.1 : R7.2`` names.

    That is the form of :attr:`Check.id`. Any place may be named, offered or not. Ohms, diode and
    continuity from one place mean to ground; a state may be left out when there is only one.
    Raises :class:`UnknownName` (kind, state, part, output) and :class:`PlaceError`, with the
    nearest name.
    """
    words = text.split(maxsplit=1)
    if not words:
        raise UnknownName("kind of check", "", CHECKS.all())
    kind = CHECKS.get(words[0].casefold())
    rest = words[1] if len(words) > 1 else ""
    at, mark, state = rest.rpartition("@") if kind.stateful else (rest, "@", "")
    at, state = (at, state) if mark else (state, "")
    places = [place.strip() for place in (at.split(":") if kind.takes == "pair" else [at])]
    if len(places) == 1 and kind.takes == "pair":
        places = _two(places[0], world)
    return make_check(kind.name, [place for place in places if place], state.strip(), world)


def make_check(kind: str, places: Sequence[str], state: str, world: World) -> Check:
    """A check with its names as the board spells them. Raises as :func:`parse_check`."""
    known = CHECKS.get(kind)
    wanted = 2 if known.takes == "pair" else 1
    if known.takes == "pair" and len(places) == 1:
        places = [places[0], ground_place(world)]
    if len(places) != wanted:
        what = {"part": "a designator", "output": "an output", "place": "one place"}
        example = f", such as {_example(known, world)}" if known.offers(world) else ""
        raise PlaceError(
            f"{kind} takes {what.get(known.takes, 'two places')}, got "
            f"{', '.join(places) or 'none'}{example}"
        )
    named = tuple(_name(known, place, world) for place in places)
    return Check(kind=known.name, places=named, state=_state(known, state, world))


def _name(kind: CheckKind, place: str, world: World) -> str:
    if kind.takes == "part":
        part = part_named(world, place)
        if part is None:
            raise UnknownName("part", place, [known.designator for known in world.board.parts])
        return part.designator
    if kind.takes == "output":
        outputs = {output.name.casefold(): output.name for output in world.board.outputs}
        if place.casefold() not in outputs:
            raise UnknownName("output", place, outputs.values())
        return outputs[place.casefold()]
    return world.place(place).name


def _state(kind: CheckKind, state: str, world: World) -> str:
    if not kind.stateful:
        return ""
    states = {known.name.casefold(): known.name for known in world.board.states}
    powered = powered_states(world)
    if not state and len(powered) == 1:
        return powered[0]
    if state.casefold() not in states:
        raise UnknownName("state", state, states.values())
    return states[state.casefold()]


def _two(at: str, world: World) -> list[str]:
    """``R7.1 R7.2`` without the colon, unless the whole is one place (``net PHA``)."""
    names = {name.casefold() for name in world.places}
    words = at.split()
    for cut in range(1, len(words)):
        one, two = " ".join(words[:cut]), " ".join(words[cut:])
        if at.casefold() not in names and {one.casefold(), two.casefold()} <= names:
            return [one, two]
    return [at]


def _example(kind: CheckKind, world: World) -> str:
    return kind.offers(world)[0].id
