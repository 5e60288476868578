"""A good controller written down, and others held against it."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tests.waves.lines import lines_of_cycle
from tests.waves.played import HALF, ONE_ON, TWO_ON

from halfsplit.errors import WaveError
from halfsplit.waves.account import Account, account
from halfsplit.waves.command import Commanded
from halfsplit.waves.line import Line, line_of_changes
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


DELAY = 30e-6
"""s from a command to its step."""


def told(
    rng: np.random.Generator, fault: str = "", *, low: bool = False, at_end: bool = False
) -> Commanded:
    """A controller that steps 30 us after each rising edge (falling if ``low``), up while DIR is
    high: commands 2 ms apart, 10 us long, 20 up and 15 down. With ``at_end`` that edge ends
    pulses that are not all of one length."""
    ways = [1] * 20 + [-1] * 15
    edges, phases, at, now = [], [(0.0, 0)], 0, 0.02
    for number, way in enumerate(ways):
        now += 2e-3
        edges.append(now)
        if fault == "missed" and number == 7:
            continue
        if fault == "other way":
            way = -way
        at = (at + way) % 4
        late = 4.0 if fault == "slow" and number > 5 else 1.0
        phases.append((now + late * DELAY * (1 + 0.02 * rng.standard_normal()), at))
        if fault == "unasked" and number == 9:
            at = (at + way) % 4
            phases.append((now + 1e-3, at))
    stop = now + 0.05
    times, codes = np.array([t for t, _ in phases]), [ONE_ON[k] for _, k in phases]
    lines = [
        line_of_changes(name, times, np.array([float(code[i]) for code in codes]), stop)
        for i, name in enumerate("ABCD")
    ]
    long = rng.uniform(-40e-6, -5e-6, len(edges)) if at_end else np.full(len(edges), 10e-6)
    pulses = np.sort(np.column_stack([edges, np.array(edges) + long])).ravel()
    step = Line(name="STEP", start=0.0, stop=stop, first=low, edges=pulses)
    # It changes over 100 us before the first edge that goes down.
    down = np.array([edges[20] - 1e-4])
    ways_line = Line(name="DIR", start=0.0, stop=stop, first=True, edges=down)
    return Commanded(account=account(lines, phases=4, active_low=False), step=step, way=ways_line)


def test_what_a_command_brings_is_learnt(rng: np.random.Generator) -> None:
    good = told(rng)
    manner = learn([good.account], [good])
    commands = manner.commands
    assert commands is not None
    assert commands.edge == "rising"
    assert commands.delay == pytest.approx(DELAY, rel=0.02)
    assert commands.spread == pytest.approx(0.02 * DELAY, rel=0.5)
    assert commands.high == "up"
    assert commands.ahead == pytest.approx(1e-4)
    assert commands.seen == 35
    assert Manner.from_json(json.loads(json.dumps(manner.to_json()))) == manner
    for low, at_end in ((True, False), (False, True)):
        other = told(rng, low=low, at_end=at_end)
        falling = learn([other.account], [other]).commands
        assert falling is not None
        assert falling.edge == "falling"
        assert falling.delay == pytest.approx(DELAY, rel=0.02)
    sister = told(rng)
    found = compare(manner, sister.account, sister)
    assert found.good
    assert "told by STEP and DIR" in found.verdict


@pytest.mark.parametrize(
    ("fault", "what"),
    [("missed", "missed"), ("slow", "delay"), ("unasked", "unasked"), ("other way", "direction")],
)
def test_what_a_suspect_does_otherwise_when_told_is_said(
    rng: np.random.Generator, fault: str, what: str
) -> None:
    good, suspect = told(rng), told(rng, fault)
    found = compare(learn([good.account], [good]), suspect.account, suspect)
    assert what in [one.what for one in found.differences]
    assert not found.good


def test_a_line_that_tells_nothing_is_refused(rng: np.random.Generator) -> None:
    good = told(rng)
    clock = Line(
        name="CLK", start=0.0, stop=good.step.stop, first=False,
        edges=np.arange(1, 2000) * good.step.stop / 2000,
    )  # fmt: skip
    with pytest.raises(WaveError, match="is it the STEP line"):
        learn([good.account], [Commanded(account=good.account, step=clock, way=None)])
    with pytest.raises(WaveError, match="leave --step out"):
        compare(learn([good.account]), good.account, good)


def test_only_good_units_are_learnt_from(rng: np.random.Generator) -> None:
    with pytest.raises(WaveError, match="never comes on"):
        learn([played(rng, fault="stuck off", which=(1,))])
    with pytest.raises(WaveError, match="got none"):
        learn([])
    with pytest.raises(WaveError, match="sequences differ"):
        learn([played(rng), played(rng, HALF)])
