"""What a solution must have whatever the circuit: Kirchhoff, order, batches, meters, honesty."""

from collections.abc import Callable

import numpy as np
import pytest
from tests.solve.circuits import TTL_INPUT, Sketch, base, excess

from halfsplit.solve import newton
from halfsplit.solve.law import Array
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.newton import Probe, solve
from halfsplit.solve.persistent import persist
from halfsplit.solve.response import Linear

NAND = LogicOutput(inputs=("a", "b"), level="!(a & b)")
NOT = LogicOutput(inputs=("a",), level="!a")


def linear() -> Sketch:
    s = Sketch()
    s.source("V1", "a", 7.0, ohms=10.0)
    s.source("V2", "d", -3.0, ohms=47.0)
    for name, nodes, ohms in (("R1", "a b", 1e3), ("R2", "b c", 2.2e3), ("R3", "c 0", 470.0),
                              ("R4", "b d", 3.3e3), ("R5", "c d", 1e4)):  # fmt: skip
        s.r(name, nodes, ohms)
    return s


def amplifier() -> Sketch:
    """Two stages, direct coupled, a zener and a PNP."""
    s = Sketch()
    s.source("V", "vcc", 12.0, ohms=0.1)
    for name, nodes, ohms in (("R1", "vcc b1", 56e3), ("R2", "b1 0", 12e3), ("R3", "vcc c1", 3.3e3),
                              ("R4", "e1 0", 1e3), ("R5", "vcc e2", 470.0), ("R6", "c2 0", 1e3),
                              ("R7", "c2 z", 220.0)):  # fmt: skip
        s.r(name, nodes, ohms)
    s.npn("Q1", "c1 b1 e1", bf=180.0)
    s.npn("Q2", "c2 c1 e2", sign=-1.0, bf=120.0)
    s.diode("Z1", "0 z", bv=3.3, nbv=2.0)
    return s


def logic() -> Sketch:
    """NAND into an inverter into a Darlington with a winding's resistance, TTL inputs in place."""
    s = Sketch()
    s.source("V", "vcc", 5.0, ohms=0.05)
    s.source("V24", "v24", 24.0, ohms=0.3)
    s.source("A", "a", 3.2, ohms=120.0)
    s.source("B", "b", 3.2, ohms=120.0)
    s.gate("U1", NAND, "y vcc 0 a b")
    s.gate("U2", NOT, "z vcc 0 y")
    for name, node in (("I1", "a"), ("I2", "b"), ("I3", "y")):
        s.add(name, TtlInput(), f"{node} vcc 0", TTL_INPUT)
    s.r("RB", "z q", 680.0)
    s.npn("Q1", "c q m", is_=1e-14, bf=100.0)
    s.npn("Q2", "c m 0", is_=1e-13, bf=60.0)
    s.r("R2", "m 0", 200.0)
    s.r("L", "v24 c", 56.0)
    s.diode("D", "c v24")
    return s


def supply() -> Sketch:
    s = Sketch()
    s.source("V", "raw", 9.5, ohms=0.4)
    s.source("VN", "rawn", -18.0, ohms=0.8)
    s.regulator("U1", "raw v5 0")
    s.regulator("U2", "rawn v12n 0", sign=-1.0, vset=12.0, ilim=2.0)
    s.r("R1", "v5 0", 12.0)
    s.r("R2", "v12n 0", 150.0)
    s.comparator("U3", "good v5 0 s r")
    s.r("R3", "v5 s", 10e3)
    s.r("R4", "s 0", 10e3)
    s.r("R5", "v5 r", 15e3)
    s.r("R6", "r 0", 10e3)
    s.r("R7", "v5 good", 4.7e3)
    s.r("R8", "good s", 1e6)
    s.mosfet("M", "d good 0", vth=1.5, k=0.5)
    s.r("R9", "v5 d", 100.0)
    return s


CIRCUITS = [linear, amplifier, logic, supply]
each = pytest.mark.parametrize("make", CIRCUITS, ids=lambda make: make.__name__)


def shaken(params: list[Array], rng: np.random.Generator, width: int) -> list[Array]:
    """A batch with every parameter up to 10 % off, the first column as typed."""
    wide = [np.repeat(p, width, axis=2) for p in params]
    for p in wide:
        p[..., 1:] *= rng.uniform(0.9, 1.1, p[..., 1:].shape)
    return wide


@each
def test_kirchhoff_holds_at_every_node(
    make: Callable[[], Sketch], rng: np.random.Generator
) -> None:
    circuit = make().make()
    params = shaken(base(circuit), rng, 30)
    done = solve(circuit, params)
    assert done.resolved.all()
    assert np.abs(excess(circuit, params, done)).max() < 1e-7  # of currents up to 0.5 A


