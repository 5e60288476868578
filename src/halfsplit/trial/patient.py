"""The board on the bench as whoever examines it meets it: it answers checks and takes repairs."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field

from halfsplit.build.fault import Suspect
from halfsplit.checks.kind import Check

__all__ = ["VERIFY", "Bill", "Patient"]

VERIFY = 2.0
"""Minutes to see whether a repair cured the board (assumed)."""


@dataclass(slots=True)
class Bill:
    """What it took: ``minutes`` of checks, repairs and seeing whether they cured; ``money`` for
    parts; ``repairs``, of which ``needless`` put nothing right; ``good_parts`` exchanged a part
    that was good, also where that put its joints right."""

    minutes: float = 0.0
    money: float = 0.0
    repairs: int = 0
    needless: int = 0
    good_parts: int = 0


@dataclass(slots=True)
class Patient:
    """``answer`` does a check; ``wrong`` are ids of suspects that are still to be put right;
    ``renews`` names what the work of a repair puts right besides; ``renewed`` is told what is still
    wrong after every repair. ``complaint`` is what its owner brings it in for: a
    wrong output in a state and what it does; ``None`` when nobody has noticed anything."""

    answer: Callable[[Check], str]
    wrong: set[str]
    renews: Callable[[str], Collection[str]] = lambda repair: ()
    renewed: Callable[[Collection[str]], None] = lambda left: None
    bill: Bill = field(default_factory=Bill)
    complaint: tuple[Check, str] | None = None

    @property
    def well(self) -> bool:
        """Nothing is wrong any more."""
        return not self.wrong

    def mend(self, repair: Suspect, also: Iterable[str] = ()) -> bool:
        """Do a repair, which renews what ``also`` names too; whether the board is cured now."""
        named = set(repair.id.split(" + "))
        right = named.union(also, self.renews(repair.id)) & self.wrong
        good = repair.id == repair.designator and not named & self.wrong
        self.wrong -= right
        self.renewed(self.wrong)
        self.bill.minutes += repair.minutes + VERIFY
        self.bill.money += repair.price
        self.bill.repairs += 1
        self.bill.needless += not right
        self.bill.good_parts += good
        return self.well
