"""`halfsplit record`: a capture file looked at, kept, matched to a board, and refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.conftest import Call

TEXT = "Time (ms),MID,CH2\n0,0,1.5\n1,1,2.5\n2,1,0.5\n3,0,1\n"
VIEW = {"name", "kind", "unit", "edges", "narrowest", "samples", "rate", "low", "high"}


@pytest.fixture
def file(folder: Path) -> str:
    (folder / "a.csv").write_text(TEXT)
    return "a.csv"


def test_a_person_is_told(call: Call, file: str) -> None:
    said = call("record", file, "--board", "divider.board")
    assert said.code == 0
    for words in ("a.csv: text, 2 channels, 3 ms", "delimiter=comma", "2 edges", "0.5 to 2.5",
                  "net MID", "net not known"):  # fmt: skip
        assert words in said.out, words


def test_a_program_is_told(call: Call, file: str) -> None:
    data = call("record", file, "--json", "--board", "divider.board").data
    assert set(data) == {
        "schema", "source", "format", "found", "begin", "end", "duration", "channels", "remarks",
        "nets", "kept",
    }  # fmt: skip
    mid, other = data["channels"]
    assert set(mid) == VIEW
    assert (mid["kind"], mid["edges"]) == ("digital", 2)
    assert mid["narrowest"] == pytest.approx(2e-3)
    assert (other["samples"], other["low"], other["high"]) == (4, 0.5, 2.5)
    assert other["rate"] == pytest.approx(1000)
    assert [match["net"] for match in data["nets"]] == ["MID", None]
    assert data["duration"] == pytest.approx(3e-3)


def test_choices_and_a_kept_copy(call: Call, folder: Path, file: str) -> None:
    data = call(
        "record", file, "--json", "--choose", "time-unit=s", "--choose", "digital=none",
        "--keep", "a.kept",
    ).data  # fmt: skip
    assert data["duration"] == pytest.approx(3.0)
    assert {channel["kind"] for channel in data["channels"]} == {"analog"}
    assert (folder / "a.kept" / "kept.json").is_file()


def test_doubts_are_said(call: Call, folder: Path) -> None:
    (folder / "b.csv").write_text("A,B\n0,0\n0,0\n0,0\n")
    (folder / "c.csv").write_text("t,A,B\n0,0,0\n1,1,1\n2,0,0\n")
    assert "no digital channel changes" in call("record", "b.csv").out
    assert "identical" in call("record", "c.csv").out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("missing.csv",), "cannot be read"),
        (("a.csv", "--format", "vdc"), "did you mean vcd"),
        (("a.csv", "--choose", "delimiter"), "NAME=VALUE"),
        (("a.csv", "--choose", "tick=1s"), "choice of text"),
        (("a.csv", "--choose", "interval=fish"), "fish"),
        (("bad.csv",), "line 3"),
        (("empty.csv",), "empty"),
        (("divider.board",), "rows of numbers"),
        (("noise.bin",), "looks like none"),
        (("\0",), "cannot be read"),
        ((".",), "cannot be read"),
    ],
)
def test_bad_input(call: Call, folder: Path, file: str, words: tuple[str, ...], said: str) -> None:
    (folder / "bad.csv").write_text("t,A\n0,1\n1,x y\n2,1\n")
    (folder / "empty.csv").write_text("")
    (folder / "noise.bin").write_bytes(bytes(range(256)))
    answer = call("record", *words, "--json")
    assert answer.code == 2
    assert said in answer.err
    assert answer.data["error"]["message"] in answer.err


def test_what_was_readable(call: Call, folder: Path) -> None:
    (folder / "bad.csv").write_text("t,A\n0,1\n1,0\n2,oops\n")
    said = call("record", "bad.csv", "--keep-readable")
    assert said.code == 0
    assert "read only up to here" in said.out
