"""`halfsplit gates`: netlists and boards of pure logic."""

import builtins
from collections.abc import Iterator

import pytest
from tests.cli.conftest import Call
from tests.solve.gate_circuits import FOLDER

C17 = str(FOLDER / "c17.bench")


def test_without_a_test_it_says_what_is_there(call: Call) -> None:
    said = call("gates", C17, "--json")
    assert said.code == 0
    assert said.data["inputs"] == ["N1", "N2", "N3", "N6", "N7"]
    assert (said.data["faults"], said.data["classes"], said.data["shown"]) == (34, 22, 22)
    assert said.data["all_vectors"] is True
    assert said.data["sentence"] in " ".join(call("gates", C17).out.split())


def test_a_board_with_memory_around_its_gates(call: Call) -> None:
    data = call("gates", "logic-card", "--json").data
    assert data["inputs"] == ["FLAG", "HOST", "L0", "L1", "L2", "L3", "RD", "WR"]
    assert "nSET" in data["outputs"]


def test_suspects_and_the_next_probe(call: Call) -> None:
    words = ("gates", C17, "--test", "10110:11", "--test", "N1=1,N2=0,N3=1,N6=1,N7=0:N23=1")
    data = call(*words, "--json").data
    assert data["explain"] == len(data["suspects"]) - 1
    assert sum(one["probability"] for one in data["suspects"]) == pytest.approx(1.0)
    probe = data["probes"][0]
    assert set(probe) == {"net", "test", "inputs", "bits", "good", "good_chance"}
    assert f"Probe {probe['net']} during test {probe['test']}" in call(*words).out


def test_readings_move_the_belief(call: Call) -> None:
    words = ("gates", C17, "--test", "10110:11", "--model", "both", "--json")
    low = call(*words, "--read", "N16=low").data["suspects"]
    assert {one["fault"] for one in low[:2]} == {
        "N16 stuck low",
        "the gate of N16 gives the opposite",
    }
    high = call(*words, "--read", "N16=1", "--read", "N19=1").data["suspects"]
    assert not any("N19" in one["fault"] for one in high)


def test_two_gates_when_no_single_fault_explains(call: Call) -> None:
    """N22 and N23 wrong at once where no net leads to both but N3, N11, N16 and N2."""
    words = ("gates", C17, "--test", "11001:00", "--test", "00000:11", "--model", "inverted")
    data = call(*words, "--json").data
    assert data["explain"] == 0
    assert "N22 and N23" in data["pairs"]
    assert "Two gates that would explain them together:" in call(*words).out


def test_one_reading_after_another(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    typed: Iterator[str] = iter(["maybe", "low", "1", ""])
    monkeypatch.setattr(builtins, "input", lambda prompt="": next(typed))
    said = call("gates", C17, "--test", "10110:11", "--ask")
    assert "! expected a level: 0, 1, low or high, got 'maybe'" in said.out
    assert said.out.count("Probe ") >= 2


def test_further_inputs_on_offer(call: Call) -> None:
    words = ("gates", C17, "--test", "10110:11", "--offer", "4", "--json")
    assert max(one["test"] for one in call(*words).data["probes"]) > 1
    assert call(*words, "--read", "N16=1@5").code == 0
    assert call(*words, "--read", "N16=1@6").code == 2


def test_readings_without_a_failing_test(call: Call) -> None:
    assert "expected a failing test before readings" in call("gates", C17, "--read", "N16=1").err
    assert "expected a test that fails" in call("gates", C17, "--test", "10110:10").err
