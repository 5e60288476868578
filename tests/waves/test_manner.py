"""A good controller written down, and others held against it."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tests.waves.lines import lines_of_cycle
from tests.waves.played import HALF, ONE_ON, TWO_ON

from halfsplit.errors import WaveError
from halfsplit.waves.account import Account, account
from halfsplit.waves.manner import Manner, compare, learn, needed


def played(rng: np.random.Generator, cycle: list[str] = ONE_ON, **more: object) -> Account:
    return account(lines_of_cycle(cycle, rng, **more), phases=4, active_low=False)  # type: ignore[arg-type]


def test_a_sister_that_does_the_same_is_proven_as_far_as_exercised(
    rng: np.random.Generator,
) -> None:
    manner = learn([played(rng), played(rng)])
    assert manner.sequence == "one phase on"
    # Played at 4 ms a step, slower by 1, 3/4, 1/2, 1/4 at first; the first has no interval.
    assert manner.paces[0].seconds == pytest.approx(4e-3 * 1.75, rel=0.05)
    assert manner.cruise is not None
    assert manner.cruise.seconds == pytest.approx(4e-3, rel=0.02)
    found = compare(manner, played(rng))
    assert found.good
    assert found.verdict == (
        "Proven good as far as exercised: 59 steps, both directions, 3 moves, lines A B C D."
    )
    one_way = compare(manner, played(rng, moves=(30,)))
    assert "one direction only" in one_way.verdict


def test_differences_are_told(rng: np.random.Generator) -> None:
    manner = learn([played(rng)])
    slow = compare(manner, played(rng, step=5e-3))
    assert [d.what for d in slow.differences] == ["timing"]
    assert "ms instead of" in slow.differences[0].words
    assert compare(manner, played(rng, HALF)).differences[0].what == "sequence"
    stuck = compare(manner, played(rng, fault="stuck off", which=(1,)))
    assert not stuck.good
    assert stuck.differences[0].what == "stuck off"
    lines = lines_of_cycle(ONE_ON, rng)
    other = account([lines[i] for i in (0, 2, 1, 3)], phases=4, active_low=False)
    assert compare(manner, other).good
    swapped = lines_of_cycle(ONE_ON, rng, fault="swapped", which=(1, 2))
    assert "order" in [
        d.what for d in compare(manner, account(swapped, phases=4, active_low=False)).differences
    ]


def test_without_a_good_unit_the_mechanism_says_what_is_needed(rng: np.random.Generator) -> None:
    assert needed(played(rng, TWO_ON)).good
    assert not needed(played(rng, fault="missing", which=(2,))).good


def test_a_manner_is_kept_as_json(rng: np.random.Generator) -> None:
    manner = learn([played(rng)])
    assert Manner.from_json(json.loads(json.dumps(manner.to_json()))) == manner
    with pytest.raises(WaveError, match="description of a controller"):
        Manner.from_json({"sequence": "one phase on"})


def test_only_good_units_are_learnt_from(rng: np.random.Generator) -> None:
    with pytest.raises(WaveError, match="never comes on"):
        learn([played(rng, fault="stuck off", which=(1,))])
    with pytest.raises(WaveError, match="got none"):
        learn([])
    with pytest.raises(WaveError, match="sequences differ"):
        learn([played(rng), played(rng, HALF)])
