"""Logic chips: one family in place of another, one number in place of its like."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.parts._families import family as family_of
from halfsplit.parts._logic_chips import ChipPin, chip, listed
from halfsplit.parts.logic import KINDS as CHIPS
from halfsplit.parts.logic import LogicChip
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.operating import Points
from halfsplit.replacement.pinout import differences, functions
from halfsplit.replacement.sorts._base import Asked, Sort, limited, most, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["KIND"]

SINK, SOURCE, OFF = "current into a low output", "current out of a high output", "output when off"
LOW, HIGH = "low level at an input", "high level at an input, below its supply"
_BETWEEN = 1.4
"""A level below is meant as low, above as high, V."""
_SUPPLY = 5.0
_NAMES = frozenset(kind.name for kind in CHIPS)
_FASTER, _SLOWER = 2.0, 1.5


class Logic(Sort):
    """Levels, drive, input load, what stands at open collectors, and the delay of a gate."""

    name = "logic chip"
    kinds = _NAMES

    def quantities(self, site: Site) -> Sequence[Quantity]:
        kind = _kind(site)
        outs = _connected(site, kind, ("out", "tri", "oc", "io"))
        ins = _connected(site, kind, ("in",))
        iol, why = limited(site, "low output current")

        def seen(points: Points) -> list[Array]:
            return [site.volts(pin, points) for pin in ins]

        found = [
            Quantity(name=SINK, unit="A", limit=iol, source=why,
                     of=lambda points: most((site.amps(pin, points) for pin in outs), points)),
        ]  # fmt: skip
        if kind.chip.output == "oc":
            off, why = limited(site, "output voltage when off")
            found.append(
                Quantity(name=OFF, unit="V", limit=off, source=why,
                         of=lambda points: most((site.volts(pin, points) for pin in outs), points))
            )  # fmt: skip
        else:
            ioh, why = limited(site, "high output current")
            found.append(
                Quantity(name=SOURCE, unit="A", limit=ioh, source=why,
                         of=lambda points: most((-site.amps(pin, points) for pin in outs), points))
            )  # fmt: skip
        levels = table("levels").get(kind.family.name)
        if levels and ins and kind.family.name != "cmos":
            source = "family levels at 5 V"
            found += [
                Quantity(name=LOW, unit="V", limit=levels["vil"], source=source, steady=True,
                         kills=False,
                         of=lambda points: most(map(_low, seen(points)), points)),
                Quantity(name=HIGH, unit="V", limit=_SUPPLY - levels["vih"], source=source,
                         steady=True, kills=False,
                         of=lambda points: most(map(_short, seen(points)), points)),
            ]  # fmt: skip
        return found

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        old = _kind(asked.site)
        found = [_candidate(asked, old, new) for new in _alike(old)]
        order = {"serves": 0, "with a change": 1, "no": 2}
        return sorted(found, key=lambda one: order[one.verdict])

    def remarks(self, asked: Asked) -> Iterator[str]:
        old = _kind(asked.site)
        open_ins = [pin.number for pin in _unconnected(asked.site, old)]
        if open_ins and not old.family.mos:
            yield f"Inputs left open on this board, which TTL takes for high: {_pins(open_ins)}."
        if old.chip.output == "oc":
            yield "Its outputs only pull low: 0.7 V there may be a base that holds the line."


def _kind(site: Site) -> LogicChip:
    assert isinstance(site.kind, LogicChip)
    return site.kind


def _connected(site: Site, kind: LogicChip, roles: Sequence[str]) -> list[str]:
    return [
        pin.number for pin in kind.chip.pins if pin.role in roles and pin.number in site.part.pins
    ]


def _unconnected(site: Site, kind: LogicChip) -> list[ChipPin]:
    return [pin for pin in kind.chip.pins if pin.role == "in" and pin.number not in site.part.pins]


def _low(volts: Array) -> Array:
    found: Array = np.where(volts < _BETWEEN, volts, np.nan)
    return found


def _short(volts: Array) -> Array:
    found: Array = np.where(volts >= _BETWEEN, _SUPPLY - volts, np.nan)
    return found


def _alike(old: LogicChip) -> Iterator[LogicChip]:
    """Chips that do the same on the same pins: other families, then other numbers; and those
    that do the same on other pins."""
    does = sorted(output.level for output in old.chip.outputs)
    pins = len(old.chip.pins)
    like = [old.key] + [
        key
        for key in listed()
        if key != old.key
        and len(chip(key).pins) == pins
        and len(chip(key).outputs) == len(does)
        and sorted(output.level for output in chip(key).outputs) == does
    ]
    for key in like:
        for kind in CHIPS:
            if kind.key == key and kind.name != old.name and _offered(kind, old):
                yield kind


def _offered(new: LogicChip, old: LogicChip) -> bool:
    """Another number is offered in the families that are likely at hand, the same one in all."""
    return new.key == old.key or new.family.name in (old.family.name, "74", "74LS", "74HCT")


def _candidate(asked: Asked, old: LogicChip, new: LogicChip) -> Candidate:
    site = asked.site
    moved = differences(functions(old.word), functions(new.word), site.part.pins)
    if moved:
        return judge(new.name, against=[f"another pinout: {'; '.join(moved[:4])}"])
    against, changes, notes = [], [], []
    drive = new.family.drive(new.chip.drive_of(new.family.name))
    bad, near = over("into a low output", asked.worst(SINK), drive.iol, "A")
    against.append(bad)
    notes.append(near)
    if old.chip.output == "oc" and new.chip.output != "oc":
        against.append(
            "its outputs drive high too, where the board has them let go (open collector)"
        )
    elif new.chip.output == "oc" and old.chip.output != "oc":
        changes.append("open-collector outputs: a pull-up at each")
    elif new.chip.output == "oc":
        bad, near = over("at an output that is off", asked.worst(OFF), drive.volts_off, "V")
        against.append(bad)
        notes.append(near)
    else:
        bad, near = over("out of a high output", asked.worst(SOURCE), drive.ioh, "A")
        against.append(bad)
        notes.append(near)
    against += _overloaded(site, old, new)
    changes += _levels(site, old, new)
    notes += [*_lighter(old, new), *_speed(old, new)]
    tried = not any(against)
    if tried:
        against += asked.tryout(replace(site.part, kind=new.name))
    return judge(new.name, against=against, changes=changes, notes=notes, tried=tried)


def _overloaded(site: Site, old: LogicChip, new: LogicChip) -> Iterator[str]:
    """Drivers of its inputs that the new input load would ask too much of."""
    levels = table("levels")
    by_net: dict[str, float] = {}
    for pin in _connected(site, old, ("in",)):
        name = next(each.name for each in old.chip.pins if each.number == pin)
        before, after = (
            each.chip.load(each.family.name, name) * levels[each.family.name]["iil"]
            for each in (old, new)
        )
        net = site.part.pins[pin]
        by_net[net] = by_net.get(net, 0.0) + after - before
    for net, extra in by_net.items():
        if extra <= 0.0:
            continue
        for driver, pin, iol in _drivers(site, net):
            points = site.operation.corner
            now = float(np.nanmax(driver.amps(pin, points), initial=0.0))
            if now + extra > iol:
                yield (
                    f"its inputs load {driver.part.designator} pin {pin} with "
                    f"{format_quantity(now + extra, 'A')}, rated for {format_quantity(iol, 'A')}"
                )


def _drivers(site: Site, net: str) -> Iterator[tuple[Site, str, float]]:
    """Outputs on a net that are rated: (site, pin, ampere into a low output)."""
    for part in site.operation.world.board.parts:
        other = Site.of(site.operation, part)
        roles = {pin.name: pin.role for pin in other.kind.word.pins} | dict(part.roles)
        for pin, at in part.pins.items():
            if at == net and roles.get(pin) in ("out", "tri", "oc", "io"):
                rated = limited(other, "low output current")[0] or _black_box(other)
                if rated is not None:
                    yield other, pin, rated


def _black_box(site: Site) -> float | None:
    """What a controller's family may sink."""
    name = site.part.fields.get("family", "")
    return family_of(name).drive("standard").iol if name else None


