"""Parts that are replaced by the same: windings, fuses, plugs, lamps, sensors, and the rest."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.operating import Points
from halfsplit.replacement.sorts._base import Asked, Sort, limited
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.solve.law import Array
from halfsplit.units import format_quantity

__all__ = ["KINDS"]


class Fuses(Sort):
    """The same amperes and the same speed, whatever else is at hand."""

    name = "fuse"
    kinds = frozenset({"fuse"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        amps = limited(site, "current")
        return (
            Quantity(name="current", unit="A", limit=amps[0], source=amps[1], steady=True,
                     of=lambda points: abs(site.amps("1", points))),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        value = asked.site.part.value
        said = format_quantity(value, "A") if value else "the same value"
        return (
            judge(f"fuse {said}, the same speed, size and volts"),
            judge("a smaller fuse", notes=["only to find a short, while you watch"]),
            judge("a larger fuse, or a wire", against=["what it protects burns in its place"]),
        )

    def remarks(self, asked: Asked) -> Sequence[str]:
        return ("A fuse that has blown is a reading: find out why before the next one.",)


class Windings(Sort):
    """One winding of a motor is not had alone."""

    name = "winding"
    kinds = frozenset({"winding", "coil", "solenoid"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        first = next(iter(site.part.pins), "1")
        return (
            Quantity(name="current", unit="A", steady=True,
                     of=lambda points: abs(site.amps(first, points))),
            Quantity(name="dissipation", unit="W", of=site.watts, steady=True),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return (
            judge("the same, from a like unit", changes=[
                "compare ohms from end to end, steps a turn, shaft and holes first"]),
        )  # fmt: skip


class Lamps(Sort):
    """Light-emitting diodes, and sensors that have one inside."""

    name = "light"
    kinds = frozenset({"led", "slotted-sensor", "optocoupler"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        amps = limited(site, "LED current")
        if amps[0] is None:
            amps = limited(site, "forward current")
        return (
            Quantity(name="current through the LED", unit="A", limit=amps[0], source=amps[1],
                     of=lambda points: site.amps("a", points)),
            Quantity(name="dissipation", unit="W", of=site.watts, steady=True),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        if asked.site.part.kind == "led":
            return (
                judge("any LED of that colour and size", notes=[
                    "a modern one is brighter at the same current"]),
                judge("a lamp with a filament", against=["asks ten times the current"]),
            )  # fmt: skip
        return (
            judge("one of the same gap, aperture and output", changes=[
                "compare the swing at its output, blocked and clear, with the prediction",
                "gain differs two to one: its LED's or its output's resistor may need setting"]),
        )  # fmt: skip


class Plugs(Sort):
    """Plugs, sockets, cables and switches: contacts."""

    name = "contact"
    kinds = frozenset({"connector", "cable", "switch", "relay", "bridge"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        return (
            Quantity(name="current in its busiest contact", unit="A", steady=True,
                     of=lambda points: _busiest(site, points)),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        amps = format_quantity(asked.worst("current in its busiest contact"), "A")
        return (
            judge(f"the same pitch, pins and plating, for {amps} a contact and more"),
            judge("another plating on one half", changes=["gold on tin frets: change both halves"]),
        )

    def remarks(self, asked: Asked) -> Sequence[str]:
        return ("Clean and reseat it before it is changed: that alone cures many.",)


class Others(Sort):
    """What no other sort is about."""

    name = "other"

    def covers(self, kind: str) -> bool:
        return False


def _busiest(site: Site, points: Points) -> Array:
    found: Array = np.fmax.reduce([abs(site.amps(pin, points)) for pin in site.part.pins])
    return found


KINDS = (Fuses(), Windings(), Lamps(), Plugs(), Others())
