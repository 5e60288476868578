"""Spans: they cover, they tell suspects apart, and they are said in words."""

import numpy as np
import pytest
from tests.checks.fake import HEALTHY, JOINT, R7, F, FakeWorld

from halfsplit.checks.kind import Check, Meter
from halfsplit.checks.meaning import meaning_lines, spans

WORLD = FakeWorld()
METER = Meter()
DRA = Check(kind="volts", places=("U3.6",), state="hold-A")


def test_spans_of_volts() -> None:
    found = spans(DRA, WORLD, METER, WORLD.prior)
    assert 2 <= len(found) <= 4
    assert 0.9 < sum(meaning.probability for meaning in found) <= 1.0 + 1e-9
    right = [meaning for meaning in found if meaning.right]
    assert [meaning.span for meaning in right] == ["0.6 to 0.8 V"]
    for meaning in found:
        assert meaning.faults.shape == (F + 1,)
        assert meaning.faults.sum() == pytest.approx(1.0)
        assert meaning.faults[HEALTHY] == 0.0
    top = found[-1]
    assert top.span == "4.75 to 5.25 V"
    assert int(np.argmax(top.faults)) == JOINT


def test_posteriors_of_spans_average_to_the_belief() -> None:
    """The law of total probability; what is missing is in the spans left out as rare."""
    found = spans(DRA, WORLD, METER, WORLD.prior)
    mixed = sum(meaning.probability * meaning.faults for meaning in found)
    np.testing.assert_allclose(mixed, WORLD.prior, atol=0.02)


def test_lines_name_the_suspects() -> None:
    lines = meaning_lines(DRA, WORLD, METER, WORLD.prior)
    assert any("0.6 to 0.8 V" in line and "right for a good board" in line for line in lines)
    assert lines[-1].startswith("4.75 to 5.25 V")
    assert lines[-1].endswith(": the joint of Q3 b is open")


def test_words_stay_apart_and_ol_is_said() -> None:
    across = Check(kind="ohms", places=("R7.1", "R7.2"))
    last = spans(across, WORLD, METER, WORLD.prior)[-1]
    assert last.span == "OL"
    assert int(np.argmax(last.faults)) == R7
    test = Check(kind="parttest", places=("R7",))
    assert [meaning.span for meaning in spans(test, WORLD, METER, WORLD.prior)] == [
        "passed",
        "failed",
    ]


def test_one_suspect_alone_still_gives_spans() -> None:
    belief = np.zeros(F + 1)
    belief[R7] = 1.0
    for meaning in spans(DRA, WORLD, METER, belief):
        assert int(np.argmax(meaning.faults)) == R7