@each
def test_a_batch_equals_its_cases_one_by_one(
    make: Callable[[], Sketch], rng: np.random.Generator
) -> None:
    circuit = make().make()
    params = shaken(base(circuit), rng, 12)
    together = solve(circuit, params).v
    for k in range(12):
        alone = solve(circuit, [p[:, :, k : k + 1] for p in params]).v
        np.testing.assert_allclose(together[:, k : k + 1], alone, atol=1e-9, rtol=0.0)


@each
def test_the_order_of_nodes_and_elements_does_not_matter(
    make: Callable[[], Sketch], rng: np.random.Generator
) -> None:
    sketch = make()
    expected = sketch.volts()
    for _ in range(4):
        names = list(rng.permutation(sketch.names()))
        order = rng.permutation(len(sketch.elements))
        mixed = Sketch([sketch.elements[k] for k in order])
        circuit = mixed.make(names)
        found = solve(circuit, base(circuit)).v[:, 0]
        for name, volts in zip(names, found, strict=True):
            assert volts == pytest.approx(expected[name], abs=1e-6)


@each
def test_a_guess_changes_the_way_and_not_the_end(
    make: Callable[[], Sketch], rng: np.random.Generator
) -> None:
    circuit = make().make()
    expected = solve(circuit, base(circuit)).v
    guess = expected + rng.normal(0.0, 1.0, (circuit.size, 20))
    done = solve(circuit, base(circuit), guess)
    assert done.resolved.all()
    assert np.abs(done.v - expected).max() < 1e-6


def test_superposition() -> None:
    """Of sources in a linear circuit (any book on circuits)."""
    circuit = linear().make()
    both = base(circuit, 3)
    group, row, _ = circuit.locate(("x", "V1"), "volts")
    first, second = circuit.where["x", "V1"][1], circuit.where["x", "V2"][1]
    both[group][row, second, 1] = 0.0
    both[group][row, first, 2] = 0.0
    v = solve(circuit, both).v
    np.testing.assert_allclose(v[:, 0], v[:, 1] + v[:, 2], atol=1e-12)


def test_reciprocity() -> None:
    """Ampere in at one node and volts at another may change places (Alexander and Sadiku)."""
    circuit = linear().make()
    node = np.array([1, 2])
    probe = Probe(node, np.array([-1, -1]), np.zeros(2), np.full(2, 1e-3))
    rest = solve(circuit, base(circuit)).v
    moved = solve(circuit, base(circuit), probe=probe).v - rest
    assert moved[2, 0] == pytest.approx(moved[1, 1], rel=1e-9)


@each
def test_source_resistance_is_what_a_probe_finds(make: Callable[[], Sketch]) -> None:
    sketch = make()
    circuit = sketch.make()
    count = circuit.size
    done = solve(circuit, base(circuit, count), want_ohms=True)
    amps = 1e-8 / np.maximum(done.ohms[:, 0], 1e-3) * 1e3  # 10 microvolt
    nodes, ground = np.arange(count), np.full(count, -1)
    ends = [
        solve(circuit, base(circuit), done.v, probe=Probe(nodes, ground, np.zeros(count), s * amps))
        for s in (1.0, -1.0)
    ]
    found = (ends[0].v - ends[1].v)[nodes, nodes] / (2.0 * amps)
    np.testing.assert_allclose(found, done.ohms[:, 0], rtol=2e-3)
    again = Linear.at(circuit, done.v, base(circuit, count)).ohms()
    np.testing.assert_allclose(again, done.ohms, rtol=1e-9)


def test_a_meter_loads_what_it_measures() -> None:
    """10 megohm on a divider of two times 10 megohm: a third in place of a half."""
    s = Sketch()
    s.source("V", "top", 9.0)
    s.r("R1", "top mid", 10e6)
    s.r("R2", "mid 0", 10e6)
    circuit = s.make()
    probe = Probe(np.array([1]), np.array([-1]), np.array([1e-7]), np.zeros(1))
    assert solve(circuit, base(circuit)).v[1, 0] == pytest.approx(4.5, rel=0.01)  # leak of 1 nS
    assert solve(circuit, base(circuit), probe=probe).v[1, 0] == pytest.approx(3.0, rel=0.01)


@each
def test_the_first_order_response_is_the_slope_of_solving_again(
    make: Callable[[], Sketch], rng: np.random.Generator
) -> None:
    """Sensitivity by the factored Jacobian against central differences of full solutions."""
    circuit = make().make()
    plain = base(circuit, 8)
    done = solve(circuit, plain)
    line = Linear.at(circuit, done.v, plain)
    direction = [p * rng.uniform(-1.0, 1.0, p.shape) for p in plain]
    small = 1e-5
    ahead, behind = (
        [p + s * small * d for p, d in zip(plain, direction, strict=True)] for s in (1.0, -1.0)
    )
    by_slope = 0.5 * (line.response(ahead) - line.response(behind))
    solved = 0.5 * (solve(circuit, ahead, done.v).v - solve(circuit, behind, done.v).v)
    np.testing.assert_allclose(by_slope, solved, rtol=2e-3, atol=3e-8)
    assert np.abs(solved).max() > 1e-6


