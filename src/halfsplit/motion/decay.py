"""How a positioner that loses its places goes on to fail: what shows first, and what comes next.

The order is common practice, no source.
"""

from __future__ import annotations

__all__ = ["STAGES", "still_to_come"]

STAGES = (
    "odd buzzing",
    "read errors",
    "write errors",
    "corrupted data",
    "a format that does not finish",
)
"""What is noticed, in the order of its coming."""


def still_to_come(seen: str) -> tuple[str, ...]:
    """What follows on a stage; all of them before any. Raises ValueError for no stage."""
    return STAGES if not seen else STAGES[STAGES.index(seen) + 1 :]
