"""The conversation in the terminal."""

import io
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.conftest import DIVIDER, Call

from halfsplit.bench import Bench
from halfsplit.cli.loop import Loop
from halfsplit.cli.screen import Screen


def talk(bench: Bench, *typed: str) -> str:
    """What is said when these lines are typed, then the keyboard is gone."""
    left, said = list(typed), list[str]()

    def read(prompt: str) -> str:
        if not left:
            raise EOFError
        said.append(prompt)
        return left.pop(0)

    write: Callable[[str], None] = said.append
    Loop(bench, Screen(width=90), read=read, write=write).run()
    return "\n".join(said)


def test_readings_are_taken_one_after_another(folder: Path) -> None:
    with Bench.create(folder / "x.hsplit", DIVIDER) as bench:
        first = bench.next().suggestions[0].suggestion
        said = talk(bench, "wrong", "volts TP1 @on: 5", "ohms R2.1 : R2.2: OL", "2: ?", "q", "5")
        entries = [one for one in bench.log() if one.check is not None]
        assert entries[0].check == first.check
        assert [one.reading.text for one in entries if one.reading] == ["wrong", "5", "OL", "?"]
        assert bench.next().suspects[0].id == "R2"
    assert "replace R2" in said
    assert "kept in" in said


def test_what_is_not_understood_is_said_and_the_talk_goes_on(folder: Path) -> None:
    with Bench.create(folder / "x.hsplit", DIVIDER) as bench:
        said = talk(bench, "fish", "volts TP9 @on: 1", "77: 1", "u", "", "?", "s", "l", "m", "n hi")
        assert [one.kind for one in bench.log()] == ["board", "note"]
    assert said.count("\n! ") == 4
    assert "fish" in said


def test_undo_in_the_talk(folder: Path) -> None:
    with Bench.create(folder / "x.hsplit", DIVIDER) as bench:
        talk(bench, "wrong", "volts TP1 @on: 5", "u 2", "u")
        assert [one.counts for one in bench.log()] == [True, False, False, True, True]


def test_repair_reads_standard_input(
    call: Call, case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("wrong\nq\n"))
    assert call("repair").code == 0
    assert call("log", "--json").data["events"][-1]["reading"]["word"] == "wrong"


@pytest.mark.parametrize("fault", ["R1 open", "R2 short", "+5 missing"])
def test_the_demo_board_answers_until_its_fault_is_found(folder: Path, fault: str) -> None:
    with Bench.create(folder / "x.hsplit", DIVIDER) as bench:
        left = 12

        def read(prompt: str) -> str:
            nonlocal left
            left -= 1
            if left == 0 or bench.next().verdict.verdict.kind == "repair":
                raise EOFError
            return "b"

        Loop(bench, Screen(), hidden=fault, read=read, write=lambda line: None).run()
        assert bench.next().verdict.verdict.kind == "repair"
        assert bench.next().suspects[0].suspect.faults[0][0].id == fault


def test_demo_in_the_terminal(call: Call, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    monkeypatch.setattr(sys, "stdin", io.StringIO("b\nt\nq\n"))
    said = call("demo", "--terminal", "--board", "divider.board", "--fault", "R2 open")
    assert said.code == 0
    assert "hidden: R2 open" in said.out
    assert call("demo", "--terminal", "--board", "divider.board", "--fault", "R2 opn").code == 2


def test_a_hidden_fault_is_one_that_the_outputs_show(folder: Path) -> None:
    with Bench.create(folder / "x.hsplit", DIVIDER) as bench:
        hidden = {bench.hide_fault(seed) for seed in range(30)}
    # The output is on above 2 V: half of 5 V falls below that when R1 opens (0 V) or R2 shorts,
    # and stays above when R2 opens (5 V) or R1 shorts.
    assert {"R1 open"} <= hidden
    assert not {"R2 open", "R1 short", "+5 missing"} & hidden


def test_the_demo_begins_with_what_the_owner_says(folder: Path) -> None:
    with Bench.create(folder / "x.hsplit", DIVIDER) as bench:
        # With R1 open the middle is at 0 V, under the 2 V of the output line.
        number = bench.complain("R1 open")
        entry = next(one for one in bench.log() if one.number == number)
        assert (entry.check, entry.reading) != (None, None)
        assert entry.reading is not None
        assert entry.reading.word == "off"
        assert bench.complain("R2 open") is None
