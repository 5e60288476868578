"""Networks of gates: values, stuck-at faults and their classes, which vectors show them."""

import csv
from itertools import product

import numpy as np
import pytest
from benchmarks.gates_sat import inverted_that_explain, is_redundant
from tests.solve.gate_circuits import FOLDER, by_hand, iscas, random_network

from halfsplit.errors import SolveError
from halfsplit.solve.gates import Kind, columns, gates, pack, values
from halfsplit.solve.gates_cases import Change, Changes, agree, nets_under
from halfsplit.solve.gates_faults import STEM, Stuck, stuck_faults
from halfsplit.solve.gates_sets import free_nets
from halfsplit.solve.gates_simulate import shown_by


def _published(field: str) -> dict[str, int]:
    """Counts of the ISCAS-85 circuits: ``collapsed`` or ``redundant``."""
    with (FOLDER / "stuck_at.csv").open(encoding="utf-8", newline="") as file:
        return {row["circuit"]: int(row[field]) for row in csv.DictReader(file)}


def _changes(stuck: Stuck) -> Changes:
    return Changes.single(stuck.net, stuck.reader, stuck.pin, stuck.value.astype(np.int8))


@pytest.mark.parametrize("seed", range(4))
def test_values_gate_by_gate(seed: int) -> None:
    rng = np.random.default_rng(seed)
    network = random_network(rng, 5, 40)
    given = rng.random((5, 70)) < 0.5
    found = columns(values(network, pack(given)), np.arange(70))
    for k in range(70):
        assert found[:, k].tolist() == by_hand(network, given[:, k].tolist())


@pytest.mark.parametrize("name", ["c17", "c432"])
def test_collapsed_faults_are_as_many_as_published(name: str) -> None:
    assert len(stuck_faults(iscas(name).network).heads) == _published("collapsed")[name]


def test_lines_of_c432() -> None:
    """The circuits are named after their number of lines (Brglez and Fujiwara 1985)."""
    assert len(stuck_faults(iscas("c432").network).net) == 2 * 432


@pytest.mark.parametrize("name", ["c17", "c432"])
def test_redundant_classes_are_as_many_as_published(name: str) -> None:
    """Random vectors show most, a SAT solver says of each that is left whether any vector can."""
    network = iscas(name).network
    stuck = stuck_faults(network)
    given = np.random.default_rng(1).random((len(network.inputs), 1000)) < 0.5
    unseen = stuck.heads[~shown_by(network, stuck, stuck.heads, given).any(axis=1)]
    never = [fault for fault in unseen.tolist() if is_redundant(network, stuck, fault)]
    assert len(never) == _published("redundant")[name]


@pytest.mark.parametrize("seed", range(4))
def test_faults_of_one_class_look_alike_at_every_output(seed: int) -> None:
    network = random_network(np.random.default_rng(seed), 4, 20)
    stuck = stuck_faults(network)
    outputs = [
        tuple(
            tuple(np.array(by_hand(network, list(given), _place(stuck, fault)))[network.outputs])
            for given in product((False, True), repeat=4)
        )
        for fault in range(len(stuck.net))
    ]
    assert len(stuck.heads) < len(stuck.net)
    for fault, kin in enumerate(stuck.kin):
        assert outputs[fault] == outputs[stuck.heads[kin]]


@pytest.mark.parametrize("seed", range(6))
def test_vectors_that_show_a_fault(seed: int) -> None:
    rng = np.random.default_rng(seed)
    network = random_network(rng, 5, 25)
    stuck = stuck_faults(network)
    given = rng.random((5, 65)) < 0.5
    every = np.arange(len(stuck.net))
    shown = columns(shown_by(network, stuck, every, given), np.arange(128))
    assert not shown[:, 65:].any()
    for k in (0, 1, 2, 63, 64):
        good = np.array(by_hand(network, given[:, k].tolist()))
        for fault in range(len(stuck.net)):
            bad = np.array(by_hand(network, given[:, k].tolist(), _place(stuck, fault)))
            assert shown[fault, k] == (good != bad)[network.outputs].any()


@pytest.mark.parametrize("seed", range(3))
def test_nets_under_faults(seed: int) -> None:
    rng = np.random.default_rng(seed)
    network = random_network(rng, 5, 40)
    stuck = stuck_faults(network)
    given = rng.random(5) < 0.5
    cases = rng.permutation(len(stuck.net))
    read = columns(
        nets_under(network, _changes(stuck).take(cases), given), np.arange(len(stuck.net))
    )
    for at, fault in enumerate(cases.tolist()):
        assert read[:, at].tolist() == by_hand(network, given.tolist(), _place(stuck, fault))


def test_inverted_gates_that_explain_are_those_of_a_sat_solver() -> None:
    network = iscas("c432").network
    nets = np.flatnonzero(np.asarray(network.kinds) > Kind.ONE)
    stem = np.full(len(nets), STEM)
    changes = Changes.single(nets, stem, stem, np.full(len(nets), Change.INVERTED, dtype=np.int8))
    rng = np.random.default_rng(5)
    several = 0
    for _ in range(8):
        given = rng.random(len(network.inputs)) < 0.5
        bad = changes.take(rng.integers(len(nets), size=1))
        seen = columns(nets_under(network, bad, given)[network.outputs], np.array([0]))[:, 0]
        levels = seen.astype(np.int8)
        found = nets[agree(network, changes, [given], [levels])].tolist()
        assert found == inverted_that_explain(network, given, levels)
        assert int(bad.net[0]) in found
        several += len(found) > 1
    assert several > 2


def test_free_nets_take_every_pattern() -> None:
    network = iscas("c17").network
    free = free_nets(network, [(5, 6), (7,)], np.zeros(5, dtype=np.bool_))
    assert free.owner.tolist() == [0, 0, 0, 0, 1, 1]
    read = columns(free.nets, np.arange(6))
    assert read[5:7, :4].T.tolist() == [[False, False], [True, False], [False, True], [True, True]]
    with pytest.raises(SolveError, match="at most 16 free nets"):
        free_nets(network, [range(17)], np.zeros(5, dtype=np.bool_))


@pytest.mark.parametrize(
    ("kinds", "sources", "message"),
    [
        ([Kind.INPUT, Kind.NOT], [[], [1]], "expected sources before it, got net 1"),
        ([Kind.INPUT, Kind.NOT], [[], [0, 0]], "NOT: expected 1 input, got 2"),
        ([Kind.INPUT, Kind.AND], [[], []], "AND: expected 1 input or more, got 0"),
    ],
)
def test_networks_out_of_order(kinds: list[Kind], sources: list[list[int]], message: str) -> None:
    with pytest.raises(SolveError, match=message):
        gates(kinds, sources, [1])


def _place(stuck: Stuck, fault: int) -> tuple[int, int, int, bool]:
    place = stuck.net[fault], stuck.reader[fault], stuck.pin[fault]
    return (*(int(each) for each in place), bool(stuck.value[fault]))  # type: ignore[return-value]
