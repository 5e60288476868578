"""Lines played for the tests."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from tests.waves.played import as_changes, seek, with_fault

from halfsplit.waves.line import Line, line_of_changes


def lines_of_cycle(
    cycle: Sequence[str],
    rng: np.random.Generator,
    *,
    fault: str = "none",
    which: tuple[int, ...] = (),
    moves: Sequence[int] = (30, -20, 9),
    names: str = "ABCDE",
    **more: object,
) -> list[Line]:
    """Phase lines of a controller that steps through a cycle, with one fault."""
    if fault == "reset":
        more = {"reset_every": 7, "reset_code": "0" * len(cycle[0]), **more}
    played = seek(list(cycle), list(moves), rng, **more)  # type: ignore[arg-type]
    at, rows = with_fault(played, fault, which, rng)
    return [
        line_of_changes(names[i], *as_changes(at, row, rng), stop=played.stop)
        for i, row in enumerate(rows)
    ]
