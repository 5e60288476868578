"""Diodes: reverse volts, amperes, how fast they stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.parts.registry import KINDS as PART_KINDS
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.sorts._base import Asked, Sort, limited, over
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table

__all__ = ["KIND"]

_SLOWER = 3.0
"""So many times slower is a change that the board may notice."""


class Diodes(Sort):
    """Also those that only work while a coil lets go."""

    name = "diode"
    kinds = frozenset({"diode", "schottky", "germanium"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        volts, amps = limited(site, "reverse voltage"), limited(site, "forward current")
        return (
            Quantity(name="reverse voltage", unit="V", limit=volts[0], source=volts[1],
                     of=lambda points: site.across("k", "a", points)),
            Quantity(name="forward current", unit="A", limit=amps[0], source=amps[1],
                     of=lambda points: site.amps("a", points)),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        part, rows = asked.site.part, table("diodes")
        mine = rows.get(part.type)
        found = []
        for name, row in rows.items():
            if name == part.type:
                continue
            bad_volts, near_volts = over(
                "reverse", asked.worst("reverse voltage"), row["volts"], "V"
            )
            bad_amps, near_amps = over(
                "of mean current", asked.worst("forward current"), row["amps"], "A"
            )
            against, notes = [bad_volts, bad_amps], [near_volts, near_amps]
            changes = []
            if mine:
                if row["recovery"] > _SLOWER * mine["recovery"]:
                    changes.append(
                        f"stops in {row['recovery']} ns in place of {mine['recovery']} ns: only "
                        "where nothing switches fast"
                    )
                elif row["recovery"] * _SLOWER < mine["recovery"]:
                    notes.append("faster, which does no harm here")
                if row["case"] != mine["case"]:
                    notes.append(f"case {row['case']} in place of {mine['case']}")
            tried = not any(against)
            if tried:
                model = row.get("model", name)
                against += asked.tryout(replace(part, kind=_kind(model), type=model, fields={}))
            found.append(judge(name, against=against, changes=changes, notes=notes, tried=tried))
        return found

    def remarks(self, asked: Asked) -> Sequence[str]:
        return ("The ring is the cathode; a diode put in backwards across a coil is a short.",)


def _kind(type_number: str) -> str:
    for name in Diodes.kinds:
        if any(word.name == type_number for word in PART_KINDS.get(name).types):  # type: ignore[attr-defined]  # diodes have types
            return name
    return "diode"


KIND = Diodes()
