"""Which states step a motor, and what faults make of it."""

import numpy as np
import pytest
from tests.motion.boards import FOUR, compiled

from halfsplit.build.motion import follows_home, steady, stepper_of, steppers, turns
from halfsplit.build.motion_run import commanded, play, play_steady
from halfsplit.build.motion_symptom import symptoms, unknown_mechanism
from halfsplit.errors import MotionError
from halfsplit.motion.judge import RUNS, WORDS, Errand

WORLD = compiled()
[STEPPER] = steppers(WORLD)
ROW = {fault.id: row for row, fault in enumerate(WORLD.faults)}


def test_the_states_that_step_it_are_found() -> None:
    assert STEPPER.windings == ("L1", "L2", "L3", "L4")
    assert STEPPER.states == ("one", "two", "three", "four")
    assert STEPPER.size == 1.0
    assert STEPPER.first == pytest.approx(0.0, abs=1e-6)
    assert not STEPPER.bipolar
    # 24 V less about a volt of the Darlington, over 60 ohm
    assert STEPPER.amps == pytest.approx(23.1 / 60.0, rel=0.02)


def test_another_order_of_windings_and_a_wrong_one() -> None:
    windings = STEPPER.windings
    swapped = stepper_of(WORLD, windings, order=("L1", "L3", "L2", "L4"))
    assert swapped is not None
    assert swapped.states == ("one", "three", "two", "four")
    with pytest.raises(MotionError, match="expected the windings"):
        stepper_of(WORLD, windings, order=("L1", "L2"))


def test_half_steps_are_half_steps() -> None:
    more = "\n".join(
        f"state {name} {' '.join(f'{x}={v}' for x, v in zip('ABCD', levels, strict=True))} S1=open"
        for name, levels in (
            ("ab", ("high", "high", "low", "low")), ("bc", ("low", "high", "high", "low")),
            ("cd", ("low", "low", "high", "high")), ("da", ("high", "low", "low", "high")),
        )
    )  # fmt: skip
    [found] = steppers(compiled(FOUR + more + "\n"))
    assert found.size == 0.5
    assert found.states == ("one", "ab", "two", "bc", "three", "cd", "four", "da")


def test_a_home_sensor_and_the_faults_that_hide_it() -> None:
    found = follows_home(WORLD)
    assert found is not None
    name, follows = found
    assert name == "home"
    assert follows[0]
    assert not follows[ROW["S1 open"]]
    assert follows[ROW["Q1 c short to e"]]


def test_words_for_faults() -> None:
    """A phase driven at the wrong time: it does not step properly and buzzes; no supply: dead
    (common practice, no source). A winding pulls by its ampere-turns, so half the turns at twice
    the current move it: "shorted turns still move"."""
    found = symptoms(WORLD, STEPPER)
    words = dict(zip(WORDS, found.words.T, strict=True))
    assert words["runs"][0] == 1.0
    assert words["buzzes"][ROW["Q2 c short to e"]] > 0.6
    assert words["dead"][ROW["+24 missing"]] == 1.0
    assert words["runs"][ROW["Q2 c open"]] < 0.3
    assert words["runs"][ROW["L1 half the turns"]] > 0.5
    assert words["runs"][ROW["S1 open"]] == 1.0
    assert words["buzzes"][ROW["L1 mechanism binds"]] == pytest.approx(0.4)
    np.testing.assert_allclose(found.words.sum(axis=1), 1.0)
    assert turns(WORLD, STEPPER)[ROW["L1 half the turns"]].tolist() == [0.5, 1.0, 1.0, 1.0]


def test_the_quick_way_and_the_true_waveforms_say_the_same() -> None:
    """What settles in each state, with exponentials, against the transient engine: one word, and
    the same place where it runs. Only the clamp differs: a diode to the supply, not a zener."""
    names = ["healthy", "Q2 c short to e", "L1 half the turns", "+24 missing", "U1 2 stuck low"]
    errand = Errand.make(12, 4, 60.0, rest=0.04)
    unit = unknown_mechanism(STEPPER)
    true = play(WORLD, STEPPER, unit, errand, names)
    rows = [ROW[name] for name in names]
    quick = play_steady(STEPPER, unit, errand, steady(WORLD, STEPPER)[rows], names)
    assert not true.unresolved.any()
    words = [WORDS[k] for k in true.judged.word]
    assert words == ["runs", "buzzes", "runs", "dead", "runs"]
    assert words == [WORDS[k] for k in quick.judged.word]
    runs = true.judged.word == RUNS
    np.testing.assert_allclose(true.judged.up[runs], quick.judged.up[runs], atol=0.1)
    asked = commanded(true, STEPPER)
    assert asked.max() == 12.0
    assert asked[-1] == 0.0
    np.testing.assert_allclose(true.done.landings[errand.far, 0], 12.0, atol=0.3)
