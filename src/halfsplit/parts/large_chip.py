"""Large chips as black boxes: processors, ports, timers, serial interfaces, disk controllers,
converters. Their pins load, drive and fail as those of a controller; what they do, states say."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.packaged import packaged
from halfsplit.parts._base import terminal
from halfsplit.parts._black_box import BlackBox, Boxed
from halfsplit.parts._wired import FIVE_VOLTS
from halfsplit.parts.kind import Defaults
from halfsplit.solve.law import Element

__all__ = ["KINDS", "LargeChip"]

_TABLE = packaged("parts/_large_chips.toml")
_ROW = re.compile(r'^\[([\w-]+)\]\ntitle = .*\n(?:types = "([^"]*)")?', re.MULTILINE)
_ROLES = {"": "in", "o": "out", "t": "tri", "c": "oc", "b": "io", "p": "passive", "a": "analog"}
_POWER = {"VCC": "supply", "GND": "ground", "NC": "nc"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LargeChip(Boxed, Defaults):
    """One row of the table, read when somebody asks for it."""

    name: str
    others: str = ""
    """Type numbers that share its row, a blank between."""

    @property
    def types(self) -> tuple[TypeWord, ...]:
        return tuple(TypeWord(name=each, kind=self.name) for each in self.others.split())

    @property
    def word(self) -> KindWord:
        return _word(self.name)

    def elements(self, part: Part) -> Sequence[Element]:
        return self.box(part).elements() if part.pins else ()

    def box(self, part: Part) -> BlackBox:
        row, roles = _rows()[self.name], _roles(self.name)
        at = {role: pin for pin, role in roles.items()}
        return BlackBox(
            pins=tuple((pin, roles[pin]) for pin in part.pins),
            family=row.get("family", "nmos"),
            supply=terminal(part, at["supply"]),
            ground=terminal(part, at["ground"]),
            amps=float(row["amps"]),
        )


@cache
def _rows() -> Mapping[str, Mapping[str, Any]]:
    import tomllib

    return tomllib.loads(_TABLE.read_text(encoding="utf-8"))


def _titles(name: str) -> Sequence[tuple[str, str]]:
    """Function and role of each pin from 1."""
    found = []
    for word in str(_rows()[name]["pins"]).split():
        title, _, letter = word.partition(":")
        found.append((title, _POWER.get(title) or _ROLES[letter]))
    return found


@cache
def _roles(name: str) -> Mapping[str, str]:
    return {str(number): role for number, (_, role) in enumerate(_titles(name), start=1)}


@cache
def _word(name: str) -> KindWord:
    pins = tuple(
        PinWord(name=str(number), role="nc", title="not connected")
        if role == "nc"
        else PinWord(name=str(number), role="passive" if role == "analog" else role, title=title,
                     other_names=(title,))
        for number, (title, role) in enumerate(_titles(name), start=1)
    )  # fmt: skip
    first = next(pin for pin in pins if pin.role not in _POWER.values())
    return KindWord(
        name=name, title=str(_rows()[name]["title"]), pins=pins,
        supply_volts=None if _rows()[name].get("typed") else FIVE_VOLTS,
        help="A black box: pins load and drive as its family does; its outputs let go until a "
        "state says what they do (its net=low, =high). Analog pins load within wide limits. A "
        "programmed one is not the same part as a blank of that number.",
        example=f"U1 {name} {first.name}={first.title}",
    )  # fmt: skip


KINDS = tuple(
    LargeChip(name=found[1], others=found[2] or "")
    for found in _ROW.finditer(_TABLE.read_text(encoding="utf-8"))
)
