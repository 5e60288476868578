"""Boards exchanged, both ways, with a like unit that works."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._vague import with_else
from halfsplit.checks._words import read_word, said_column
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.solve.law import Array

__all__ = ["KIND", "Exchange"]

ON_BOARD = (0.90, 0.04, 0.06)
OFF_BOARD = (0.03, 0.90, 0.07)
PLUGGED = (0.50, 0.05, 0.45)
"""Follows the board, stays with the unit, gone from both: of a fault on the board, one off it,
and one in a contact that was pulled and plugged on the way (judgement, no source)."""
UNLISTED = (0.35, 0.55, 0.10)
"""The same for something else: what is on no list is more often off the board."""


class Exchange(Kind):
    """Offered once, named by the first output of the board."""

    name = "exchange"
    title = "boards exchanged with a like unit"
    help = (
        "Both ways, or it proves half: this board in the good unit, the good board in this one. A "
        "fault that stays with the unit is in the motor, wiring, connector, supply or mechanism. "
        "It may spread damage to the good unit, so it comes late and is dear."
    )
    takes = "output"
    words = {  # noqa: RUF012 - declared in Kind
        "follows": "the fault goes with this board into the other unit",
        "stays": "the fault stays in this unit with the good board in it",
        "gone": "both units work: it was a contact",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(("follows", "follows the board", "board", "moves", "with the board"),
                        "follows"),
        **dict.fromkeys(("stays", "stays with the unit", "unit", "all boards good",
                         "boards good", "does not follow"), "stays"),
        **dict.fromkeys(("gone", "both work", "cured", "neither", "works now"), "gone"),
    }  # fmt: skip
    usual_setup = "watching"
    usual_minutes = 20.0

    def offers(self, world: World) -> Sequence[Check]:
        return [Check(kind=self.name, places=(one.name,)) for one in world.board.outputs[:1]]

    def risk(self, check: Check, world: World) -> float:
        return 20.0

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            "First, power off: ohms from every rail to ground, on both boards and at both "
            "supplies. A dead short takes the good unit with it.",
            "Power up with a current limit or a lamp in series where you can.",
            *super().cautions(check, world),
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            "With a like unit that works, and after its rails and this board's were measured for "
            f"shorts: exchange the boards, both ways, and watch {check.places[0]}: does the "
            "fault follow the board, stay with the unit, or is it gone?"
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what="the exchange of boards")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        labels, p = tuple(self.words), self._rows(world, meter)
        return [Outcomes(labels=labels, p=p) for _ in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(self._rows(world, meter), np.array(UNLISTED), 1.0)
        return said_column(p, reading, self.words)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return "gone"

    def _rows(self, world: World, meter: Meter) -> Array:
        """[F, 3]."""
        far = {
            part.designator
            for part in world.board.parts
            if any("/" in net for net in part.pins.values()) and part.kind != "connector"
        }
        plugs = {part.designator for part in world.board.parts if part.kind == "connector"}
        rows = np.array([_row(fault, far, plugs) for fault in world.faults])
        mixed: Array = (1.0 - meter.misread) * rows + meter.misread / 3.0
        return mixed


def _row(fault: Fault, far: set[str], plugs: set[str]) -> tuple[float, ...]:
    if fault.where in ("off-board", "rail") or fault.designator in far:
        return OFF_BOARD
    if fault.designator in plugs and ("contact" in fault.mode or fault.where == "contact"):
        return PLUGGED
    return ON_BOARD


KIND = Exchange()
