"""The fields that docs/json.md promises are there, and are written down there."""

import json
import math
from pathlib import Path

import pytest
from tests.cli.conftest import Call

from halfsplit.cli.command import in_order
from halfsplit.diagnose.views import plain_json

PAGE = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")

SUGGESTION = {
    "number", "id", "kind", "place", "places", "state", "setup", "sentence", "unit", "words",
    "minutes", "gain_bits", "setup_minutes", "risk_minutes", "why", "meanings", "cautions",
    "expected",
}  # fmt: skip
SUSPECT = {
    "id", "repair", "designator", "probability", "minutes", "price", "faults", "summary",
    "raised_by", "lowered_by",
}  # fmt: skip
VERDICT = {"kind", "sentence", "probability", "order", "ties", "contradiction"}
EVENT = {
    "number", "at", "kind", "words", "takes_back", "check", "unit", "reading", "surprise_bits",
    "counts", "why_not", "source",
}  # fmt: skip
READING = {"text", "value", "word", "low", "high", "nothing"}


def fields(call: Call, *words: str) -> set[str]:
    data = call(*words, "--json").data
    assert data.pop("schema") == "halfsplit/1"
    return set(data)


def test_fields_of_every_answer(call: Call, case: str) -> None:
    assert fields(call, "board", "divider.board") == {
        "source", "title", "revision", "good", "errors", "warnings", "counts", "problems",
    }  # fmt: skip
    assert fields(call, "faults", "divider.board") == {"title", "faults", "something_else"}
    assert fields(call, "expect", "divider.board") == {"title", "expected"}
    assert fields(call, "new", "other", "--board", "divider.board") == {"case", "title", "event"}
    assert fields(call, "next", case) == {
        "title", "last_event", "verdict", "suggestions", "suspects",
    }  # fmt: skip
    assert fields(call, "enter", case, "volts TP1 @on", "5") == {
        "event", "surprise_bits", "verdict", "suspects", "next",
    }  # fmt: skip
    assert fields(call, "suspects", case) == {
        "title", "last_event", "suspects", "ruled_out", "would_change",
    }  # fmt: skip
    assert fields(call, "log", case) == {"title", "events"}
    assert fields(call, "note", case, "words") == {"event"}
    assert fields(call, "undo", case) == {"event", "taken_back"}


def test_fields_inside_the_answers(call: Call, case: str) -> None:
    call("enter", "volts TP1 @on", "5")
    shown = call("next", "--json").data
    assert {frozenset(one) for one in shown["suggestions"]} == {frozenset(SUGGESTION)}
    assert set(shown["verdict"]) == VERDICT
    assert len(shown["suspects"]) == 5
    assert {frozenset(one) for one in shown["suspects"]} == {frozenset(SUSPECT)}
    found = call("suspects", "--json").data["suspects"][0]
    assert set(found["faults"][0]) == {"id", "words", "probability"}
    assert set(found["raised_by"][0]) == {"entry", "bits", "sentence"}
    events = call("log", "--json").data["events"]
    assert {frozenset(one) for one in events} == {frozenset(EVENT)}
    assert set(events[1]["reading"]) == READING
    fault = call("faults", "divider.board", "--json").data["faults"][0]
    assert set(fault) == {"id", "suspect", "words", "prior", "rate", "source"}
    expected = call("expect", "divider.board", "--json").data["expected"][0]
    assert set(expected) == {
        "place", "net", "state", "mean", "spread", "other", "floating", "unresolved", "differs",
    }  # fmt: skip


@pytest.mark.parametrize("name", sorted(SUGGESTION | SUSPECT | VERDICT | EVENT | READING))
def test_field_is_written_down(name: str) -> None:
    assert f"`{name}`" in PAGE or f".{name}`" in PAGE


@pytest.mark.parametrize("command", in_order(), ids=lambda command: command.name)
def test_command_is_written_down(command: object) -> None:
    name = getattr(command, "name", "")
    headings = [line for line in PAGE.splitlines() if line.startswith("## ")]
    assert name == "repair" or any(name in heading for heading in headings)


def test_numbers_that_json_does_not_have() -> None:
    # RFC 8259, section 6: infinity and not-a-number cannot be written.
    data = plain_json({"a": [math.nan, math.inf, -math.inf, 1.5, 2, True, None, "x"]})
    assert data == {"a": [None, "open", "-open", 1.5, 2, True, None, "x"]}
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_an_open_reading_comes_back_from_the_log(call: Call, case: str) -> None:
    call("enter", "ohms R1.1 : R1.2", "OL")
    reading = call("log", "--json").data["events"][-1]["reading"]
    assert reading["text"] == "OL"
    assert "open" in (reading["value"], reading["low"], reading["high"])
