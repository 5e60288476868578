"""What was ruled out and how firmly, and what would change the verdict, on a tiny world."""

import pytest
from tests.diagnose.fakes import check, kind, start, word, world

from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.reasons import ruled_out, would_change
from halfsplit.diagnose.session import Session

A, B, C = check("volts", "TP1", "run"), check("volts", "TP2", "run"), check("volts", "TP3", "run")
WORDS = ("low", "high")


def session() -> Session:
    board = world({"R1 open": 6.0, "R2 open": 3.0, "R3 open": 1.0})
    volts = kind(
        "volts",
        {
            A: (WORDS, ["low", "low", "high", "high"]),
            B: (WORDS, ["low", "low", "high", "high"]),
            C: (WORDS, ["low", "low", "low", "high"]),
        },
    )
    return start(board, volts)


def test_nothing_is_ruled_out_at_the_start() -> None:
    assert ruled_out(session()) == ()


def test_one_reading_rules_out_and_is_named() -> None:
    (one,) = ruled_out(session().enter(A, word("high")))
    assert (one.suspect, one.by) == ("R1 open", 1)
    assert one.bits > 4.0
    assert "by #1 (volts TP1 @run: high) above all" in one.sentence


def test_two_readings_rule_out_firmly() -> None:
    (one,) = ruled_out(session().enter(A, word("high")).enter(B, word("high")))
    assert "firmly" in one.sentence
    assert one.now < 0.001


def test_the_check_that_would_take_the_lead_is_told() -> None:
    """R2 leads R3 by 3 to 1; only TP3 tells them apart, and says R3 in about a quarter."""
    told = session().enter(A, word("high")).enter(B, word("high"))
    changes = would_change(told, look_ahead(told))
    assert [one.check for one in changes] == [C]
    assert changes[0].then == "R3 open"
    assert changes[0].chance == pytest.approx(0.25, abs=0.04)
    assert "takes the lead from R2 open" in changes[0].sentence
