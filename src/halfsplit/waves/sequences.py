"""Sequences of excitation that step a motor: which phases are on at each position of the cycle.

Phases stand in a ring. Full-step sequences keep k neighbours on, half-step ones alternate k and
k + 1. For four phases these are the published eight-state master sequence and its even and odd
states (datasheet of a stepping motor drive module, page 8, in the test's table). A bipolar motor's
two pairs are four phases of which the first and third, and the second and fourth, are the two ends
of one winding.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from halfsplit.frozen import dataclass

__all__ = ["Sequence", "code_text", "orders", "sequences"]

_WORDS = {1: "one", 2: "two", 3: "three", 4: "four"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequence:
    """``codes`` of a ring of ``phases``, in order of position; bit p is phase p. ``on`` says how
    many phases are on, two numbers for half steps."""

    phases: int
    on: tuple[int, ...]

    @property
    def name(self) -> str:
        if len(self.on) == 1:
            return f"{_WORDS[self.on[0]]} phase{'s' if self.on[0] > 1 else ''} on"
        if self.on == (1, 2):
            return "half step"
        return f"half step, {_WORDS[self.on[0]]} and {_WORDS[self.on[1]]} phases on"

    @property
    def codes(self) -> tuple[int, ...]:
        return tuple(
            sum(1 << (first + i) % self.phases for i in range(k))
            for first in range(self.phases)
            for k in self.on
        )

    @property
    def half(self) -> bool:
        """Whether a position is half a step."""
        return len(self.on) == 2

    def on_share(self) -> float:
        """Part of the cycle for which a phase is on."""
        return sum(self.on) / len(self.on) / self.phases


def sequences(phases: int) -> tuple[Sequence, ...]:
    """Every sequence in use for that many phases, the usual ones first. Five phases: one to three
    on, and the ten-state cycle with two and three on (common practice)."""
    most = {3: 2, 4: 2, 5: 3}[phases]
    whole = [Sequence(phases=phases, on=(k,)) for k in range(1, most + 1)]
    half = [Sequence(phases=phases, on=(k, k + 1)) for k in range(1, most)]
    return (*whole, *half)


def orders(lines: int, phases: int) -> Iterator[tuple[int, ...]]:
    """Phase of each line, for every way in which ``lines`` wires can be wired to a ring of
    ``phases``, ways that only turn or mirror the ring left out. The order as listed comes first.

    With fewer lines than phases the rest were not recorded.
    """
    seen: set[tuple[int, ...]] = set()
    for order in permutations(range(phases), lines):
        key = min(_same_ring(order, phases))
        if key not in seen:
            seen.add(key)
            yield order


def code_text(code: int, lines: int) -> str:
    """``1100``: the first line leftmost."""
    return "".join(str(code >> i & 1) for i in range(lines))


def _same_ring(order: tuple[int, ...], phases: int) -> Iterator[tuple[int, ...]]:
    """Every labelling of the same ring: turned, and mirrored."""
    for turn in range(phases):
        yield tuple((p + turn) % phases for p in order)
        yield tuple((turn - p) % phases for p in order)
