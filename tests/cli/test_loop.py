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
