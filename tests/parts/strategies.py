"""Parts of every analog kind, drawn by Hypothesis: pins left out, fields and values varied."""

from __future__ import annotations

import math
from collections.abc import Iterable

from hypothesis import strategies as st

from halfsplit.board.model import Part
from halfsplit.parts.kind import PartKind
from halfsplit.parts.reference import sample
from halfsplit.parts.registry import KINDS
from halfsplit.units import parse

ANALOG = tuple(kind for kind in KINDS if not kind.word.family)
"""All kinds but the logic chips, which have tests of their own."""


def _different(kinds: Iterable[PartKind]) -> tuple[PartKind, ...]:
    """The first of the kinds that are of one class, with as many pins and the same laws."""
    found: dict[object, PartKind] = {}
    for kind in kinds:
        laws = frozenset(element.law for element in kind.elements(sample(kind)))
        found.setdefault((type(kind), len(kind.word.pins), laws), kind)
    return tuple(found.values())


DIFFERENT = _different(ANALOG)
"""One of each sort: what is drawn at random is drawn for these."""

_WORDS = {
    "make": ("film", "carbon", "wirewound"),
    "rest": ("open", "closed"),
    "common": ("1", "2", "8"),
    "layout": ("single", "dual"),
    "colour": ("red", "yellow", "green", "infrared", "blue"),
    "damper": ("yes", "no"),
    "input": ("npn", "pnp", "fet"),
    "rectifier": ("bridge", "tapped", "half"),
    "keyed": ("yes", "no"),
    "does": ("copies", "inverts"),
    "family": ("74", "74LS", "74S", "74HC", "74HCT", "nmos", "cmos"),
    "package": ("8", "14", "16"),
    "at": ("0.001", "0.3", "1"),
    "on": ("", "1", "24"),
}
_SPAN = {
    "Ω": (1e-1, 1e7), "F": (1e-12, 1e-2), "H": (1e-6, 1.0), "Hz": (1e4, 2e7), "V": (2.4, 100.0),
    "A": (0.1, 10),
}  # fmt: skip
_VOLTS_OF = {"led": (1.1, 4.0), "zener": (2.4, 100.0)}


@st.composite
def parts(draw: st.DrawFn, kind: PartKind) -> Part:
    """A part of that kind that a board file could hold."""
    whole = sample(kind)
    names = list(whole.pins)
    kept = draw(st.lists(st.sampled_from(names), min_size=1, unique=True)
                if draw(st.booleans()) else st.just(names))  # fmt: skip
    if kind.name == "controller" and "1" not in kept:
        kept = ["1", *kept]  # one without a supply is refused
    nets = draw(st.lists(st.sampled_from(["A", "B", "C", "D", "GND", "+5"]),
                         min_size=len(kept), max_size=len(kept)))  # fmt: skip
    fields = {}
    for word in kind.word.fields:
        if not draw(st.booleans()):
            continue
        if word.name in _WORDS:
            fields[word.name] = draw(st.sampled_from(_WORDS[word.name]))
        elif word.default:
            default = parse(word.default, "" if word.unit == "1" else word.unit)
            fields[word.name] = repr(default * draw(st.floats(0.6, 1.6)))
        else:
            fields[word.name] = "25"
    value = None
    if kind.word.value_unit and draw(st.booleans()):
        low, high = _VOLTS_OF.get(kind.name, _SPAN[kind.word.value_unit])
        value = math.exp(draw(st.floats(math.log(low), math.log(high))))
    types = [each.name for each in getattr(kind, "types", ())]
    return Part(
        designator="X1",
        kind=kind.name,
        type=whole.type or draw(st.sampled_from(["", *types])),
        description=whole.description,
        value=value,
        tolerance=draw(st.sampled_from([None, 0.01, 0.2])),
        fields=fields,
        pins=dict(zip(kept, nets, strict=True)),
        roles=whole.roles,
    )
