"""Several like channels in one case, each with its triangle: Darlington arrays, line drivers and
line receivers. Rings, open collector and three-state marks as IEEE 91 has them; from memory."""

from __future__ import annotations

import re
from collections.abc import Iterable

from halfsplit.draw.gates import Gate, gate
from halfsplit.draw.model import Box, Pin
from halfsplit.draw.symbol import HEAD, OUTPUTS, Labelled, Port, Symbol
from halfsplit.frozen import dataclass

__all__ = ["driver"]

_ROW, _LEAD, _BACK, _NOSE, _WIDE = 20, 20, 56, 84, 140
_RS232 = ", RS-232"
_ARRAY = "Darlington array"
_TITLES = (_ARRAY, "Line driver", "Line receiver")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Channel:
    takes: tuple[Pin, ...]
    gives: tuple[Pin, ...]

    @property
    def rows(self) -> int:
        return max(len(self.takes), len(self.gives))


def driver(box: Box, labelled: Labelled) -> Symbol | None:
    """The channels one under another, what they share below them; ``None`` for what is none of
    these, or has no channel that is whole."""
    if not box.title.startswith(_TITLES):
        return None
    takes = [pin for pin in box.pins if pin.role == "in"]
    gives = [pin for pin in box.pins if pin.role in OUTPUTS]
    if _RS232 in box.title and len(gives) == 1 and len(takes) + 1 == len(box.pins):
        return gate(box, Gate("and" if len(takes) > 1 else "buffer", True))
    channels = _channels(box)
    if not channels:
        return None
    power = [pin for pin in box.pins if pin.role in ("supply", "ground") and labelled(pin.net)]
    inside = {pin for channel in channels for pin in (*channel.takes, *channel.gives)}
    shared = [pin for pin in box.pins if pin not in inside and pin not in power]
    top = 10 if any(pin.role == "supply" for pin in power) else 0
    height = _ROW * (sum(channel.rows for channel in channels) + len(shared)) + 2 * top
    ports = list(_power(power, height))
    lines: list[str] = []
    words: list[tuple[int, int, str, str]] = []
    alone = len(channels) == 1 and not shared and not power
    shapes = [] if alone else [f"M{_LEAD} 0H{_WIDE - _LEAD}V{height}H{_LEAD}Z"]
    y = top
    for channel in channels:
        ports += _ports(channel, y)
        shapes.append(_triangle(y, channel.rows))
        lines += _strokes(channel, y, inverts=box.title.startswith(_ARRAY))
        if len(channel.takes) > 1:
            words += [(_BACK + 3, HEAD + y + 13 + _ROW * at, "start", sign)
                      for at, sign in enumerate("+−")]  # fmt: skip
        y += _ROW * channel.rows
    for pin in shared:
        clamp = box.title.startswith(_ARRAY) and pin.role == "passive"
        ports.append(_port(pin, y + 10, right=clamp))
        lines.append(_clamp(y + 10) if clamp else f"M0 {y + 10}H{_LEAD}")
        words.append((_LEAD + 4, HEAD + y + 13, "start", "" if clamp else pin.title[:9]))
        y += _ROW
    words.append((_WIDE - _LEAD, HEAD + height + 11, "end", box.label))
    return Symbol(
        width=_WIDE, height=HEAD + height + 12, ports=tuple(ports), lines=tuple(lines),
        shapes=tuple(shapes), words=tuple(words), numbered=True, name=(_LEAD, 13),
    )  # fmt: skip


def _channels(box: Box) -> list[_Channel]:
    """Those with an input and an output, by the number in the titles of their pins."""
    found: dict[str, list[Pin]] = {}
    for pin in box.pins:
        number = re.search(r"\d+", pin.title)
        if number and (pin.role == "in" or pin.role in OUTPUTS):
            found.setdefault(number[0], []).append(pin)
    channels = []
    for _, pins in sorted(found.items(), key=lambda item: int(item[0])):
        gives = sorted((pin for pin in pins if pin.role in OUTPUTS), key=lambda pin: pin.title)
        takes = sorted((pin for pin in pins if pin.role == "in"), key=lambda pin: pin.title)
        if gives and takes:
            channels.append(_Channel(takes=tuple(takes[:2]), gives=tuple(gives[:2])))
    return channels


def _port(pin: Pin, y: int, *, right: bool) -> Port:
    return Port(pin=pin, x=_WIDE if right else 0, y=HEAD + y, side="right" if right else "left")


def _ports(channel: _Channel, y: int) -> Iterable[Port]:
    for pins, right in ((channel.takes, False), (channel.gives, True)):
        for pin, at in zip(pins, _heights(len(pins), channel.rows), strict=True):
            yield _port(pin, y + at, right=right)


def _heights(pins: int, rows: int) -> list[int]:
    """Of pins from the top of their channel: one alone in its middle."""
    first = (_ROW * rows - _ROW * pins) // 2 + 10
    return [first + _ROW * at for at in range(pins)]


def _triangle(y: int, rows: int) -> str:
    middle, half = y + _ROW * rows // 2, 8 * rows
    return f"M{_BACK} {middle - half}L{_NOSE} {middle}L{_BACK} {middle + half}Z"


def _strokes(channel: _Channel, y: int, *, inverts: bool) -> Iterable[str]:
    """Leads to the triangle, with a ring where an output is the other way round."""
    middle, half = y + _ROW * channel.rows // 2, 8 * channel.rows
    for at in _heights(len(channel.takes), channel.rows):
        yield f"M0 {y + at}H{_BACK}"
    for number, at in enumerate(_heights(len(channel.gives), channel.rows)):
        edge = _NOSE - round((_NOSE - _BACK) * abs(y + at - middle) / half)
        if inverts or number == 1:
            yield f"M{edge} {y + at}a3 3 0 1 1 6 0a3 3 0 1 1 -6 0"
            edge += 6
        yield f"M{edge} {y + at}H{_WIDE}"
    if channel.gives[0].role == "oc":
        yield f"M{_BACK + 5} {middle - 1}l3 -3l3 3l-3 3zM{_BACK + 5} {middle + 4}h6"
    elif channel.gives[0].role == "tri":
        yield f"M{_BACK + 8} {middle - 3}h8l-4 6z"


def _clamp(y: int) -> str:
    """The common of the clamp diodes: one diode for all, its cathode towards the pin."""
    return f"M{_NOSE} {y}H96M96 {y - 5}V{y + 5}L105 {y}ZM105 {y - 5}V{y + 5}M105 {y}H{_WIDE}"


def _power(power: Iterable[Pin], height: int) -> Iterable[Port]:
    """Supplies above, grounds below."""
    up = [pin for pin in power if pin.role == "supply"]
    down = [pin for pin in power if pin.role == "ground"]
    for at, pin in enumerate(up):
        yield Port(pin=pin, x=_WIDE - _LEAD - 12 - 24 * at, y=HEAD, side="up")
    for at, pin in enumerate(down):
        yield Port(pin=pin, x=_LEAD + 12 + 24 * at, y=HEAD + height, side="down")
