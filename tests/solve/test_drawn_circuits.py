"""Circuits drawn at random: what must hold in any circuit (Kirchhoff, Tellegen, superposition)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.solve.circuits import Sketch, base, excess

from halfsplit.solve import newton
from halfsplit.solve.kernel import load_kernel
from halfsplit.solve.laws.linear import Source

NODES = ("0", "a", "b", "c", "d", "e", "f")
HELD = 1e5
"""Ohm from every node to ground, so that none floats."""


def chosen(count: int) -> st.SearchStrategy[str]:
    return st.lists(st.sampled_from(NODES), min_size=count, max_size=count).map(" ".join)


ohms = st.floats(10.0, 1e5)
resistor = st.tuples(st.just("r"), chosen(2), ohms)
source = st.tuples(st.just("source"), st.sampled_from(NODES[1:]), st.floats(-12.0, 12.0))
diode = st.tuples(st.just("diode"), chosen(2), st.floats(3.0, 60.0))
transistor = st.tuples(st.sampled_from(["npn", "pnp"]), chosen(3), st.floats(20.0, 300.0))
fet = st.tuples(st.just("mosfet"), chosen(3), st.floats(1e-3, 1.0))
Parts = list[tuple[str, str, float]]


def circuits(*kinds: st.SearchStrategy[tuple[str, str, float]]) -> st.SearchStrategy[Parts]:
    return st.tuples(
        st.lists(source, min_size=1, max_size=3), st.lists(st.one_of(*kinds), min_size=2)
    ).map(lambda both: [*both[0], *both[1][:14]])


def sketched(parts: Parts) -> Sketch:
    s = Sketch()
    for node in NODES[1:]:
        s.r(f"held {node}", f"{node} 0", HELD)
    for k, (kind, nodes, value) in enumerate(parts):
        if kind == "r":
            s.r(f"R{k}", nodes, value)
        elif kind == "source":
            s.source(f"V{k}", nodes, value, ohms=50.0)
        elif kind == "diode":
            s.diode(f"D{k}", nodes, bv=value)
        elif kind == "mosfet":
            s.mosfet(f"M{k}", nodes, k=value)
        else:
            s.npn(f"Q{k}", nodes, sign=1.0 if kind == "npn" else -1.0, bf=value)
    return s


@settings(max_examples=40)
@given(parts=circuits(resistor, diode, transistor, fet))
def test_kirchhoff_tellegen_and_both_engines(parts: Parts) -> None:
    """At each node the currents add to nothing; what has no supply takes the power that the
    sources give; the kernel finds what numpy finds."""
    circuit = sketched(parts).make()
    params = base(circuit)
    done = newton.solve(circuit, params, want_ohms=True)
    assert done.resolved.all()
    assert np.abs(excess(circuit, params, done)).max() < 1e-6
    v = np.concatenate((done.v, np.zeros((1, 1))))
    taken = 0.0
    for group, p in zip(circuit.groups, params, strict=True):
        if not isinstance(group.law, Source):
            i, _ = group.law.evaluate(v[group.nodes], p, False)
            taken += float((v[group.nodes] * i).sum())
    assert taken > -1e-6
    kernel = load_kernel()
    if kernel is not None:
        theirs = kernel.solve(circuit, params)
        assert theirs is not None
        assert theirs.resolved.all()
        assert np.abs(theirs.v - done.v).max() < 1e-9 + 1e-11 * done.ohms.max()


@settings(max_examples=40)
@given(parts=circuits(resistor), data=st.data())
def test_a_linear_circuit_superposes_and_keeps_its_order(parts: Parts, data: st.DataObject) -> None:
    """Each source alone, added up; and the same answer with nodes and parts in another order."""
    sketch = sketched(parts)
    circuit = sketch.make()
    sources = [name for name, law, _, _ in sketch.elements if isinstance(law, Source)]
    params = base(circuit, len(sources) + 1)
    for column, kept in enumerate(sources):
        for name in sources:
            group, row, member = circuit.locate(("x", name), "volts")
            params[group][row, member, column] *= float(name == kept)
    v = newton.solve(circuit, params).v
    np.testing.assert_allclose(v[:, :-1].sum(axis=1), v[:, -1], atol=1e-9)
    names = data.draw(st.permutations(sketch.names()))
    mixed = Sketch(data.draw(st.permutations(sketch.elements)))
    other = newton.solve(mixed.make(names), base(mixed.make(names))).v[:, 0]
    for name, volts in zip(names, other, strict=True):
        assert volts == pytest.approx(v[sketch.names().index(name), -1], abs=1e-9)


@settings(max_examples=15)
@given(parts=circuits(resistor, diode, transistor), seed=st.integers(0, 2**32 - 1))
def test_a_batch_is_its_cases_one_by_one(parts: Parts, seed: int) -> None:
    circuit = sketched(parts).make()
    rng = np.random.default_rng(seed)
    params = [p * rng.uniform(0.8, 1.2, (*p.shape[:2], 6)) for p in base(circuit)]
    together = newton.solve(circuit, params, want_ohms=True)
    for k in range(6):
        alone = newton.solve(circuit, [p[:, :, k : k + 1] for p in params])
        assert alone.resolved[0] == together.resolved[k]
        difference = np.abs(np.nan_to_num(alone.v[:, 0] - together.v[:, k]))
        assert difference.max() < 1e-9 + 1e-11 * np.nan_to_num(together.ohms[:, k]).max()
