"""What the board moves: a mechanism that binds leaves every reading of the board right."""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.board.model import Board, Part
from halfsplit.build.assemble import Assembly
from halfsplit.build.fault import Fault, Suspect

__all__ = ["MECHANICAL", "mechanical_faults", "motors"]

MECHANICAL = "mechanical"
"""Mode of a mechanism that binds."""
_OTHER = 0.69 / 0.31
"""Motor failures that are no winding's, for each that is: MIL-HDBK-338B table 7.2-1, Motor electric
(from memory)."""


def motors(board: Board) -> tuple[tuple[Part, ...], ...]:
    """The windings of each motor: those that share a net."""
    groups: list[tuple[set[str], list[Part]]] = []
    for part in board.parts:
        if part.kind != "winding":
            continue
        nets = set(part.pins.values())
        joined = [group for group in groups if group[0] & nets]
        for group in joined:
            groups.remove(group)
        members = [one for _, parts in joined for one in parts]
        groups.append((nets.union(*(known for known, _ in joined)), [*members, part]))
    return tuple(tuple(parts) for _, parts in groups)


def mechanical_faults(assembly: Assembly) -> Iterable[tuple[Fault, Suspect]]:
    """One for each motor; the rate is that of its windings times what else fails in a motor."""
    for windings in motors(assembly.board):
        first, *_ = (part.designator for part in windings)
        name = f"mechanism {first}"
        rate = sum(
            assembly.kinds[part.designator].rate(part).per_million_hours for part in windings
        )
        yield (
            Fault(
                id=f"{first} mechanism binds",
                suspect=name,
                where="off-board",
                mode=MECHANICAL,
                words=f"what {first} moves binds or is seized",
                rate=rate * _OTHER,
                source="MIL-HDBK-338B table 7.2-1: Motor electric, all but winding failure (from "
                "memory)",
                designator=first,
                visible=0.2,
                touch=0.1,
            ),
            Suspect(
                id=name,
                repair=f"free, clean or mend the mechanism that {first} moves",
                minutes=30.0,
            ),
        )
