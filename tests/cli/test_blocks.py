"""A case that begins as blocks, from the command line: found, opened, and gone on with."""

from pathlib import Path

import pytest
from tests.cli.conftest import Call

from halfsplit.board.source import find_source

INSIDE = "rail +5 5V\nU1 LM393 3=LEV 2=REF 1=TRIP ; spare\nR2 4k7 5% +5 TRIP\n"


@pytest.fixture
def case(folder: Path, call: Call) -> Path:
    for words in (
        ("new", "--board", "level-alarm"),
        ("enter", "symptom alarm lamp @full", "wrong"),
        ("enter", "signal LEV @full", "4.0"),
        ("enter", "signal TRIP @full", "low"),
    ):
        assert call(*words).code == 0
    return folder


def test_a_block_is_opened_and_its_readings_stay(case: Path, call: Call) -> None:
    (case / "b4.txt").write_text(INSIDE, encoding="utf-8")
    before = call("next", "--json").data
    assert before["verdict"]["sentence"].startswith("Open B4 (comparator)")
    said = call("inside", "B4", "b4.txt", "--json").data
    assert said["left_out"] == []
    assert {one["id"] for one in said["suspects"][:3]} & {"U1", "R2", "rail +5"}
    paths = call("path", "--json").data
    assert paths["loops"] == []
    assert paths["paths"][0]["last_good"] == "LEV"
    assert paths["paths"][0]["first_bad"] == "TRIP"


def test_what_is_no_block_is_refused(case: Path, call: Call) -> None:
    (case / "b4.txt").write_text(INSIDE.replace("1=TRIP", "1=OTHER").replace("+5 TRIP", "+5 O"),
                                 encoding="utf-8")  # fmt: skip
    assert "got none on TRIP" in call("inside", "B4", "b4.txt").err
    assert "did you mean B4" in call("inside", "B44", "b4.txt").err
    assert call("inside", "B4").code != 0
    assert len(call("log", "--json").data["events"]) == 4


def test_a_corrected_board_is_gone_on_with(case: Path, call: Call) -> None:
    text = find_source("level-alarm").text.replace("=LEV", "=LEVEL").replace(" LEV=", " LEVEL=")
    (case / "new.board").write_text(text, encoding="utf-8")
    said = call("revise", "--board", "new.board")
    assert said.code == 0
    assert "#3 moves nothing now" in said.out
