"""Recorded lines: chances counted out over all patterns, words, and what is offered.

Expected chances come from enumeration (every pattern of levels, its probability the product of the
levels'), and for one reading from scipy's normal distribution.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm
from tests.checks.fake import JOINT, R7, U3, FakeWorld

from halfsplit.checks._line_chances import Chances, _patterns
from halfsplit.checks._line_words import LINE_WORDS, RIGHT, SEVERAL, Finding, labels, line_word
from halfsplit.checks._recorded import Stage
from halfsplit.checks.capture import KIND
from halfsplit.checks.kind import Check, Meter
from halfsplit.errors import ReadingError

WORLD = FakeWorld()
LEVELS = (1.0, 0.5, 0.0)
NETS = ("DA", "DB", "DC")


def word_of(pattern: tuple[float, ...], active: tuple[bool, ...]) -> str:
    return "undefined" if 0.5 in pattern else line_word(pattern, active)


@given(
    active=st.lists(st.booleans(), min_size=1, max_size=5),
    seed=st.integers(0, 2**32 - 1),
)
def test_words_share_out_all_patterns(active: list[bool], seed: int) -> None:
    p = np.random.default_rng(seed).dirichlet((1.0, 1.0, 1.0), size=len(active))
    counted = dict.fromkeys((RIGHT, *LINE_WORDS), 0.0)
    for pattern in product(range(3), repeat=len(active)):
        chance = float(np.prod([p[s, level] for s, level in enumerate(pattern)]))
        shown = tuple(LEVELS[level] for level in pattern)
        counted[word_of(shown, tuple(active))] += chance
    on, off = p[None, :, None, 0], p[None, :, None, 2]
    found = _patterns(on, off, np.array(active)[:, None])
    for word, chance in counted.items():
        assert found[word][0, 0] == pytest.approx(chance, abs=1e-9), word


def one_hot(n: int) -> Stage:
    healthy = np.vstack((np.zeros((1, n), dtype=bool), np.eye(n, dtype=bool)))
    return Stage(
        places=NETS[:n], nets=NETS[:n], states=("rest", "a", "b", "c")[: n + 1], healthy=healthy,
        on=np.ones(n, dtype=bool), below=np.full(n, 0.8), above=np.full(n, 2.0),
        swings=np.tile([[0.2], [3.5]], n),
    )  # fmt: skip


def test_pairs_and_all_lines_are_counted_out() -> None:
    stage = one_hot(3)
    p = np.random.default_rng(5).dirichlet((4.0, 0.3, 4.0), size=(1, 4, 3))
    on, off = p[..., 0], p[..., 2]
    words = _patterns(on, off, stage.active)
    model = Chances(stage=stage, words=words, on=on, off=off, resets=np.zeros(1))
    counted = {"shorted": 0.0, "swapped": 0.0}
    due = [tuple(row) for row in stage.active.T]
    third = float(np.where(stage.active[:, 2], on[0, :, 2], off[0, :, 2]).prod())
    for one, two in product(product((True, False), repeat=4), repeat=2):
        levels = np.array([one, two]).T
        chance = third * float(np.where(levels, on[0, :, :2], off[0, :, :2]).prod())
        if one == two and one in {(False,) * 4, (False, True, True, False)}:
            counted["shorted"] += chance
        if one == due[1] and two == due[0]:
            counted["swapped"] += chance
    for word in ("shorted", "swapped"):
        got = model.of(Finding(pair=(word, 0, 1)))[0]
        assert got == pytest.approx(counted[word], rel=1e-9)
    assert model.of(Finding(whole="all stuck on"))[0] == pytest.approx(float(on.prod()), rel=1e-9)
    seen = model.of(Finding(odd=((0, "stuck off"),), absent=frozenset({2})))[0]
    right = np.where(stage.active[:, 1], on[0, :, 1], off[0, :, 1]).prod()
    assert seen == pytest.approx(off[0, :, 0].prod() * right, rel=1e-9)


def test_one_line_by_the_normal_distribution() -> None:
    """DRA of the made-up board: 0.70 V in hold-A, 0.15 V in idle; its own two levels count."""
    check = Check(kind="capture", places=("U3.6",))
    row = KIND.likelihood(check, KIND.read(check, "stuck off", WORLD), WORLD, Meter())
    swing = 0.55
    sigma = np.hypot(0.03, 0.01 + 0.03 * swing)
    below = 0.15 + 0.4 * swing
    # in both states
    for fault, volts in ((R7, np.array([0.0, 0.05])), (U3, np.array([0.15, 0.15]))):
        wanted = norm.cdf((below - volts) / sigma).prod()
        assert row[fault] == pytest.approx(0.98 * wanted + 0.02 / 10, abs=2e-3)
    assert row[R7] > 50 * row[JOINT]
    assert (row > 0.0).all()


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ("ok", "right"),
        ("DA is stuck off", "DA stuck off"),
        ("da never on, dc LATE", "DA stuck off, DC late"),
        ("DA stuck low", "DA stuck off"),
        ("DB always high; DC not recorded", "DB stuck on, DC not recorded"),
        ("DC and DA shorted together", "DA and DC shorted"),
        ("DA and DC swapped, DB glitches", "DB glitching, DA and DC swapped"),
        ("resets", "reset"),
        ("many", "several"),
    ],
)
def test_what_is_typed(said: str, text: str) -> None:
    finding = Finding.read(said, NETS, (True,) * 3)
    assert finding.text(NETS) == text
    assert Finding.read(text, NETS, (True,) * 3) == finding


def test_every_label_is_read_back() -> None:
    for n in (1, 2, 3):
        for one in labels(NETS[:n]):
            assert Finding.read(one.text(NETS[:n]), NETS[:n], (True,) * n) == one
    assert labels(NETS)[-1].whole == SEVERAL


@pytest.mark.parametrize(
    "said",
    ["stuck on", "DA purple", "DA late, DA missing", "DA shorted", "right, , ok", "reset, x"],
)
def test_what_is_not_understood(said: str) -> None:
    with pytest.raises(ReadingError, match="a line and a word, such as DA stuck off"):
        Finding.read(said, NETS, (True,) * 3)


def test_the_lines_of_one_channel_are_offered_with_an_exercise() -> None:
    offered = {check.places[0] for check in KIND.offers(WORLD)}
    assert {"TP1", "U3.5"} <= offered
    check = Check(kind="capture", places=("TP1",))
    said = KIND.sentence(check, WORLD)
    assert "hold-A 4ms, idle x2 2ms, hold-A 4ms" in said
    assert "10 kHz or more" in said  # 20 samples of a step of 2 ms
    assert KIND.expected(check, WORLD, Meter()) == "DRA high in hold-A"
