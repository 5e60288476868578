"""A part tested out of circuit."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks._at_part import AtPart, the_part
from halfsplit.checks._cautions import removal_harm, removal_minutes
from halfsplit.checks.kind import Check

__all__ = ["KIND", "PartTest"]

FALSE_FAIL = 0.015
"""A good part found bad by a poor test (judgement, no source)."""


class PartTest(AtPart):
    """Offered for parts with a fault that such a test can show."""

    name = "parttest"
    title = "part tested out of circuit"
    help = (
        "A failed test is strong evidence. A passed one lowers each fault of the part by what "
        "the test would have shown of it, and never clears the part: many faults show only "
        "under load, warm or at speed. Try readings in place first. After a repair, putting the "
        "old part back for once tells the same: does the fault return?"
    )
    words = {  # noqa: RUF012 - declared in Kind
        "passed": "the test shows nothing wrong",
        "failed": "the test shows the part is bad",
    }
    elsewhere = (1.0 - FALSE_FAIL, FALSE_FAIL)
    synonyms = {  # noqa: RUF012 - declared in AtPart
        **dict.fromkeys(
            ("pass", "passes", "good", "ok", "okay", "fine", "tests good", "put back and it works",
             "works when put back"),
            "passed",
        ),
        **dict.fromkeys(
            ("fail", "fails", "bad", "faulty", "dead", "tests bad", "put back and it fails",
             "fault returns", "fails when put back"),
            "failed",
        ),
    }  # fmt: skip
    usual_setup = "part out"
    usual_minutes = 2.0

    def useful(self, part: Part, faults: Sequence[Fault]) -> bool:
        return any(fault.where == "part" and fault.test_out > 0.0 for fault in faults)

    def chances(self, fault: Fault, part: Part) -> tuple[float, ...]:
        if fault.where != "part":
            return self.elsewhere
        failed = fault.test_out + (1.0 - fault.test_out) * FALSE_FAIL
        return 1.0 - failed, failed

    def minutes(self, check: Check, world: World) -> float:
        return self.usual_minutes + removal_minutes(the_part(check, world))

    def risk(self, check: Check, world: World) -> float:
        return removal_harm(the_part(check, world))

    def sentence(self, check: Check, world: World) -> str:
        part = the_part(check, world)
        out = "Pull" if part.remarks.socketed else "Unsolder"
        return f"{out} {part.designator} and test it out of circuit: does it pass?"


KIND = PartTest()