def _levels(site: Site, old: LogicChip, new: LogicChip) -> Iterator[str]:
    """What the new chip's thresholds ask of its drivers, and its outputs of what they drive."""
    levels = table("levels")
    want = levels[new.family.name]
    if new.family.mos and not old.family.mos:
        loose = [pin.number for pin in _unconnected(site, old)]
        if loose:
            yield f"inputs left open must be tied high: {_pins(loose)}"
    weak = [pin for pin in _connected(site, old, ("in",)) if _least_high(site, pin) < want["vih"]]
    if weak:
        yield (
            f"high inputs stand too low for its {want['vih']:g} V: a pull-up of 2.2 to 4.7 kΩ to "
            f"its supply at {_pins(weak)}"
        )
    if want["voh"] < 3.5 and old.chip.output != "oc":
        for net in {site.part.pins[pin] for pin in _connected(site, old, ("out", "tri", "io"))}:
            for part in site.operation.world.board.parts:
                kind = site.operation.world.assembly.kinds[part.designator]
                if isinstance(kind, LogicChip) and kind.family.rel and part is not site.part:
                    takes = _connected(Site.of(site.operation, part), kind, ("in",))
                    if net in {part.pins[pin] for pin in takes}:
                        yield f"{part.designator} on {net} wants 3.5 V: a pull-up there"


def _least_high(site: Site, pin: str) -> float:
    """The least high level at an input, predicted or, where a logic chip drives it, guaranteed."""
    volts = site.volts(pin, site.operation.corner)
    high = volts[np.isfinite(volts) & (volts >= _BETWEEN) & ~site.operation.corner.moment]
    least = float(high.min(initial=_SUPPLY))
    for driver, _, _ in _drivers(site, site.part.pins[pin]):
        if isinstance(driver.kind, LogicChip) and driver.kind.chip.output != "oc":
            least = min(least, float(table("levels")[driver.kind.family.name]["voh"]))
        elif driver.part.fields.get("family") == "nmos":
            least = min(least, 2.4)
    return least


def _lighter(old: LogicChip, new: LogicChip) -> Iterator[str]:
    before, after = (table("levels")[each.family.name]["iil"] for each in (old, new))
    if after < 0.5 * before:
        yield f"its inputs take {after / before:.0%} of the current at most"


def _speed(old: LogicChip, new: LogicChip) -> Iterator[str]:
    levels = table("levels")
    before, after = (float(levels[each.family.name]["delay"][1]) for each in (old, new))
    if after > _SLOWER * before:
        yield f"slower: {after:g} ns a gate at most, in place of {before:g} ns"
    elif after * _FASTER < before:
        yield f"faster edges ({after:g} ns in place of {before:g} ns): 100 nF close to it"


def _pins(numbers: Sequence[str]) -> str:
    return ("pin " if len(numbers) == 1 else "pins ") + ", ".join(numbers)


KIND = Logic()
