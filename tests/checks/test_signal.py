"""What is seen at a block's output: the contract of every kind, and answers as people type them."""

import numpy as np
import pytest
from tests.build.worlds import number, world

from halfsplit.checks.catalogue import parse_check
from halfsplit.checks.kind import Meter, Reading
from halfsplit.checks.signal import KIND
from halfsplit.errors import ReadingError, UnknownName

BOARD = """\
board "signals"
B1 block "clock" out 1=CLK
B2 block "divider" in 1=CLK out 2=DIV 3=LEV tolerance=5
B3 block "driver" in 1=DIV 2=LEV out 4=OUT
output "end" right OUT
state run CLK=pulses LEV=4V DIV=low
"""
WORLD, METER = world(BOARD), Meter()


def word(check: str, text: str) -> str:
    return KIND.read(parse_check(f"signal {check}", WORLD), text, WORLD).word


def test_table_and_likelihood_are_one_model() -> None:
    checks = KIND.offers(WORLD)
    assert [check.id for check in checks] == [
        f"signal net {net} @run" for net in ("CLK", "DIV", "LEV", "OUT")
    ]
    for check, table in zip(checks, KIND.outcomes(checks, WORLD, METER), strict=True):
        np.testing.assert_allclose(table.p.sum(axis=1), 1.0)
        assert (table.p > 0.0).all()
        for o, label in enumerate(table.labels):
            got = KIND.likelihood(check, KIND.read(check, label, WORLD), WORLD, METER)
            np.testing.assert_allclose(got[:-1], table.p[:, o], atol=1e-9)
        with pytest.raises(UnknownName, match="answer"):
            KIND.likelihood(check, Reading(text="x", word="purple"), WORLD, METER)
        assert KIND.sentence(check, WORLD).endswith("?")
        assert KIND.cautions(check, WORLD)


def test_a_stage_is_wrong_when_one_before_it_is() -> None:
    check = parse_check("signal OUT", WORLD)
    bad = KIND.likelihood(check, KIND.read(check, "bad", WORLD), WORLD, METER)
    for fault in ("B1 dead", "B2 dead", "B3 dead"):
        assert bad[number(WORLD, fault)] > 0.9, fault
    assert bad[0] < 0.01


@pytest.mark.parametrize(
    ("check", "text", "told"),
    [
        ("CLK", "pulses", "good"), ("CLK", "toggling", "good"), ("CLK", "stuck high", "bad"),
        ("CLK", "stuck low", "bad"), ("CLK", "dead", "bad"), ("CLK", "looks right", "good"),
        ("DIV", "low", "good"), ("DIV", "high", "bad"), ("DIV", "pulsing", "bad"),
        ("DIV", "0.4V", "good"), ("DIV", "3.6", "bad"), ("LEV", "4.15", "good"),
        ("LEV", "4.3", "bad"), ("LEV", "4.1V", "good"), ("LEV", "about 4", "good"),
        ("LEV", "under 1", "bad"),
        ("LEV", "somewhere under a volt", "bad"), ("LEV", "3.9-4.2", "good"),
        ("OUT", "ok", "good"), ("OUT", "distorted", "bad"),
    ],
)  # fmt: skip
def test_answers(check: str, text: str, told: str) -> None:
    assert word(check, text) == told


def test_a_span_that_is_in_and_out_tells_nothing() -> None:
    """Nor does what no input surely takes: from 0.8 to 2.0 V (7400 series data sheets)."""
    for check, text in (("LEV", "more than 3"), ("DIV", "1.4"), ("DIV", "under 1")):
        assert KIND.read(parse_check(f"signal {check}", WORLD), text, WORLD).nothing


@pytest.mark.parametrize(("check", "text"), [("OUT", "low"), ("OUT", "3.3V"), ("OUT", "purple")])
def test_what_cannot_be_judged_is_asked_again(check: str, text: str) -> None:
    with pytest.raises(ReadingError, match="good"):
        word(check, text)
