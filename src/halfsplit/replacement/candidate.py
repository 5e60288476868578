"""A type that might take a part's place, and the verdict on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from halfsplit.frozen import dataclass

__all__ = ["Candidate", "Verdict", "judge"]

Verdict = Literal["serves", "with a change", "no"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """``against`` what speaks against it, ``changes`` what would have to be done, ``notes`` what
    is otherwise and does no harm. ``tried``: the whole board was predicted with it in place."""

    name: str
    verdict: Verdict
    against: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    tried: bool = False

    @property
    def why(self) -> str:
        """All of it in one sentence."""
        return "; ".join((*self.against, *self.changes, *self.notes))

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "name": self.name,
            "verdict": self.verdict,
            "against": list(self.against),
            "changes": list(self.changes),
            "notes": list(self.notes),
            "tried": self.tried,
        }


def judge(
    name: str,
    *,
    against: Sequence[str] = (),
    changes: Sequence[str] = (),
    notes: Sequence[str] = (),
    tried: bool = False,
) -> Candidate:
    """What speaks against it rules it out; what must be changed makes it conditional. What says
    nothing is left out."""
    against, changes = tuple(filter(None, against)), tuple(filter(None, changes))
    verdict: Verdict = "no" if against else "with a change" if changes else "serves"
    return Candidate(
        name=name, verdict=verdict, against=against, changes=changes,
        notes=tuple(filter(None, notes)), tried=tried,
    )  # fmt: skip
