"""Entering a board by its continuity: which pin to sweep next, which nets follow, what conflicts.

A sweep holds one probe at a pin and passes the other over all pins; what beeps is on its net. One
sweep a net is enough, since each tells the whole net: half as many probes as pins at most, instead
of one for each pair of pins.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from halfsplit.board.names import Lexicon, is_designator
from halfsplit.board.pintable import parts_text
from halfsplit.board.vocabulary import KindWord, Vocabulary
from halfsplit.frozen import dataclass

__all__ = ["Bare", "Sweep", "Toned", "bare_parts", "toned"]

_JOINS = frozenset({"coil", "winding", "fuse", "switch", "wire", "link", "jumper"})
"""Kinds that beep from one of their own pins to the other."""
_MOST_PINS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Bare:
    """A part without its nets: ``what`` as typed, ``pins`` with their roles in order."""

    designator: str
    what: str
    kind: str
    pins: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """What was heard at ``pin`` (``U1.3``): the ``others`` that beep. ``net`` is a name, if one
    was given."""

    pin: str
    others: tuple[str, ...]
    net: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Toned:
    """What follows from the sweeps. ``ask`` is the pin to sweep next, empty when none is left;
    ``open`` the pins that may beep with it; ``nets`` net -> its pins; ``text`` the board's lines.
    """

    ask: str
    open: tuple[str, ...]
    nets: Mapping[str, tuple[str, ...]]
    conflicts: tuple[str, ...]
    text: str


def bare_parts(lines: str, vocabulary: Vocabulary) -> tuple[tuple[Bare, ...], tuple[str, ...]]:
    """Parts typed one a line without nets (``U1 74LS00``, ``R1 4k7``, ``J1 connector 5`` for five
    pins), and what is wrong with other lines, in words."""
    lexicon = Lexicon(vocabulary)
    found: dict[str, Bare] = {}
    wrong = []
    for number, line in enumerate(lines.splitlines(), 1):
        words = line.partition("#")[0].split()
        if not words:
            continue
        name = words[0]
        if not is_designator(name) or name in found:
            wrong.append(f"line {number}: expected a designator used once, got {name!r}")
            continue
        kind = _kind(words, lexicon)
        if kind is None:
            wrong.append(f"line {number}: expected a kind of part or type number after {name}")
            continue
        pins = {pin.name: pin.role for pin in kind.pins if pin.role != "nc"}
        if kind.free_pins:
            count = words.pop() if words[-1].isdecimal() else ""
            if not count or not 1 <= int(count[:4]) <= 100:
                wrong.append(f"line {number}: expected how many pins {name} has, 1 to 100")
                continue
            pins = {str(n): "passive" for n in range(1, int(count) + 1)}
        found[name] = Bare(designator=name, what=" ".join(words[1:]), kind=kind.name, pins=pins)
    if sum(len(part.pins) for part in found.values()) > _MOST_PINS:
        wrong.append(f"at most {_MOST_PINS} pins at a time; do the board in two halves")
    return tuple(found.values()), tuple(wrong)


def toned(parts: Sequence[Bare], sweeps: Iterable[Sweep], vocabulary: Vocabulary) -> Toned:
    """What follows from the sweeps, in the order in which they were made."""
    roles = {f"{p.designator}.{pin}": role for p in parts for pin, role in p.pins.items()}
    kinds = {p.designator: p.kind for p in parts}
    net_of: dict[str, int] = {}
    names: dict[int, str] = {}
    swept: set[int] = set()
    conflicts: list[str] = []
    for number, sweep in enumerate(sweeps):
        group = [pin for pin in dict.fromkeys((sweep.pin, *sweep.others)) if pin in roles]
        conflicts += _at_odds(sweep, group, net_of, swept, kinds)
        joined = {net_of[pin] for pin in group if pin in net_of}
        target = min(joined, default=number)
        for pin, net in net_of.items():
            if net in joined:
                net_of[pin] = target
        net_of |= dict.fromkeys(group, target)
        swept.add(target)
        given = sweep.net or next((names[net] for net in sorted(joined) if net in names), "")
        if given:
            names[target] = given
    nets = _named(net_of, names, roles)
    at = {pin: net for net, pins in nets.items() for pin in pins}
    open_pins = tuple(pin for pin in roles if pin not in net_of)
    ask = max(open_pins, key=lambda pin: _worth(pin, roles, kinds), default="")
    typed = {
        part.designator: (
            part.what,
            {pin: at.get(f"{part.designator}.{pin}", "-") for pin in part.pins},
        )
        for part in parts
    }
    return Toned(
        ask=ask,
        open=tuple(pin for pin in open_pins if pin != ask),
        nets=nets,
        conflicts=tuple(conflicts),
        text=parts_text(typed, vocabulary),
    )


def _kind(words: Sequence[str], lexicon: Lexicon) -> KindWord | None:
    if len(words) > 1:
        kind = lexicon.kind(words[1])
        number = lexicon.type(words[1])
        if kind is None and number is not None:
            kind = lexicon.kind(number.kind)
        if kind is not None:
            return kind
    return lexicon.implied(words[0])


def _at_odds(
    sweep: Sweep,
    group: Sequence[str],
    net_of: Mapping[str, int],
    swept: set[int],
    kinds: Mapping[str, str],
) -> Iterable[str]:
    """Pins that an earlier full sweep would have heard, and parts that beep through themselves."""
    for pin in group[1:]:
        if pin in net_of and net_of[pin] in swept and net_of.get(sweep.pin) != net_of[pin]:
            yield (
                f"{pin} beeps with {sweep.pin} now, but not when its own net was swept; they are "
                "joined here: try the two once more, and take the sweep back if they do not beep"
            )
    designators = [pin.split(".")[0] for pin in group]
    for part in dict.fromkeys(designators):
        if designators.count(part) > 1 and kinds.get(part) in _JOINS:
            yield (
                f"{part} beeps through itself ({kinds[part]}): both its pins are on one net now; "
                "lift one leg or take it out, and sweep again"
            )


def _worth(pin: str, roles: Mapping[str, str], kinds: Mapping[str, str]) -> tuple[bool, int]:
    """Ground and supply first: they take the most pins off the list at once."""
    part = pin.split(".")[0]
    size = sum(other.split(".")[0] == part for other in roles)
    return roles[pin] in ("ground", "supply"), size


def _named(
    net_of: Mapping[str, int], names: Mapping[int, str], roles: Mapping[str, str]
) -> dict[str, tuple[str, ...]]:
    """Net -> pins; a lone pin is on no net unless it was given a name."""
    members: dict[int, list[str]] = {}
    for pin, net in net_of.items():
        members.setdefault(net, []).append(pin)
    found: dict[str, tuple[str, ...]] = {}
    for count, (net, pins) in enumerate(sorted(members.items()), 1):
        if len(pins) == 1 and net not in names:
            continue
        grounded = any(roles[pin] == "ground" for pin in pins)
        wanted = names.get(net) or ("GND" if grounded else f"N{count}")
        while wanted in found:
            wanted += "_"
        found[wanted] = tuple(pins)
    return found
