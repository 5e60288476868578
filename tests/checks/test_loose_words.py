"""Vague words where a level or a voltage is asked for. Common practice, no source."""

import numpy as np
import pytest
from tests.build.worlds import number, world

from halfsplit.checks.catalogue import parse_check
from halfsplit.checks.kind import Meter
from halfsplit.checks.level import KIND as LEVEL
from halfsplit.checks.symptom import KIND as SYMPTOM
from halfsplit.checks.volts import KIND as VOLTS

BOARD = """\
board "one gate"
rail +5 5V
U1 74LS04 1=A 2=Y
R1 10k Y GND
offsheet A drive 74LS
output "lit" current R1 above 0.2mA
state low A=low
state high A=high
"""
WORLD = world(BOARD)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("low", None, 0.8), ("low-ish", None, 2.0), ("high, I think", 2.0, None),
        ("highish", 0.8, None), ("at the rail", 4.5, 5.5), ("half rail", 2.0, 3.0),
    ],
)  # fmt: skip
def test_volts_in_words(text: str, low: float | None, high: float | None) -> None:
    """TTL takes below 0.8 V as low and above 2.0 V as high (7400 series data sheets)."""
    reading = VOLTS.read(parse_check("volts U1.2 @low", WORLD), text, WORLD)
    assert reading.value is None
    assert [reading.low, reading.high] == [
        end if end is None else pytest.approx(end) for end in (low, high)
    ]


def test_a_vague_level_is_one_of_two() -> None:
    check = parse_check("level U1.2 @low", WORLD)
    given = {
        text: LEVEL.likelihood(check, LEVEL.read(check, text, WORLD), WORLD, Meter())
        for text in ("low", "undefined", "high", "low-ish", "not low")
    }
    np.testing.assert_allclose(given["low-ish"], given["low"] + given["undefined"])
    np.testing.assert_allclose(given["not low"], given["high"] + given["undefined"])


@pytest.mark.parametrize(
    ("text", "word"),
    [("probably low", "low"), ("low?", "low"), ("stuck high", "high"), ("mostly low", "low"),
     ("nothing lit", "undefined")],
)  # fmt: skip
def test_an_unsure_word_is_that_word(text: str, word: str) -> None:
    assert LEVEL.read(parse_check("level U1.2 @low", WORLD), text, WORLD).word == word


def test_an_output_that_barely_works_is_weak() -> None:
    check = parse_check("symptom lit @low", WORLD)
    for text in ("barely", "weakly", "twitches", "hardly"):
        assert SYMPTOM.read(check, text, WORLD).word == "weak"


def test_a_vague_answer_tells_less_than_a_number() -> None:
    """It tells an open output from a stuck one no better, and both from a high one still."""
    check = parse_check("volts U1.2 @low", WORLD)
    odds = {}
    for text in ("0.15", "low-ish"):
        got = VOLTS.likelihood(check, VOLTS.read(check, text, WORLD), WORLD, Meter())
        low, high = (got[number(WORLD, f"U1 2 stuck {way}")] for way in ("low", "high"))
        odds[text] = low / high
    assert 10.0 < odds["low-ish"] < odds["0.15"]
