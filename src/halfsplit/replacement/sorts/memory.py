"""Memories and controllers: what holds a program is not bought by its type number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.parts._families import family
from halfsplit.parts.memory import KINDS as MEMORIES
from halfsplit.parts.memory import Memory
from halfsplit.replacement.candidate import Candidate, judge
from halfsplit.replacement.pinout import differences, functions
from halfsplit.replacement.sorts._base import Asked, Sort, limited
from halfsplit.replacement.stress import Quantity, Site
from halfsplit.replacement.tables import table

__all__ = ["KINDS", "holds_program"]

_OUTPUTS = frozenset({"out", "oc", "tri", "io"})
_FEW = 3
"""Pins that may be wired otherwise in an adapter that is still worth making (judgement)."""


def holds_program(site: Site) -> bool:
    """Whether a new part of the same number would come without what makes it work here."""
    part = site.part
    note = part.remarks.note.casefold()
    return (
        part.kind in table("memories")
        or part.kind == "controller"
        or any(word in note for word in ("program", "masked", "firmware", "contents"))
    )


class Memories(Sort):
    """Pin by pin; then size, programming volts, contents."""

    name = "memory"
    kinds = frozenset(kind.name for kind in MEMORIES)

    def quantities(self, site: Site) -> Sequence[Quantity]:
        outs = [pin.name for pin in site.kind.word.pins if pin.role in ("tri", "io", "out")]
        iol = limited(site, "low output current")
        return [
            Quantity(name=f"current into output {pin}", unit="A", limit=iol[0], source=iol[1],
                     of=lambda points, pin=pin: site.amps(pin, points))  # type: ignore[misc]  # pin is bound here
            for pin in outs
            if pin in site.part.pins
        ]  # fmt: skip

    def candidates(self, asked: Asked) -> Sequence[Candidate]:
        return list(_others(asked.site))

    def remarks(self, asked: Asked) -> Iterator[str]:
        row = table("memories").get(asked.site.part.kind)
        if row:
            yield f"{row['bytes'] // 1024} KiB, programmed with {row['volts']:g} V; read it first."
            if row["note"]:
                yield row["note"][0].upper() + row["note"][1:] + "."


class Controllers(Sort):
    """A black box: only the same part with the same program."""

    name = "controller"
    kinds = frozenset({"controller", "unknown"})

    def quantities(self, site: Site) -> Sequence[Quantity]:
        outs = [pin for pin, role in site.part.roles.items() if role in _OUTPUTS]
        drive = family(site.part.fields.get("family", "nmos")).drive("standard")
        found = [*super().quantities(site)]
        for pin in outs:
            if pin in site.part.pins:
                found.append(
                    Quantity(name=f"current into pin {pin}", unit="A", limit=drive.iol,
                             source="data sheets of its family, from memory", steady=True,
                             of=lambda points, pin=pin: site.amps(pin, points))  # type: ignore[misc]  # pin is bound here
                )  # fmt: skip
        return found


def _others(site: Site) -> Iterator[Candidate]:
    mine = site.kind
    assert isinstance(mine, Memory)
    rows = table("memories")
    own = rows.get(mine.name)
    for twin in (*(own or {}).get("same", ()), *(word.name for word in mine.types)):
        yield judge(twin, notes=["the same pins", "programmed with what was read" if own else ""])
    for other in MEMORIES:
        if other.name == mine.name or (other.name in rows) != (own is not None):
            continue
        changes: list[str] = []
        against: list[str] = []
        moved = differences(functions(mine.word), functions(other.word), site.part.pins)
        row = rows.get(other.name)
        if own and row and row["bytes"] < own["bytes"]:
            against.append(f"holds {row['bytes'] // 1024} KiB of {own['bytes'] // 1024} KiB")
        if len(other.word.pins) != len(mine.word.pins):
            text = f"an adapter: {moved[0]}"
            (changes if own and row and row["bytes"] > own["bytes"] else against).append(text)
        elif moved:
            (changes if len(moved) <= _FEW else against).append("; ".join(moved[:4]))
        if own and row and not against:
            changes.append("the program copied into every part of it that the address lines choose")
        yield judge(other.name, against=against, changes=changes)


KINDS = (Memories(), Controllers())
