"""Two steps ahead, against trying everything and arithmetic on paper."""

import numpy as np
import pytest

from halfsplit.belief.exact import Case, cheapest
from halfsplit.belief.gain import group_gains
from halfsplit.belief.tables import Tables
from halfsplit.belief.two_steps import two_step_rates

SPLITS = ([1, 0, 0, 0], [1, 1, 0, 0], [1, 0, 1, 0])
"""Of four suspects: one from the rest in 0.8 min, and two halvings in 1 min each."""
MINUTES = np.array([0.8, 1.0, 1.0])


def tables() -> list[np.ndarray]:
    found = []
    for split in SPLITS:
        high = np.array([*split, 0.5], dtype=float)
        found.append(np.stack([1.0 - high, high], axis=1))
    return found


def test_the_better_pair_of_checks_begins_with_the_lesser_one() -> None:
    """One from the rest: 0.811 bit in 0.8 min, more a minute than 1 bit in 1 min; but then
    0.811 + 0.75 x 0.918 bit in 0.8 + 0.75 min, less than the 2 bits of a halving in 1 min and,
    as it falls out, of another in 1 min or the one from the other in 0.8."""
    p, group = np.array([0.25, 0.25, 0.25, 0.25, 0.0]), np.arange(5)
    packed = Tables.pack(tables(), 5)
    single = group_gains(p, group, packed) / MINUTES
    assert int(np.argmax(single)) == 0
    rates = two_step_rates(p, group, packed, [0, 1, 2], [0, 1, 2], MINUTES)
    assert rates == pytest.approx([1.5 / 1.55, 2.0 / 1.9, 2.0 / 1.9], abs=2e-3)
    repair = np.full(4, 10.0)
    best = cheapest(Case(
        p=p[:4], tables=[table[:4] for table in tables()], check_cost=MINUTES,
        cures=np.eye(4), repair_cost=repair, give_up=1e3,
    ))  # fmt: skip
    assert best.first[0] == "check"
    assert best.first[1] in {1, 2}
    assert best.cost == pytest.approx(1.9 + 10.0)


def test_a_check_is_not_followed_by_itself() -> None:
    p, group = np.array([0.5, 0.5, 0.0]), np.arange(3)
    noisy = np.array([[0.8, 0.2], [0.2, 0.8], [0.5, 0.5]])
    packed = Tables.pack([noisy], 3)
    alone = group_gains(p, group, packed)
    assert two_step_rates(p, group, packed, [0], [0], np.ones(1)) == pytest.approx(alone)
