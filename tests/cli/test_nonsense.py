"""Bad input gives exit code 2, one message on standard error, and an error in JSON; no trace."""

import os
import sqlite3
from pathlib import Path

import pytest
from tests.cli.conftest import Call

from halfsplit.bench import Bench

WITHOUT_CASE = [
    ("bord",),
    ("board",),
    ("board", "nowhere"),
    ("board", "nowhere.board"),
    ("board", "."),
    ("board", "\0"),
    ("faults", "divider.board", "--part", "R9"),
    ("expect", "divider.board", "--place", "U3.6"),
    ("expect", "divider.board", "--net", "PHA"),
    ("expect", "divider.board", "--state", "run"),
    ("expect", "divider.board", "--net", "MID", "--place", "TP1"),
    ("new", "--board", "nowhere"),
    ("new", "no/such/folder/x", "--board", "divider.board"),
    ("new",),
    ("next", "divider.board"),
    ("next", "missing.hsplit"),
    ("next", "."),
    ("trial", "divider.board", "--sample", "0"),
    ("trial", "divider.board", "--faults", "R1 opn"),
    ("open", "missing.hsplit", "--no-browser"),
    ("demo", "--port", "99999"),
    ("demo", "--board", "nowhere"),
    ("cases", "no/such/folder"),
    ("experience", "--merge", "nowhere.json"),
    ("import", "nowhere.hsplit.zip"),
    ("prove", "--hours", "-3"),
    ("prove", "--hours", "nan"),
    ("prove", "--confidence", "1"),
    ("board", "divider.board", "more"),
    ("supply",),
    ("fetch",),
]
WITH_CASE = [
    ("enter",),
    ("enter", "1"),
    ("enter", "1", "fish"),
    ("enter", "0", "right"),
    ("enter", "999", "right"),
    ("enter", "6", "right"),
    ("enter", "99999999999999999999", "right"),
    ("enter", "volts", "TP9", "@on", "1"),
    ("enter", "volts", "TP1", "@off", "1"),
    ("enter", "volts TP1 @on", "1 kg"),
    ("enter", "volts TP1 @on", ""),
    ("enter", "volts TP1 @on", "9999"),
    ("enter", "weigh TP1", "1"),
    ("enter", "--kind", "volts", "1"),
    ("enter", "--place", "TP1", "1"),
    ("enter", "--kind", "ohms", "--place", "R1.1", "--place", "R9.1", "1"),
    ("next", "--count", "0"),
    ("next", "--count", "-3"),
    ("suspects", "--count", "many"),
    ("undo",),
    ("undo", "1"),
    ("undo", "77"),
    ("undo", "no.hsplit", "such", "3"),
    ("note", "  "),
]


def refused(call: Call, words: tuple[str, ...]) -> None:
    said = call(*words)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("halfsplit: ")
    assert "Traceback" not in said.err
    in_json = call(*words, "--json")
    assert in_json.code == 2
    assert in_json.data["schema"] == "halfsplit/1"
    assert in_json.data["error"]["type"]
    assert in_json.data["error"]["message"] in in_json.err


@pytest.mark.parametrize("words", WITHOUT_CASE, ids=" ".join)
def test_nonsense_without_a_case(call: Call, words: tuple[str, ...]) -> None:
    refused(call, words)


@pytest.mark.parametrize("words", WITH_CASE, ids=" ".join)
def test_nonsense_leaves_a_case_as_it_was(call: Call, case: str, words: tuple[str, ...]) -> None:
    before = Path(case).read_bytes()
    refused(call, words)
    assert Path(case).read_bytes() == before


def test_the_message_shows_what_was_typed_and_what_is_understood(call: Call, case: str) -> None:
    said = call("enter", "volts TP1 @on", "abt twelvish")
    assert "abt twelvish" in said.err
    assert "0.68" in said.err or "680m" in said.err


def test_the_nearest_name_is_offered(call: Call, case: str) -> None:
    said = call("enter", "volts", "R1.11", "@on", "1", "--json")
    assert said.data["error"]["type"] == "PlaceError"
    assert "R1.1" in said.err
    assert call("board", "plotter-driv", "--json").data["error"]["nearest"] == "plotter-drive"


def test_a_board_that_cannot_be_used_lists_its_problems(call: Call, folder: Path) -> None:
    (folder / "bad.board").write_text("R1 10k A\nfoo bar\n")
    error = call("new", "--board", "bad.board", "--json").data["error"]
    assert error["type"] == "BoardError"
    assert error["problems"]
    assert {"line", "column", "severity", "message", "nearest"} == set(error["problems"][0])


def test_files_that_are_no_case_are_named_as_such(call: Call, folder: Path) -> None:
    (folder / "a.hsplit").write_bytes(b"")
    (folder / "b.hsplit").write_bytes(os.urandom(5000))
    with sqlite3.connect(folder / "c.hsplit") as other:
        other.execute("CREATE TABLE t (x)")
    other.close()
    for name in ("a.hsplit", "b.hsplit", "c.hsplit"):
        said = call("next", name)
        assert said.code == 2
        assert name in said.err


def test_binary_junk_is_no_board(call: Call, folder: Path) -> None:
    (folder / "junk.board").write_bytes(bytes(range(256)) * 20)
    said = call("board", "junk.board", "--json")
    assert said.code in (1, 2)
    assert "Traceback" not in said.err


def test_debug_shows_where_it_went_wrong(call: Call) -> None:
    with pytest.raises(Exception, match="nowhere"):
        call("board", "nowhere", "--debug")


def test_a_message_is_about_what_was_typed(call: Call) -> None:
    assert "did you mean board?" in call("bord", "divider.board").err
    assert "see halfsplit board --help" in call("board", "divider.board", "more").err
    Path("blank.board").write_text("", encoding="utf-8")
    assert call("board", "blank.board").out.startswith("blank.board: error: ")
    assert "Errno" not in call("new", "no/such/x", "--board", "divider.board").err
    assert "reading by hand" not in call("supply").err


def test_only_a_number_that_was_offered_is_taken(call: Call, case: str) -> None:
    offered = call("next", "--count", "7", "--json").data["suggestions"]
    assert len(offered) > 5
    said = call("enter", str(len(offered) + 1), "right")
    assert said.code == 2
    assert f"1 to {len(offered)} as offered, got {len(offered) + 1}" in said.err
    event = call("enter", str(len(offered)), "?", "--json").data["event"]
    assert event["check"] == offered[-1]["id"]


def test_a_number_keeps_its_meaning_or_is_refused(call: Call, case: str, folder: Path) -> None:
    first = call("next", "--json").data["suggestions"][0]["id"]
    # Somebody else answers that check, on a page say, so that another one is the first now.
    with Bench.open(folder / case) as bench:
        bench.write(first, "right")
    said = call("enter", "1", "wrong")
    assert said.code == 2
    assert f"suggestion 1 was {first} when it was offered" in said.err
    call("next")
    assert call("enter", "1", "?").code == 0
