"""Commands about a board: board, faults, expect."""

from pathlib import Path

import pytest
from tests.cli.conftest import Call

from halfsplit.board.source import examples

# Two equal resistors halve the rail (Ohm's law); the meter's 10 MOhm across 5 kOhm takes
# 0.05 % off, the rail's 0.05 Ohm nothing that shows.
MIDDLE = 2.5 * 10e6 / (10e6 + 5e3)


def test_board_counts_what_the_file_says(call: Call) -> None:
    said = call("board", "divider.board", "--json")
    assert said.code == 0
    assert said.data["good"] is True
    assert said.data["counts"] == {
        "parts": 2, "nets": 3, "rails": 1, "states": 1, "outputs": 1, "offsheet": 0,
        "testpoints": 1,
    }  # fmt: skip
    assert "2 parts, 3 nets" in call("board", "divider.board").out


def test_board_with_errors_ends_with_one_and_says_where(call: Call, folder: Path) -> None:
    text = (folder / "divider.board").read_text().replace("R2 10k", "R2 10q")
    (folder / "bad.board").write_text(text)
    said = call("board", "bad.board", "--json")
    assert said.code == 1
    assert said.data["errors"] >= 1
    assert said.data["problems"][0]["line"] == 4
    assert said.data["problems"][0]["severity"] == "error"
    assert "bad.board:4:" in call("board", "bad.board").out
    assert call("new", "--board", "bad.board").code == 2
    assert not (folder / "bad.hsplit").exists()


def test_faults_are_listed_likeliest_first_with_their_source(call: Call) -> None:
    data = call("faults", "divider.board", "--json").data
    priors = [fault["prior"] for fault in data["faults"]]
    assert priors == sorted(priors, reverse=True)
    assert sum(priors) + data["something_else"] == pytest.approx(1.0)
    assert all(fault["source"] and fault["rate"] > 0 for fault in data["faults"])
    ids = {fault["id"] for fault in data["faults"]}
    assert {"R1 open", "R2 open", "R1 short"} <= ids
    some = call("faults", "divider.board", "--part", "R2", "--json").data["faults"]
    assert {fault["suspect"] for fault in some} >= {"R2", "joint R2.1"}
    assert not {"R1 open", "+5 missing"} & {fault["id"] for fault in some}


def test_expect_gives_the_divider_of_the_textbook(call: Call) -> None:
    (one,) = call("expect", "divider.board", "--place", "TP1", "--json").data["expected"]
    assert one["mean"] == pytest.approx(MIDDLE, rel=1e-4)
    assert one["state"] == "on"
    assert not one["floating"]
    assert not one["unresolved"]
    read = {fault["id"]: fault["mean"] for fault in one["differs"]}
    assert read["R1 open"] == pytest.approx(0.0, abs=1e-3)
    assert read["R2 open"] == pytest.approx(5.0, rel=2e-3)
    assert "TP1" in call("expect", "divider.board", "--place", "TP1").out


def test_only_faults_that_read_otherwise_are_listed(call: Call) -> None:
    (one,) = call("expect", "divider.board", "--place", "R1.1", "--json").data["expected"]
    # The rail has 0.05 Ohm: no resistor of the divider moves it by more than 25 uV (Ohm's law).
    read = {fault["id"] for fault in one["differs"]}
    assert "+5 missing" in read
    assert not {"R1 open", "R1 short", "R2 open", "R2 short"} & read


def test_expect_by_net_gives_every_pin_of_it(call: Call) -> None:
    found = call("expect", "divider.board", "--net", "MID", "--json").data["expected"]
    assert {one["place"] for one in found} == {"R1.2", "R2.1", "TP1"}
    everything = call("expect", "divider.board", "--json").data["expected"]
    assert {one["net"] for one in everything} == {"+5", "MID", "GND"}


@pytest.mark.parametrize("name", examples())
def test_every_example_reads_without_errors(call: Call, name: str) -> None:
    said = call("board", name, "--json")
    assert said.code == 0
    assert said.data["errors"] == 0


def test_the_example_of_the_demo_is_there() -> None:
    assert "plotter-drive" in examples()
