"""A board as a sheet to draw: units of chips apart, power pins of chips in the tray."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from halfsplit.board.model import BLOCK, Board, Part
from halfsplit.board.vocabulary import KindWord, PinWord
from halfsplit.build.channels import channels
from halfsplit.build.wiring import with_far_sides
from halfsplit.draw.model import Box, Pin, Sheet
from halfsplit.draw.semiconductors import ARRAY_TRANSISTOR
from halfsplit.draw.symbol import OUTPUTS, TEST_POINT
from halfsplit.parts.connector import FAR
from halfsplit.parts.registry import KINDS
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.units import format_quantity

__all__ = ["sheet_of"]

POWER = frozenset({"supply", "ground"})


def sheet_of(board: Board) -> Sheet:
    """The sheet of a board, parts in the order in which they were typed."""
    board = with_far_sides(board)
    kinds = PartsVocabulary().kinds()
    driven = _driven(board, kinds)
    rails = frozenset(rail.net for rail in board.rails) | _supplies(board)
    power = rails | {board.ground}
    boxes = [
        box
        for part in board.parts
        for box in (
            _strips(part, driven - power, power) if part.kind in _STRIPS
            else _boxes(part, kinds.get(part.kind), driven)
        )
    ]  # fmt: skip
    boxes += [_test_point(name, net) for name, net in board.testpoints.items()]
    return Sheet(boxes=tuple(boxes), ground=board.ground, rails=rails, lanes=_lanes(board))


def _lanes(board: Board) -> dict[str, tuple[int, int]]:
    """Net -> group of like channels, and which of them, in the order in which they were typed."""
    order = {net: at for at, net in enumerate(board.nets())}
    found: dict[str, tuple[int, int]] = {}
    for number, group in enumerate(channels(board)):
        for at, channel in enumerate(sorted(group, key=lambda one: order.get(one.nets[0], 0))):
            for net in channel.nets:
                found.setdefault(net, (number, at))
    return found


def _strips(part: Part, driven: frozenset[str], power: frozenset[str]) -> Iterable[Box]:
    """A connector: what comes in apart from what goes out, so that each stands at its end of the
    drawing; of one whose far side was typed, all of it, the far side away from the board."""
    ends = {name for name in part.pins if name.endswith(FAR)}
    leaving = {name for name, net in part.pins.items() if net in driven and name not in ends}
    if ends:
        outward = 2 * len(leaving) >= sum(part.pins[name] in driven for name in (*leaving, *ends))
        yield _strip(part, part.pins, lambda name: (name in ends) == outward)
        return
    fed = {name for name, net in part.pins.items() if net in power}
    going = {n: net for n, net in part.pins.items() if n in leaving or (leaving and n in fed)}
    coming = {n: net for n, net in part.pins.items() if n not in going}
    if coming:
        yield _strip(part, coming, lambda name: True)
    if going:
        yield _strip(part, going, lambda name: False, ":out" if coming else "")


def _strip(part: Part, pins: Mapping[str, str], out: Callable[[str], bool], end: str = "") -> Box:
    return Box(
        id=part.designator + end, part=part.designator, kind=part.kind, title="Connector",
        pins=tuple(
            Pin(name=name, net=net, place=f"{part.designator}.{name}",
                role="out" if out(name) else "in")
            for name, net in pins.items()
        ),
    )  # fmt: skip


def _boxes(part: Part, word: KindWord | None, driven: frozenset[str]) -> Iterable[Box]:
    words = {pin.name: pin for pin in word.pins} if word else {}
    title = word.title if word else part.kind
    pins = {name: _pin(part, name, net, words, driven) for name, net in part.pins.items()}
    alone = _transistors(part)
    number = part.kind if part.kind[:1].isdigit() or part.kind.isupper() else ""
    label = part.fields.get("title", "") if part.kind == BLOCK else part.type or number
    if word and word.value_unit and part.value is not None:
        label = _value(part.value, word.value_unit)
    for letter, ends in alone.items():
        yield Box(
            id=f"{part.designator}:{letter}", part=part.designator, kind=ARRAY_TRANSISTOR,
            title=title, label=label, unit=letter,
            pins=tuple(replace(pins[name], title=end, role="in" if end == "b" else "oc")
                       for end, name in ends.items()),
        )  # fmt: skip
    for name in {name for ends in alone.values() for name in ends.values()}:
        del pins[name]
    if alone and len(pins) == 1:  # the substrate
        pins = {name: replace(pin, role="ground") for name, pin in pins.items()}
        part = replace(part, implied=frozenset(pins))
    power = tuple(pin for pin in pins.values() if pin.role in POWER)
    signal = {name: pin for name, pin in pins.items() if pin.role not in POWER}
    if power and (part.implied or _by_unit(signal, words)):
        yield Box(
            id=f"{part.designator}:power", part=part.designator, kind="power", title=title,
            label=label, pins=power, unit=" power",
        )  # fmt: skip
    else:
        signal = pins
    units = _by_unit(signal, words)
    if not units and signal:
        yield Box(
            id=part.designator, part=part.designator, kind=part.kind, title=title, label=label,
            pins=tuple(signal.values()),
        )  # fmt: skip
    for unit, names in units.items():
        yield Box(
            id=f"{part.designator}:{unit}", part=part.designator, kind=part.kind, title=title,
            label=label, pins=tuple(signal[name] for name in names), unit=unit,
        )  # fmt: skip


def _transistors(part: Part) -> dict[str, dict[str, str]]:
    """Letter -> end -> pin, of the transistors of an array that have all their pins connected."""
    units = getattr(KINDS.get(part.kind), "transistors", ()) if part.kind in KINDS else ()
    ends = {unit.letter: {"b": unit.b, "c": unit.c, "e": unit.e} for unit in units}
    return {letter: pins for letter, pins in ends.items() if {*pins.values()} <= {*part.pins}}


def _value(value: float, unit: str) -> str:
    """As the trade writes it: no millifarad."""
    if unit == "F" and value >= 1e-3:
        return f"{value * 1e6:.6g} µF"
    return format_quantity(value, unit)


def _test_point(name: str, net: str) -> Box:
    pin = Pin(name=name, net=net, place=name, role="in")
    return Box(id=name, part=name, kind=TEST_POINT, title="Test point", pins=(pin,))


def _by_unit(signal: Mapping[str, Pin], words: Mapping[str, PinWord]) -> dict[str, list[str]]:
    """Unit -> its pins, when every pin belongs to a unit with an output; else empty."""
    units: dict[str, list[str]] = {}
    for name in signal:
        unit = words[name].unit if name in words else ""
        if not unit:
            return {}
        units.setdefault(unit, []).append(name)
    if any(all(signal[name].role not in OUTPUTS for name in names) for names in units.values()):
        return {}
    return units


def _pin(
    part: Part, name: str, net: str, words: Mapping[str, PinWord], driven: frozenset[str]
) -> Pin:
    word = words.get(name)
    role = part.roles.get(name) or (word.role if word else "passive")
    role = _ROLES.get((part.kind, name), role)
    if part.kind in _SENSORS and all("/" in net for net in part.pins.values()):
        role = "oc"  # a sensor at the end of a cable, all its wires on one side
    title = word.title if word and part.kind not in _PLAIN else ""
    if part.kind.startswith(_ARRAYS):
        role = {"B": "in", "C": "oc", "E": "oc"}.get(
            (name if name[0].isalpha() else title)[:1], role
        )
    if part.kind.startswith("display-"):
        role = "in"
    if part.kind in ("slotted-sensor", "optocoupler", "regulator", "negative-regulator"):
        title = name
    return Pin(name=name, net=net, place=f"{part.designator}.{name}", role=role, title=title)


def _driven(board: Board, kinds: Mapping[str, KindWord]) -> frozenset[str]:
    """Nets that something on the board drives."""
    found = set()
    for part in board.parts:
        word = kinds.get(part.kind)
        words = {pin.name: pin for pin in word.pins} if word else {}
        for name, net in part.pins.items():
            role = part.roles.get(name) or (words[name].role if name in words else "")
            if role in OUTPUTS or _ROLES.get((part.kind, name)) == "oc":
                found.add(net)
    return frozenset(found)


def _supplies(board: Board) -> frozenset[str]:
    """Nets that chips are supplied from, such as a regulator's output or a rail behind a fuse."""
    names = {part.pins[pin] for part in board.parts for pin in part.implied if pin in part.pins}
    outputs = {
        part.pins["out"] for part in board.parts if "regulator" in part.kind and "out" in part.pins
    }
    plus = {net for net in board.nets() if net[:1] in "+-" and net[1:2].isdigit()}
    return frozenset((names | outputs | plus) - {board.ground})


