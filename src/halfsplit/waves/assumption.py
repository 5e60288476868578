"""What may be assumed about phase lines: a sequence, an order of wires, and one fault of a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.waves.follow import NO_HOME, Tables
from halfsplit.waves.line import Codes
from halfsplit.waves.sequences import Sequence as Excitation
from halfsplit.waves.sequences import orders, sequences

__all__ = ["FAULTS", "UNRECORDED", "Assumption", "assumptions", "ring_sizes", "tables"]

FAULT = 2.0
REWIRED = 2.0
RESET = 3.0
UNUSUAL = 0.02
ACTIVE_LOW = 0.3
UNRECORDED = 2.0
"""What an assumption costs beside what does not fit, in codes that do not fit (judgement): a fault
of a line, another order than the one told, a controller that is reset, another order than the
listed one, lines that are on when low, a phase that was not recorded. The simplest wins."""

FAULTS = (
    "stuck on", "stuck off", "missing", "late", "inverted", "shorted, on wins",
    "shorted, off wins", "reset",
)  # fmt: skip
"""Faults that may be assumed: of one line, of two, or of none (the controller is reset)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """``order`` gives the phase of each line; ``fault`` is one of :data:`FAULTS` or empty; it
    concerns ``lines`` (indices). ``home`` is where the sequence starts over when it is reset."""

    sequence: Excitation
    order: tuple[int, ...]
    active_low: bool = False
    fault: str = ""
    lines: tuple[int, ...] = ()
    home: int = NO_HOME
    price: float = 0.0

    def shown(self) -> tuple[Codes, int, int]:
        """The code over the lines at each position [S], with all coils off, with all on."""
        codes = [self._as_lines(code) for code in self.sequence.codes]
        every = (1 << self.sequence.phases) - 1
        return np.array(codes, np.int64), self._as_lines(0), self._as_lines(every)

    def _as_lines(self, phases: int) -> int:
        bits = [phases >> phase & 1 for phase in self.order]
        for i in self.lines:
            if self.fault in ("stuck on", "stuck off"):
                bits[i] = int(self.fault == "stuck on")
            elif self.fault == "inverted":
                bits[i] = 1 - bits[i]
        if self.fault.startswith("shorted"):
            a, b = self.lines
            either = max if self.fault == "shorted, on wins" else min
            bits[a] = bits[b] = either(bits[a], bits[b])
        code = sum(bit << i for i, bit in enumerate(bits))
        return code ^ ((1 << len(bits)) - 1) if self.active_low else code

    @property
    def listed_order(self) -> bool:
        """Whether the lines stand in the order of the ring as they were listed."""
        return self.order == tuple(range(len(self.order)))


def assumptions(
    lines: int, *, phases: int, active_low: bool | None, order_known: bool, faults: bool
) -> Iterator[Assumption]:
    """Every assumption about that many lines; without ``faults`` only whole lines.

    Two lines are half of a four-phase motor with two phases on.
    """
    polarities = (False, True) if active_low is None else (active_low,)
    for excitation in sequences(phases):
        if lines != 2 or excitation.on == (2,):
            for order in orders(lines, phases):
                if lines == 2 and order != (0, 1):
                    continue
                straight = order == tuple(range(lines)) or (not order_known and lines < phases)
                price = 0.0 if straight else REWIRED if order_known else UNUSUAL
                price += UNRECORDED if lines < phases and lines > 2 else 0.0
                for low in polarities:
                    several = _faults(lines, len(excitation.codes)) if faults else _NO_FAULT
                    for fault, which, home in several:
                        yield Assumption(
                            sequence=excitation,
                            order=order,
                            active_low=low,
                            fault=fault,
                            lines=which,
                            home=home,
                            price=price
                            + (ACTIVE_LOW if low and active_low is None else 0.0)
                            + _PRICES.get(fault, FAULT),
                        )


def ring_sizes(lines: int) -> tuple[int, ...]:
    """How many phases that many lines may belong to, the likeliest first: as many as lines, or one
    more of which one was not recorded; two lines are half of a four-phase motor's."""
    return {2: (4,), 3: (3, 4), 4: (4, 5), 5: (5,)}[lines]


def tables(some: Sequence[Assumption]) -> Tables:
    """What assumptions with as many positions show."""
    shown = [one.shown() for one in some]
    lacking = [
        replace(one, fault="stuck off").shown() if one.fault == "missing" else table
        for one, table in zip(some, shown, strict=True)
    ]
    return Tables(
        shown=np.array([table[0] for table in shown]),
        lacking=np.array([table[0] for table in lacking]),
        off=np.array([table[1] for table in shown]),
        on=np.array([table[2] for table in shown]),
        home=np.array([one.home for one in some]),
    )


def _faults(lines: int, positions: int) -> Iterator[tuple[str, tuple[int, ...], int]]:
    yield from _NO_FAULT
    for i in range(lines):
        for kind in ("stuck on", "stuck off", "missing", "inverted"):
            yield kind, (i,), NO_HOME
    for pair in combinations(range(lines), 2):
        yield "shorted, on wins", pair, NO_HOME
        yield "shorted, off wins", pair, NO_HOME
    for home in range(positions):
        yield "reset", (), home


_PRICES = {"": 0.0, "reset": RESET}

_NO_FAULT: tuple[tuple[str, tuple[int, ...], int], ...] = (("", (), NO_HOME),)
