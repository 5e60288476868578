"""Whole boards and their faults against ngspice with the same laws (docs/accuracy.md)."""

from pathlib import Path

import numpy as np
import pytest
from tests.solve.compare import LIMIT, compare

BOARDS = Path(__file__).parent / "boards"
CASES = {
    ("driver", "off"): 40, ("driver", "one"): 40, ("bridge", "stop"): 40, ("bridge", "right"): 40,
    ("sensor", "clear"): 40, ("sensor", "blocked"): 40, ("regulators", "loaded"): 30,
    ("gates", "low"): 15, ("gates", "high"): 15, ("relays", "both"): 20,
    ("amplifiers", "steady"): 4,
}  # fmt: skip
"""Faults compared on each board, spread over its list; gates cost ngspice most."""
TWO_WAYS = {("gates", "high"): 4}
"""How many may differ because the board has two solutions: a latch that a fault left alone. Each
was checked to be a solution of the same laws: Kirchhoff holds there, and the solver stays there
when it starts there."""


@pytest.mark.spice
@pytest.mark.parametrize(("board", "state"), CASES)
def test_node_voltages_are_those_of_ngspice(board: str, state: str, ngspice: str) -> None:
    text = (BOARDS / f"{board}.board").read_text(encoding="utf-8")
    found = compare(ngspice, text, state, CASES[board, state])
    usual = np.asarray([w for w, why in zip(found.worst, found.classes, strict=True) if not why])
    assert found.unexplained() == []
    assert sum(bool(why) for why in found.classes) <= TWO_WAYS.get((board, state), 0)
    assert set(found.classes) <= {"", "second solution"}
    assert np.median(usual) < 1e-5
    assert usual.max() < LIMIT