_STRIPS = frozenset({"cable", "connector"})
_SENSORS = frozenset({"slotted-sensor", "optocoupler"})
_ARRAYS = ("CA30", "LM30")
"""Beginnings of the names of transistor arrays, whose pins begin with C, B or E."""
_PLAIN = frozenset({"unknown"})
_TRANSISTORS = ("npn", "pnp", "darlington", "pnp-darlington")
_ROLES = {
    **{(kind, "b"): "in" for kind in _TRANSISTORS},
    **{(kind, "c"): "oc" for kind in _TRANSISTORS},
    **{(kind, "e"): "oc" for kind in _TRANSISTORS},
    **{(kind, "g"): "in" for kind in ("nmos", "pmos")},
    **{(kind, "d"): "oc" for kind in ("nmos", "pmos")},
    **{(kind, "s"): "oc" for kind in ("nmos", "pmos")},
    **{(kind, "c"): "oc" for kind in ("slotted-sensor", "optocoupler")},
    **{(kind, "e"): "oc" for kind in ("slotted-sensor", "optocoupler")},
    **{(kind, "a"): "in" for kind in ("slotted-sensor", "optocoupler")},
    **{(kind, "k"): "in" for kind in ("slotted-sensor", "optocoupler")},
    **{(kind, "g"): "in" for kind in ("scr", "triac")},
    ("shunt-reference", "ref"): "in",
    **{("bridge", pin): "in" for pin in ("ac1", "ac2")},
    ("bridge", "+"): "out",
    **{("transformer", pin): "in" for pin in ("1", "2")},
    **{("transformer", pin): "out" for pin in ("3", "4", "5")},
    **{("relay", pin): "in" for pin in ("1", "2")},
    **{("relay", pin): "out" for pin in ("com", "no", "nc")},
    **{(kind, "in"): "in" for kind in ("regulator", "negative-regulator")},
    **{(kind, "out"): "out" for kind in ("regulator", "negative-regulator")},
}
"""(kind, pin) -> where it is drawn, for kinds whose pins have no direction of their own."""
