"""Three-terminal regulators."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from halfsplit.parts.registry import KINDS as PART_KINDS
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.pinout import leads_differ
from halfsplit.replacement.sorts._base import Asked, Sort, limited, over, typed
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table

__all__ = ["KIND"]

_AMPS, _IN, _HEAT = "output current", "input voltage", "dissipation"
_NEAR = 0.03


class Regulators(Sort):
    """Same volts; then amperes, heat, and the order of the leads."""

    name = "regulator"
    kinds = frozenset({"regulator", "negative-regulator"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        sign = -1.0 if site.part.kind.startswith("negative") else 1.0
        amps, volts = limited(site, _AMPS), limited(site, _IN)
        row = _row(site.part.type)
        return (
            Quantity(name=_AMPS, unit="A", limit=amps[0], source=amps[1],
                     of=lambda points: -sign * site.amps("out", points)),
            Quantity(name=_IN, unit="V", limit=volts[0], source=volts[1],
                     of=lambda points: sign * site.across("in", "gnd", points)),
            Quantity(name=_HEAT, unit="W", of=site.watts, steady=True,
                     limit=row["free_air"] if row else None, source="free air, from memory"),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return list(_judged(asked))

    def remarks(self, asked: Asked) -> Sequence[str]:
        return ("Keep the capacitors close to it, and its tab's insulation as it was.",)


def _judged(asked: Asked) -> Iterator[Candidate]:
    part = asked.site.part
    kind: Any = PART_KINDS.get(part.kind)
    mine, volts = _row(part.type), kind.value(part, 5.0)
    for word in kind.types:
        row = _row(word.name)
        trial = typed(part, word.name)
        adjustable = row is not None and row["leads"].startswith("adj")
        if row is None or word.name == part.type:
            continue
        if not adjustable and abs(kind.value(trial, 0.0) / volts - 1.0) > _NEAR:
            continue
        bad_amps, near = over("out", asked.worst(_AMPS), kind.number(trial, "amps"), "A")
        bad_heat, hot = over("in free air", asked.worst(_HEAT), row["free_air"], "W")
        against = [bad_amps]
        changes = [f"a heat sink: {bad_heat}" if bad_heat else ""]
        if mine:
            changes.append(leads_differ((mine["case"], mine["leads"]), (row["case"], row["leads"])))
        tried = not any(against) and not adjustable
        if tried:
            against += asked.tryout(typed(part, word.name))
        if adjustable:
            changes.append(f"two resistors that set it to {volts:g} V")
        yield judge(word.name, against=against, changes=changes, notes=[near, hot], tried=tried)


def _row(type_number: str) -> Mapping[str, Any] | None:
    rows = table("regulators")
    fits = [name for name in rows if type_number.startswith(name)]
    return rows[max(fits, key=len)] if fits else None


KIND = Regulators()