def test_a_rank_one_change_of_a_linear_circuit_by_hand() -> None:
    """J. Sherman and W. J. Morrison (Ann. Math. Statist. 21, 1950) from the solver's own source
    resistances and transfers, against solving the changed circuit."""
    circuit = linear().make()
    plain = base(circuit)
    v = solve(circuit, plain).v[:, 0]
    node, change = 2, 3e-3  # a bridge of 333 ohm from c to ground
    probe = Probe(np.array([node]), np.array([-1]), np.zeros(1), np.ones(1))
    column = solve(circuit, plain, probe=probe).v[:, 0] - v
    expected = v - column * change * v[node] / (1.0 + change * column[node])
    bridge = Probe(np.array([node]), np.array([-1]), np.array([change]), np.zeros(1))
    np.testing.assert_allclose(solve(circuit, plain, probe=bridge).v[:, 0], expected, atol=1e-9)


def test_a_floating_node_shows_in_its_source_resistance() -> None:
    s = Sketch()
    s.source("V", "a", 5.0)
    s.r("R1", "a b", 1e3)
    s.r("R2", "c d", 1e3)
    circuit = s.make()
    done = solve(circuit, base(circuit), want_ohms=True)
    ohms = dict(zip(s.names(), done.ohms[:, 0], strict=True))
    assert ohms["b"] == pytest.approx(1e3, rel=1e-3)
    assert min(ohms["c"], ohms["d"]) > 1e8
    assert abs(done.v[s.names().index("c"), 0]) < 1e-6


def test_what_cannot_be_solved_is_no_number_and_harms_no_neighbour() -> None:
    circuit = amplifier().make()
    params = base(circuit, 3)
    params[0][0, 0, 1] = np.nan
    done = solve(circuit, params)
    assert done.resolved.tolist() == [True, False, True]
    assert np.isnan(done.v[:, 1]).all()
    np.testing.assert_array_equal(done.v[:, 0], done.v[:, 2])
    assert np.isfinite(done.v[:, 0]).all()


def test_an_iteration_cut_short_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(newton, "_MOST", {"first": 2, "logic": 2, "full": 2, "soft": 2})
    circuit = amplifier().make()
    done = newton.solve(circuit, base(circuit))
    assert not done.resolved.any()
    assert np.isnan(done.v).all()


def ring(count: int, pull: float) -> Sketch:
    """A ring of inverters, TTL inputs in place; ``pull`` ohm from the first input to ground."""
    s = Sketch()
    s.source("V", "vcc", 5.0, ohms=0.05)
    for k in range(count):
        s.gate(f"U{k}", NOT, f"n{(k + 1) % count} vcc 0 n{k}")
        s.add(f"I{k}", TtlInput(), f"n{k} vcc 0", TTL_INPUT)
    s.r("RP", "n0 0", pull)
    return s


@pytest.mark.parametrize("count", [1, 3, 5])
def test_a_ring_of_inverters_rests_half_way(count: int) -> None:
    """Every stage sits where its output equals its input: near the threshold of 1.3 V."""
    sketch = ring(count, 1e6)
    circuit = sketch.make()
    done, _ = persist(circuit, base(circuit))
    assert done.resolved.all()
    assert np.abs(excess(circuit, base(circuit), done)).max() < 1e-7
    assert (np.abs(done.v[1:, 0] - 1.3) < 0.15).all()


def test_a_loop_that_the_iteration_alone_does_not_settle() -> None:
    """A bridge round three gates of different kinds, as on the logic card among the examples."""
    circuit = enabled_ring().make()
    plain = base(circuit, 2)
    group, row, member = circuit.locate(("x", "U3"), "e1")
    plain[group][row, member, 1] = 0.0  # the buffer never on: no loop
    done, climbed = persist(circuit, plain)
    assert done.resolved.all()
    assert np.abs(excess(circuit, plain, done)).max() < 1e-7
    assert climbed.tolist() == [True, False]
    assert not newton.solve(circuit, plain).resolved[0]


def enabled_ring() -> Sketch:
    s = Sketch()
    buffer = LogicOutput(inputs=("a", "g"), level="a", enable="!g")
    s.source("V", "vcc", 5.0, ohms=0.05)
    s.source("F", "flag", 0.15, ohms=20.0)
    s.source("H", "host", 3.6, ohms=150.0)
    s.gate("U1", NOT, "sel vcc 0 host")
    s.gate("U3", buffer, "host vcc 0 flag sel")
    s.add("I1", TtlInput(), "host vcc 0", TTL_INPUT)
    s.add("I2", TtlInput(), "sel vcc 0", TTL_INPUT)
    return s


def test_no_case_at_all_is_solved_too() -> None:
    circuit = linear().make()
    none = [p[:, :, :0] for p in base(circuit)]
    found = solve(circuit, none, np.empty((circuit.size, 0)))
    assert found.v.shape == (circuit.size, 0)
    assert found.resolved.shape == (0,)
