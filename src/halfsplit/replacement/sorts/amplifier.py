"""Operational amplifiers: supply, output, where their inputs work, speed, and offset."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from halfsplit.parts.amplifier import KINDS as AMPLIFIERS
from halfsplit.parts.amplifier import AmplifierChip
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.sorts._base import Asked, Sort, limited, most, over, typed
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table

__all__ = ["KIND"]

_SPAN = "supply, end to end"
_AMPS = "current at its outputs"
_ABOVE = "room from the negative supply to its inputs"
_BELOW = "room from its inputs to the positive supply"
_SLOWER = 0.7
"""A type with less than this share of the slew rate is called slower (judgement)."""
_WORSE = 1.5
"""And with more than so many times the offset, less exact (judgement)."""
_TRIMS = ("1", "5", "8")


class Amplifiers(Sort):
    """Types of the same number of amplifiers, which share a pinout but for their trimming."""

    name = "amplifier"
    kinds = frozenset(kind.name for kind in AMPLIFIERS)

    def quantities(self, site: Site) -> Sequence[Quantity]:
        kind = _kind(site)
        span, amps = limited(site, _SPAN), limited(site, "output current")
        outs = [out for _, out, _, _ in kind.units if out in site.part.pins]
        return (
            Quantity(name=_SPAN, unit="V", limit=span[0], source=span[1],
                     of=lambda points: site.across(kind.plus, kind.minus, points)),
            Quantity(name=_AMPS, unit="A", limit=amps[0], source=amps[1],
                     of=lambda points: most([abs(site.amps(pin, points)) for pin in outs],
                                             points)),
        )  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        own = asked.site.part.type
        return [_candidate(asked, name) for name in table("amplifiers")[asked.site.part.kind]
                if name != own]  # fmt: skip

    def remarks(self, asked: Asked) -> Iterator[str]:
        if not asked.site.part.type:
            yield "Its type is not typed: read it off the part; speed and offset are not compared."
        yield "What it does over time (ringing, noise) is not predicted: look with a scope."


def _candidate(asked: Asked, name: str) -> Candidate:
    site, known = asked.site, table("amplifiers")[asked.site.part.kind]
    old, new = known.get(site.part.type, {}), known[name]
    trial = typed(site.part, name, **_fields(site, name))
    bad_span, near_span = over(
        "of supply", asked.worst(_SPAN), _number(site, trial.fields, "volts"), "V"
    )
    bad_amps, near_amps = over(
        "at an output", asked.worst(_AMPS), _number(site, trial.fields, "amps"), "A"
    )
    against = [bad_span, bad_amps, *_out_of_range(site, old, new)]
    tried = not any(against)
    if tried:
        against += asked.tryout(trial)
    return judge(
        name, against=against, changes=list(_changes(site, old, new)),
        notes=[near_span, near_amps, *_notes(site, trial.fields, old, new)], tried=tried,
    )  # fmt: skip


def _kind(site: Site) -> AmplifierChip:
    assert isinstance(site.kind, AmplifierChip)
    return site.kind


def _fields(site: Site, name: str) -> dict[str, str]:
    return dict(next(word.fields for word in _kind(site).types if word.name == name))


def _number(site: Site, fields: Mapping[str, str], name: str) -> float:
    """A field of a type as a number, by its kind's own reading of it."""
    return _kind(site).number(replace(site.part, fields=dict(fields)), name)


def _out_of_range(site: Site, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    """Inputs that stand where the old type works and the new one does not."""
    points, kind = site.operation.corner, _kind(site)
    for end, room, which in (
        (kind.minus, new["inputs"][0], "lower"),
        (kind.plus, new["inputs"][1], "upper"),
    ):
        if old and old["inputs"][which == "upper"] >= room:
            continue
        ends = [pin for unit in kind.units for pin in unit[2:] if pin in site.part.pins]
        rooms = [abs(site.across(pin, end, points)) for pin in ends]
        least = min((float(np.nanmin(each)) for each in rooms if each.size), default=np.inf)
        if least < room:
            yield (
                f"its inputs work from {room:g} V away from the {which} supply on, the board has "
                f"them {least:.2g} V from it"
            )


def _changes(site: Site, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    if not new["stable"] and (not old or old["stable"]):
        yield "it wants a capacitor of its own from pin 1 to pin 8 (30 to 47 pF)"
    elif new["stable"] > max(old.get("stable", 1), 1):
        yield f"stable from a gain of {new['stable']} on only: a capacitor, or it rings"
    elif old and not old["stable"] and new["stable"]:
        yield "take the capacitor at pin 8 away: it has its own inside"
    if old and old["trim"] != new["trim"] and set(site.part.pins) & set(_TRIMS):
        yield f"its offset is trimmed at {new['trim'] or 'no pin'}, not at {old['trim'] or 'none'}"
    if old and new["slew"] < _SLOWER * old["slew"]:
        yield (
            f"slower: {new['slew']:g} in place of {old['slew']:g} V/µs; where nothing moves that "
            "fast"
        )


def _notes(
    site: Site, fields: Mapping[str, str], old: Mapping[str, Any], new: Mapping[str, Any]
) -> Iterator[str]:
    if old and new["slew"] * _SLOWER > old["slew"]:
        yield f"faster: {new['slew']:g} in place of {old['slew']:g} V/µs; 100 nF close to it"
    before, after = (_number(site, each, "offset") for each in (site.part.fields, fields))
    if old and after > _WORSE * before:
        yield f"offset up to {1e3 * after:g} mV in place of {1e3 * before:g} mV"


KIND = Amplifiers()
