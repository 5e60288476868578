"""Transistors and Darlingtons, one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from halfsplit.parts.registry import KINDS as PART_KINDS
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.pinout import leads_differ
from halfsplit.replacement.sorts._base import Asked, Sort, limited, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table

__all__ = ["KIND"]

_FREE_AIR = "dissipation without a heat sink"
_POLARITY = {"npn": 1.0, "darlington": 1.0, "pnp": -1.0, "pnp-darlington": -1.0}
_OTHER = {
    "npn": "darlington", "darlington": "npn", "pnp": "pnp-darlington", "pnp-darlington": "pnp",
}  # fmt: skip
_SMALL = frozenset({"TO-18", "TO-39", "TO-92"})
"""Cases of small transistors; a power transistor does not fit in their place, nor the other way."""
_SLOWER = 3.0
"""So many times slower is worth a word."""
_ON = 0.1
"""A transistor that carries this share of its most counts as on."""


class Transistors(Sort):
    """Volts, amperes, watts and gain, then the leads."""

    name = "transistor"
    kinds = frozenset(_POLARITY)

    def quantities(self, site: Site) -> Sequence[Quantity]:
        sign = _POLARITY[site.part.kind]
        volts, amps, watts = (
            limited(site, name)
            for name in ("collector-emitter voltage", "collector current", "dissipation")
        )
        known = table("transistors").get(site.part.type)
        free = (float(known["free_air"]), "data sheet, from memory") if known else watts
        return (
            Quantity(name="collector-emitter voltage", unit="V", limit=volts[0], source=volts[1],
                     of=lambda points: sign * site.across("c", "e", points)),
            Quantity(name="collector current", unit="A", limit=amps[0], source=amps[1],
                     of=lambda points: sign * site.amps("c", points)),
            Quantity(name=_FREE_AIR, unit="W", limit=free[0], source=free[1], of=site.watts,
                     steady=True),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        part = asked.site.part
        wanted = _wanted_gain(asked.site)
        found = []
        mine = table("transistors").get(part.type)
        for kind, name in _types(part.kind):
            row = table("transistors")[name]
            fits = mine is None or (mine["case"] in _SMALL) == (row["case"] in _SMALL)
            if name != part.type and fits:
                found.append(_candidate(asked, kind, name, row, wanted))
        order = {"serves": 0, "with a change": 1, "no": 2}
        return sorted(found, key=lambda one: order[one.verdict])

    def remarks(self, asked: Asked) -> Sequence[str]:
        wanted = _wanted_gain(asked.site)
        said = ["Check the order of the leads with the diode range: makers differ."]
        if wanted:
            said.append(f"As wired it needs a gain of {wanted:.0f} when it is on.")
        return said


def _types(kind: str) -> Iterator[tuple[str, str]]:
    """(kind, type) of the table's rows that are of that polarity, the same kind first."""
    for each in (kind, _OTHER[kind]):
        names = {word.name for word in _kind(each).types}
        for name, row in table("transistors").items():
            if name in names or row.get("model") in names:
                yield each, name


def _kind(name: str) -> Any:
    return PART_KINDS.get(name)


def _wanted_gain(site: Site) -> float:
    """Collector over base current where it carries most, the least of the states it is on in."""
    points = site.operation.corner
    collector, base = (np.abs(site.amps(pin, points)) for pin in ("c", "b"))
    steady = ~points.moment & np.isfinite(collector) & (base > 1e-9)
    if not steady.any() or not collector[steady].max() > 1e-5:
        return 0.0
    on = steady & (collector > _ON * collector[steady].max())
    return float((collector[on] / base[on]).max())


def _candidate(
    asked: Asked, kind: str, name: str, row: Mapping[str, Any], wanted: float
) -> Candidate:
    part = asked.site.part
    model = str(row.get("model", name))
    trial = replace(part, kind=kind, type=model, fields={})
    volts, amps = (_rated(trial, field) for field in ("volts", "amps"))
    gain = _least_gain(row["gain"], asked.worst("collector current"))
    against, notes = [], []
    for what, limit, quantity, unit in (
        ("between collector and emitter", volts, "collector-emitter voltage", "V"),
        ("of collector current", amps, "collector current", "A"),
        ("without a heat sink", float(row["free_air"]), _FREE_AIR, "W"),
    ):
        bad, note = over(what, asked.worst(quantity), limit, unit)
        against.append(bad)
        notes.append(note)
    if wanted > gain:
        against.append(f"least gain {gain:.0f} there, as wired it needs {wanted:.0f}")
    tried = not any(against)
    if tried:
        against += asked.tryout(trial)
    mine = table("transistors").get(part.type)
    changes: list[str] = []
    if mine:
        wires = leads_differ((mine["case"], mine["leads"]), (row["case"], row["leads"]))
        same_order = mine["leads"] == row["leads"]
        (notes if same_order else changes).append(wires)
        if mine["megahertz"] > _SLOWER * row["megahertz"]:
            notes.append(f"slower: {row['megahertz']:g} MHz in place of {mine['megahertz']:g}")
    if kind != part.kind:
        drop = "higher" if kind.endswith("darlington") else "lower"
        changes.append(f"{kind} in place of {part.kind}: its base and collector stand {drop}")
    return judge(name, against=against, changes=changes, notes=notes, tried=tried)


def _rated(part: Any, field: str) -> float:
    return float(_kind(part.kind).number(part, field))


def _least_gain(points: Sequence[Sequence[float]], amps: float) -> float:
    """The least gain stated at that current or the next above it."""
    above = [gain for at, gain in points if at >= amps]
    return float(above[0] if above else 0.0)


KIND = Transistors()
