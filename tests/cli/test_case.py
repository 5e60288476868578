"""A case through the real command line, on a divider that can be worked out on paper."""

from pathlib import Path

import pytest
from tests.cli.conftest import Call


def test_a_repair_from_the_first_reading_to_the_suspect(call: Call, case: str) -> None:
    first = call("next", "--json").data
    assert first["suggestions"][0]["kind"] == "symptom"
    # Ohm's law: with R2 open no current flows, so the whole rail is at the middle.
    after = call("enter", "volts TP1 @on", "5.0", "--json").data
    assert after["event"]["reading"]["value"] == 5.0
    assert after["surprise_bits"] > 1.0
    assert after["suspects"][0]["id"] == "R2"
    # The resistor alone: open, measured out of every doubt about its joints.
    last = call("enter", "ohms", "R2.1", ":", "R2.2", "OL", "--json").data
    found = call("suspects", "--json").data["suspects"]
    assert found[0]["id"] == "R2"
    assert found[0]["probability"] == pytest.approx(last["suspects"][0]["probability"])
    assert found[0]["faults"][0]["id"] == "R2 open"
    assert {reason["entry"] for reason in found[0]["raised_by"]} == {2, 3}
    last = call("enter", "parttest R2", "failed", "--json").data
    assert last["verdict"]["kind"] == "repair"
    assert last["verdict"]["order"][0]["suspect"] == "R2"


def test_probabilities_of_all_suspects_sum_to_one(call: Call, case: str) -> None:
    call("enter", "volts TP1 @on", "0.0")
    found = call("suspects", "--json").data["suspects"]
    assert sum(one["probability"] for one in found) == pytest.approx(1.0)
    for one in found:
        assert sum(f["probability"] for f in one["faults"]) <= one["probability"] + 1e-9


def test_a_suggestion_may_be_named_by_its_number_or_its_id(call: Call, case: str) -> None:
    offered = call("next", "--json").data["suggestions"]
    assert [one["number"] for one in offered] == list(range(1, len(offered) + 1))
    by_number = call("enter", "1", "right", "--json").data["event"]
    assert by_number["check"] == offered[0]["id"]
    assert (
        call("enter", offered[0]["id"], "right", "--json").data["event"]["check"]
        == (offered[0]["id"])
    )


@pytest.mark.parametrize(
    "words",
    [
        ("--kind", "volts", "--place", "TP1", "--state", "on", "2.5V"),
        ("volts", "tp1", "@on", "2.5", "V"),
        ("volts TP1", "2.5"),
        ("divider.hsplit", "volts TP1 @on", "2500m"),
    ],
)
def test_ways_to_say_the_same_reading(call: Call, case: str, words: tuple[str, ...]) -> None:
    event = call("enter", *words, "--json").data["event"]
    assert event["check"] == "volts TP1 @on"
    assert event["reading"]["value"] == 2.5


def test_a_negative_reading_is_no_option(call: Call, case: str) -> None:
    for typed in ("-0.1", "-0.1V", "-100mV", "-100 mV"):
        said = call("enter", "volts TP1 @on", typed, "--json")
        assert said.data["event"]["reading"]["value"] == -0.1


def test_could_not_tell_is_logged_and_moves_nothing(call: Call, case: str) -> None:
    before = call("suspects", "--json").data["suspects"]
    assert call("enter", "volts TP1 @on", "?", "--json").data["event"]["reading"]["nothing"]
    after = call("suspects", "--json").data["suspects"]
    assert [one["probability"] for one in after] == pytest.approx(
        [one["probability"] for one in before]
    )


def test_undo_and_undo_of_the_undo(call: Call, case: str) -> None:
    before = call("suspects", "--json").data["suspects"]
    call("enter", "volts TP1 @on", "5.0")
    moved = call("suspects", "--json").data["suspects"]
    undone = call("undo", "--json").data
    assert undone["event"]["takes_back"] == undone["taken_back"]["number"] == 2
    assert call("suspects", "--json").data["suspects"] == before
    call("undo", str(undone["event"]["number"]))
    assert call("suspects", "--json").data["suspects"] == moved
    events = call("log", "--json").data["events"]
    assert [(e["kind"], e["counts"]) for e in events] == [
        ("board", True), ("reading", True), ("undo", False), ("undo", True),
    ]  # fmt: skip


def test_undo_of_an_earlier_entry_keeps_the_later(call: Call, case: str) -> None:
    call("enter", "volts TP1 @on", "5.0")
    call("enter", "ohms R2.1 : R2.2", "10k")
    call("undo", "2")
    events = call("log", "--json").data["events"]
    assert [e["number"] for e in events if e["counts"]] == [1, 3, 4]
    # What is left: R2 measures good, so it is not the one.
    found = {one["id"]: one for one in call("suspects", "--json").data["suspects"]}
    assert found["R2"]["lowered_by"][0]["entry"] == 3


def test_a_note_is_kept_in_the_log(call: Call, case: str) -> None:
    assert call("note", "smells", "of", "burnt", "lacquer").code == 0
    last = call("log", "--json").data["events"][-1]
    assert (last["kind"], last["words"]) == ("note", "smells of burnt lacquer")
    assert "smells of burnt lacquer" in call("log").out


def test_an_output_is_answered_by_the_words_for_what_it_does(call: Call, case: str) -> None:
    first = call("next", "--json").data["suggestions"][0]
    assert first["id"] == "symptom middle @on", "a voltage, so it is on, weak or off"
    assert set(first["words"]) == {"on", "weak", "off", "right", "wrong"}
    assert "sure logic" not in call("next").out


def test_text_for_persons_names_the_first_suspect_and_the_check(call: Call, case: str) -> None:
    said = call("enter", "volts TP1 @on", "5.0").out
    assert "volts TP1 @on: 5 V" in said
    shown = call("next").out
    assert call("next", "--json").data["suggestions"][0]["id"] in shown
    assert "replace R2" in shown
    assert "\x1b" not in shown


def test_case_may_be_left_out_only_when_it_is_clear(call: Call, case: str, folder: Path) -> None:
    call("new", "second", "--board", "divider.board")
    assert (folder / "second.hsplit").exists()
    said = call("next")
    assert said.code == 2
    assert "divider.hsplit" in said.err
    assert "second.hsplit" in said.err
    assert call("next", "second").code == 0
    for made in folder.glob("*.hsplit"):
        made.unlink()
    assert "halfsplit new" in call("next").err


def test_a_case_is_never_overwritten(call: Call, case: str) -> None:
    call("note", "here first")
    said = call("new", "--board", "divider.board")
    assert said.code == 2
    assert call("log", "--json").data["events"][-1]["words"] == "here first"
