"""Zener diodes: the volts they hold, and the heat of doing so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.sorts._base import Asked, Sort, limited, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table
from halfsplit.units import format_quantity

__all__ = ["KIND"]

_SAME = 0.03
"""A voltage within this share is the same."""


class Zeners(Sort):
    """Same volts first; another voltage is another clamp level."""

    name = "zener"
    kinds = frozenset({"zener"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        watts = limited(site, "dissipation")
        return (
            Quantity(name="dissipation", unit="W", limit=watts[0], source=watts[1], of=site.watts,
                     steady=True),
            Quantity(name="reverse current", unit="A", of=lambda points: site.amps("k", points)),
            Quantity(name="power while a coil lets go", unit="W", of=site.watts),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return [
            one
            for watts, volts, name, case in _series()
            for one in _judged(asked, watts, volts, name, case)
        ]

    def remarks(self, asked: Asked) -> Iterator[str]:
        energy = _released(asked.site)
        watts = limited(asked.site, "dissipation")[0]
        if energy > 0.0 and watts:
            yield (
                f"Each time a coil lets go it takes up to {format_quantity(energy, 'J')}: its "
                f"{format_quantity(watts, 'W')} stand {watts / energy:.0f} of them a second, "
                "without a margin for heat."
            )


def _series() -> Iterator[tuple[float, float, str, str]]:
    """(watts, volts, type, case) of all rows."""
    for row in table("zeners")["series"]:
        for at, volts in enumerate(row["volts"]):
            name = f"{row['before']}{row['first'] + at}{row['after']}"
            yield float(row["watts"]), float(volts), name, str(row["case"])


def _judged(asked: Asked, watts: float, volts: float, name: str, case: str) -> Iterator[Candidate]:
    site = asked.site
    mine = site.kind.value(site.part, 0.0)  # type: ignore[attr-defined]  # zeners have a value
    rated = limited(site, "dissipation")[0] or 0.0
    near = abs(volts / mine - 1.0) if mine else 1.0
    if name == site.part.type or near > 0.15 or (near > _SAME and watts != rated):
        return
    against, note = over("of heat", asked.worst("dissipation"), watts, "W")
    notes, changes = [note], []
    energy = _released(site)
    if watts < rated and energy > 0.0:
        changes.append(
            f"{watts:g} W in place of {rated:g} W: stands {watts / energy:.0f} releases a second"
        )
    elif watts > rated:
        notes.append(f"{watts:g} W: thicker leads, a larger hole" if watts > 2.0 else "")
    if near > _SAME:
        changes.append(
            f"holds {volts:g} V in place of {mine:g} V: what it clamps stands {volts - mine:+.1f} V"
        )
    trial = replace(site.part, type="", value=volts, fields={"watts": f"{watts}"})
    wrong = asked.tryout(trial) if not against else ()
    yield judge(
        name, against=[against, *wrong], changes=changes, notes=[*notes, f"case {case}"],
        tried=not against,
    )  # fmt: skip


def _released(site: Site) -> float:
    """Joule that one coil leaves, half L times I squared, the largest on the board; 0 when this
    part does not conduct as it lets go."""
    points = site.operation.good
    if not (site.amps("k", points)[points.moment] > 1e-3).any():
        return 0.0
    most = 0.0
    for part in site.operation.world.board.parts:
        other = Site.of(site.operation, part)
        for store in other.kind.stores(part):
            if store.what == "coil" and store.terminals[0] in part.pins:
                amps = abs(other.amps(store.terminals[0], site.operation.corner)).max(initial=0.0)
                most = max(most, 0.5 * store.value * float(amps) ** 2)
    return most


KIND = Zeners()
