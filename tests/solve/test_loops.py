"""Edges of latches are left, stable solutions are not touched, rings are told."""

import numpy as np
import pytest
from tests.solve.circuits import TTL_INPUT, Sketch, base

from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.loops import gate_loops, let_fall
from halfsplit.solve.persistent import persist

NOT = LogicOutput(inputs=("a",), level="!a")


def round_of(count: int, joint: float = 0.0) -> Sketch:
    """Inverters in a ring: an even number is a latch, an odd one may oscillate."""
    s = Sketch()
    s.source("V", "vcc", 5.0, ohms=0.05)
    for k in range(count):
        s.gate(f"U{k}", NOT, f"n{(k + 1) % count} vcc 0 m{k}")
        s.add(f"I{k}", TtlInput(), f"m{k} vcc 0", TTL_INPUT)
        s.r(f"J{k}", f"n{k} m{k}", joint or 0.01)
    return s


@pytest.mark.parametrize("count", [2, 4])
def test_a_latch_falls_to_either_side(count: int) -> None:
    sketch = round_of(count)
    circuit, params = sketch.make(), base(sketch.make())
    edge, _ = persist(circuit, params)
    first = sketch.names().index("n0")
    assert 1.0 < edge.v[first, 0] < 2.0  # where Newton's iteration lands
    ends = []
    for side in (1.0, -1.0):
        fallen = let_fall(circuit, params, edge.v, None, side)
        assert fallen.columns.tolist() == [0]
        assert not fallen.rings.any()
        ends.append(float(fallen.v[first, 0]))
        again = let_fall(circuit, params, fallen.v)
        assert not again.columns.size  # there it stays
    assert sorted(ends)[0] < 0.4
    assert sorted(ends)[1] > 2.7


def test_a_latch_falls_to_where_it_was() -> None:
    sketch = round_of(2)
    circuit, params = sketch.make(), base(sketch.make())
    edge, _ = persist(circuit, params)
    first = sketch.names().index("m0")
    for level in (0.2, 3.4):
        before = edge.v.copy()
        before[first] = before[sketch.names().index("n0")] = level
        before[sketch.names().index("m1")] = before[sketch.names().index("n1")] = 3.6 - level
        fallen = let_fall(circuit, params, edge.v, before)
        assert (fallen.v[first, 0] > 1.3) == (level > 1.3)


@pytest.mark.parametrize("count", [1, 3])
def test_a_ring_is_told_as_one_that_may_oscillate(count: int) -> None:
    sketch = round_of(count)
    circuit, params = sketch.make(), base(sketch.make())
    edge, _ = persist(circuit, params)
    fallen = let_fall(circuit, params, edge.v)
    assert fallen.columns.tolist() == [0]
    assert fallen.rings.all()
    assert 0.3 < fallen.v[sketch.names().index("n0"), 0] < 3.5


def test_a_chain_with_a_level_between_is_no_loop() -> None:
    """An input at its threshold is undefined, and stable."""
    s = Sketch()
    s.source("V", "vcc", 5.0)
    s.source("A", "a", 1.3)
    s.gate("U0", NOT, "b vcc 0 a")
    s.gate("U1", NOT, "c vcc 0 b")
    circuit = s.make()
    done, _ = persist(circuit, base(circuit))
    assert not let_fall(circuit, base(circuit), done.v).columns.size
    assert not gate_loops(circuit)


@pytest.mark.parametrize(("joint", "loops"), [(0.01, True), (1e6, False)])
def test_loops_are_found_through_good_joints(joint: float, loops: bool) -> None:
    assert gate_loops(round_of(3, joint).make()) is loops


def test_a_batch_falls_column_by_column() -> None:
    """One column a latch on its edge, one with its gates held apart."""
    sketch = round_of(2)
    circuit = sketch.make()
    params = base(circuit, 2)
    group, row, member = circuit.locate(("x", "U0"), "a1")
    params[group][row, member, 1] = 0.0
    edge, _ = persist(circuit, params)
    assert let_fall(circuit, params, edge.v).columns.tolist() == [0]
    assert np.isfinite(edge.v).all()
