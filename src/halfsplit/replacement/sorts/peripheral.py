"""Dual peripheral drivers: the gate inside, and what their outputs stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.parts._wired import WiredChip
from halfsplit.parts.peripheral import KINDS as DRIVERS
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.operating import Points
from halfsplit.replacement.sorts._base import Asked, Sort, limited, most, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.solve.law import Array

__all__ = ["KIND"]

_OFF = "output voltage when off"
_COIL = "output voltage when it switches a coil"
_LOW = "low output current"
_OUTPUTS = ("3", "5")


class PeripheralDrivers(Sort):
    """Those with two inputs and an output a side, which share one pinout."""

    name = "peripheral driver"
    kinds = frozenset(kind.name for kind in DRIVERS if kind.name != "75450")

    def quantities(self, site: Site) -> Sequence[Quantity]:
        outs = [pin for pin in _OUTPUTS if pin in site.part.pins]

        def volts(points: Points, coil: bool) -> Array:
            found = most([site.volts(pin, points) for pin in outs], points)
            return np.where(points.moment == coil, found, np.nan)

        limits = {name: limited(site, name) for name in (_OFF, _COIL, _LOW)}
        return (
            Quantity(name=_OFF, unit="V", limit=limits[_OFF][0], source=limits[_OFF][1],
                     of=lambda points: volts(points, coil=False)),
            Quantity(name=_COIL, unit="V", limit=limits[_COIL][0], source=limits[_COIL][1],
                     of=lambda points: volts(points, coil=True)),
            Quantity(name=_LOW, unit="A", limit=limits[_LOW][0], source=limits[_LOW][1],
                     of=lambda points: most([site.amps(pin, points) for pin in outs], points)),
            Quantity(name="dissipation", unit="W", of=site.watts, steady=True, limit=0.8,
                     source="DIP of eight pins in free air, data sheet, from memory"),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return [_candidate(asked, new) for new in DRIVERS
                if isinstance(new, WiredChip) and new.name in self.kinds
                and new.name != asked.site.part.kind]  # fmt: skip

    def remarks(self, asked: Asked) -> Iterator[str]:
        yield "A coil at its output needs a diode of its own, and lets go faster through a zener."


def _candidate(asked: Asked, new: WiredChip) -> Candidate:
    old = asked.site.kind
    assert isinstance(old, WiredChip)
    ratings = {one.name: one.value for one in new.limits}
    against, notes = [], []
    if _gates(new) != _gates(old):
        against.append(f"another gate inside: {new.chip.title} in place of {old.chip.title}")
    for what, name, unit in (
        ("at an output that is off", _OFF, "V"),
        ("at an output that lets a coil go", _COIL, "V"),
        ("into a low output", _LOW, "A"),
    ):
        bad, near = over(what, asked.worst(name), ratings[name], unit)
        against.append(bad)
        notes.append(near)
    tried = not any(against)
    if tried:
        against += asked.tryout(replace(asked.site.part, kind=new.name, type=""))
    return judge(new.name, against=against, notes=notes, tried=tried)


def _gates(kind: WiredChip) -> list[str]:
    return [str(output.level) for output in kind.chip.outputs]


KIND = PeripheralDrivers()
