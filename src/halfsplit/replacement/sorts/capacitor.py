"""Capacitors: farads, volts, make, series resistance, age."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.charging import charging
from halfsplit.replacement.rails import rail_currents
from halfsplit.replacement.ripple import rectified_ripple
from halfsplit.replacement.sorts._base import Asked, Sort, limited
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.units import format_quantity

__all__ = ["KIND", "is_reservoir"]

_VOLTS = (6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0, 250.0, 400.0)
"""Rated voltages that electrolytics are sold in (IEC 60063 rounded, common practice)."""
_DERATED = {"electrolytic": 1.25, "tantalum": 2.0, "capacitor": 2.0, "film-capacitor": 1.5}
"""Rated volts over working volts. Tantalum on a stiff rail at half its rating: makers' application
notes on solid tantalum, from memory; the others common practice, no source."""
_MAKES = ("electrolytic", "tantalum", "capacitor", "film-capacitor")
_TITLE = {
    "electrolytic": "aluminium electrolytic", "tantalum": "solid tantalum",
    "capacitor": "ceramic", "film-capacitor": "plastic film",
}  # fmt: skip
_POLAR = frozenset({"electrolytic", "tantalum"})
_LEAST = {"electrolytic": 10.0, "tantalum": 10.0, "capacitor": 50.0, "film-capacitor": 63.0}
"""Rated volts that each make begins with in leaded form (common practice, no source)."""
_MAINS_FARADS = 100e-6
"""Farads from which a reservoir may be the one behind a rectifier (judgement)."""
_POLAR_LEAST = 0.47e-6
"""Farads below which nobody would think of a polar one."""
_CERAMIC_MOST, _FILM_MOST = 10e-6, 4.7e-6
"""Farads above which a make is not found in leaded form (judgement)."""


class Capacitors(Sort):
    """Ripple current is computed for what a rectifier would ask of a reservoir, and said to be
    unresolved elsewhere: states do not say how often they follow one another."""

    name = "capacitor"
    kinds = frozenset(_MAKES)

    def quantities(self, site: Site) -> Sequence[Quantity]:
        volts = limited(site, "voltage")
        found = [
            Quantity(name="voltage", unit="V", limit=volts[0], source=volts[1],
                     of=lambda points: site.across("1", "2", points)
                     * (1.0 if site.part.kind in _POLAR else _sign(site))),
        ]  # fmt: skip
        if site.part.kind in _POLAR:
            found.append(
                Quantity(name="voltage the wrong way round", unit="V",
                         limit=0.5 if site.part.kind == "tantalum" else 1.0,
                         source="data sheets of the makes, from memory",
                         of=lambda points: np.maximum(site.across("2", "1", points), 0.0))
            )  # fmt: skip
        return found

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return [one for make in _MAKES for one in _of_make(asked, make)]

    def remarks(self, asked: Asked) -> Iterator[str]:
        kind = asked.site.part.kind
        if asked.site.rating("voltage") is None:
            yield "Its rated voltage is not typed: read it off the part, and add volts=25V."
        if kind == "electrolytic":
            yield (
                "Wet electrolytics dry out with age, used or not: forty years old, change it when "
                "the board is open (common practice, no source)."
            )
        if kind == "tantalum":
            yield "A tantalum fails as a short, and may flame: glasses, a current limit, no touch."
        if kind in _POLAR:
            yield from _ripple(asked.site)


def _ripple(site: Site) -> Iterator[str]:
    world, part = site.operation.world, site.part
    for rail in world.board.rails:
        held = charging(world.board, rail)
        if held is None or part.designator not in held.parts or held.farads < _MAINS_FARADS:
            continue
        amps = max((o.amps for o in rail_currents(world) if o.net == rail.net), default=0.0)
        rms, swing = rectified_ripple(abs(rail.volts), amps, held.ohms, held.farads)
        if rms == rms:
            share = rms * (part.value or 0.0) / held.farads
            yield (
                f"Ripple current, if nothing but a full-wave rectifier at 50 Hz stands before it: "
                f"{format_quantity(share, 'A', 2)} rms at 100 Hz, at {amps:.2g} A of load; "
                f"{format_quantity(swing, 'V', 2)} from lowest to highest."
            )
            return
    yield (
        "Ripple current: unresolved, for nothing says how often what it feeds switches; take a "
        "type for switching supplies, 105 degC."
    )


def _sign(site: Site) -> float:
    good = site.across("1", "2", site.operation.good)
    return -1.0 if good.size and abs(good.min()) > abs(good.max()) else 1.0


def is_reservoir(site: Site) -> bool:
    """Whether it lies between a supply and ground, where more farads do no harm."""
    board = site.operation.world.board
    supplies = site.operation.world.supply_pin_nets
    ends = {site.part.pins.get("1"), site.part.pins.get("2")}
    fed = {
        net
        for part in board.parts
        if part.kind == "fuse" and set(part.pins.values()) & supplies
        for net in part.pins.values()
    }
    return board.ground in ends and bool((ends - {board.ground}) & (supplies | fed))


def _of_make(asked: Asked, make: str) -> Iterator[Candidate]:
    site = asked.site
    farads = site.part.value
    if farads is None:
        return
    if make not in _POLAR and farads > (_CERAMIC_MOST if make == "capacitor" else _FILM_MOST):
        return
    volts = asked.worst("voltage")
    rated = next((v for v in _VOLTS if v >= max(_DERATED[make] * volts, _LEAST[make])), None)
    if rated is None:
        return
    reservoir = is_reservoir(site)
    name = f"{format_quantity(farads, 'F')} {rated:g} V {_TITLE[make]}"
    against: list[str] = []
    changes: list[str] = []
    notes: list[str] = []
    mine = site.part.kind
    if make in _POLAR and mine not in _POLAR and farads < _POLAR_LEAST:
        return
    if make in _POLAR and mine not in _POLAR:
        against.append("it has a plus end and a large leak; the old one has neither")
    if make == "tantalum" and rated > 50.0:
        against.append("no solid tantalum for that voltage at half its rating")
    if mine == "tantalum" and make == "electrolytic":
        (notes if reservoir else changes).append(
            "more series resistance: type for switching supplies, or twice the farads"
        )
    if mine == "electrolytic" and make == "tantalum":
        changes.append("only at half its rating and never across a supply without a limit")
    if mine in _POLAR and make == "capacitor":
        changes.append("loses half its farads at its rated voltage, and rings on long leads")
    if mine == "film-capacitor" and make == "capacitor":
        (notes if reservoir else changes).append("its farads move with voltage and warmth")
    if make == mine and reservoir:
        notes.append("up to twice the farads does no harm between a supply and ground")
    if make == mine and not reservoir:
        notes.append("the farads set a time or a coupling here: keep the value")
    yield judge(name, against=against, changes=changes, notes=notes)


KIND = Capacitors()
