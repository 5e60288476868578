"""Arrays of Darlingtons in one case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.parts.array import KINDS as ARRAYS
from halfsplit.parts.array import DarlingtonArray
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.pinout import differences, functions
from halfsplit.replacement.sorts._base import Asked, Sort, limited, most, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.units import format_quantity

__all__ = ["KIND"]

_VOLTS, _AMPS = "output voltage", "output current"


class Arrays(Sort):
    """Volts and amperes of a channel, and what its inputs are made for."""

    name = "driver array"
    kinds = frozenset(kind.name for kind in ARRAYS)

    def quantities(self, site: Site) -> Sequence[Quantity]:
        kind = site.kind
        assert isinstance(kind, DarlingtonArray)
        outs = [out for _, out, _ in kind.pairs if out in site.part.pins]
        volts, amps = limited(site, _VOLTS), limited(site, _AMPS)
        return (
            Quantity(name=_VOLTS, unit="V", limit=volts[0], source=volts[1],
                     of=lambda points: most([site.volts(pin, points) for pin in outs], points)),
            Quantity(name=_AMPS, unit="A", limit=amps[0], source=amps[1],
                     of=lambda points: most([site.amps(pin, points) for pin in outs], points)),
            Quantity(name="dissipation", unit="W", of=site.watts, steady=True, limit=1.0,
                     source="DIP in free air, data sheet, from memory"),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        part, old = asked.site.part, asked.site.kind
        assert isinstance(old, DarlingtonArray)
        found = []
        for new in ARRAYS:
            if new.name == old.name:
                continue
            moved = differences(functions(old.word), functions(new.word), part.pins)
            if moved:
                found.append(judge(new.name, against=[f"another pinout: {'; '.join(moved[:3])}"]))
                continue
            bad_volts, near_volts = over("at an output", asked.worst(_VOLTS), new.volts, "V")
            bad_amps, near_amps = over("in a channel", asked.worst(_AMPS), new.amps, "A")
            against, notes = [bad_volts, bad_amps], [near_volts, near_amps]
            if new.r_in != old.r_in:
                notes.append(
                    f"inputs of {format_quantity(new.r_in, 'Ω')} in place of "
                    f"{format_quantity(old.r_in, 'Ω')}"
                )
            tried = not any(against)
            if tried:
                against += asked.tryout(replace(part, kind=new.name, type=""))
            found.append(judge(new.name, against=against, notes=notes, tried=tried))
        return found


KIND = Arrays()
