"""What a coil's end does when it is switched off, and what that says about its clamp."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.transient import run
from halfsplit.build.transient_schedule import read_schedule
from halfsplit.capture.record import Analog, Record
from halfsplit.checks._switched import SwitchedKind, shape, switched
from halfsplit.checks.kind import Check, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.captured import nets_of_channels, read_capture
from halfsplit.errors import ReadingError
from halfsplit.parts.vocabulary import PartsVocabulary

BOARD = """\
board "Coil on a transistor, a diode across it" rev A
rail +5 5V
rail +24 24V
offsheet IN drive 74LS
R1 1k IN B
Q1 TIP120 c=OUT b=B e=GND
L1 winding 56 inductance=90mH OUT +24
D1 1N4004 a=OUT k=+24
output "coil" current L1 above 100mA
state off IN=low
state on IN=high
"""
PLACE = "net OUT"
PLAYED = "off 20ms, on/off x4 20ms, off 20ms"


@cache
def world() -> Compiled:
    return compile_board(read_board(BOARD, PartsVocabulary()))


def row(name: str) -> int:
    return [fault.id for fault in world().faults].index(name)


def kind(name: str) -> SwitchedKind:
    found = CHECKS.get(name)
    assert isinstance(found, SwitchedKind)
    return found


def test_a_decay_rests_after_its_logarithm() -> None:
    """From 36 V to 24 V with a time constant of 2 ms, before that on at 1 V: within 2.3 V, a tenth
    of the swing, after tau ln(12 / 2.3)."""
    time = np.linspace(-0.01, 0.03, 40_001)
    volts = np.where(time < 0.0, 1.0, 24.0 + 12.0 * np.exp(-time / 2e-3))
    found = shape(time, volts[None], -1e-4)
    assert found.peak[0] == pytest.approx(36.0, abs=0.01)
    assert found.settle[0] == pytest.approx(2e-3 * math.log(12.0 / 2.3), rel=0.01)
    flat = shape(time, np.full((1, time.size), 5.0), 0.0)
    assert np.isnan(flat.settle[0])
    assert flat.peak[0] == 5.0


def test_a_clamp_holds_a_coil_to_a_diode_above_its_supply() -> None:
    """A diode drops 0.6 to 1.1 V (1N4004, data sheets); its current dies away with the coil's L/R
    (P. Horowitz and W. Hill, The Art of Electronics, 2nd ed., 1.31), and without the diode the
    transistor breaks down above its rated 60 V (TIP120, data sheets)."""
    found = switched(PLACE, world())
    assert 24.6 <= found.peak[0] <= 25.1
    assert found.peak[row("D1 open")] > 60.0
    assert found.peak[row("D1.a joint open")] > 60.0
    stuck = found.peak[row("Q1 c short to e")]
    assert stuck < 1.0
    assert np.isnan(found.settle[row("Q1 c short to e")])


def test_a_missing_clamp_is_told_by_its_peak() -> None:
    peak, check = kind("peak"), Check(kind="peak", places=(PLACE,))
    p = peak.likelihood(check, peak.read(check, "80V", world()), world(), Meter())
    assert p[row("D1 open")] > 20.0 * p[0]
    p = peak.likelihood(check, peak.read(check, "24.8", world()), world(), Meter())
    assert p[0] > 20.0 * p[row("D1 open")]
    said = peak.expected(check, world(), Meter())
    low, high = (float(word) for word in said.removesuffix(" V").split(" to "))
    assert low < 24.8 < high < 35.0
    assert "play: off 4ms, on 2ms" not in peak.sentence(check, world())
    assert "play: off" in peak.sentence(check, world())


@pytest.mark.parametrize("name", ["peak", "settle"])
def test_the_kinds_hold_to_the_contract(name: str) -> None:
    own, check = kind(name), Check(kind=name, places=(PLACE,))
    (table,) = own.outcomes([check], world(), Meter())
    np.testing.assert_allclose(table.p.sum(axis=1), 1.0, atol=1e-9)
    assert (table.p > 0.0).all()
    nothing = own.likelihood(check, own.read(check, "?", world()), world(), Meter())
    np.testing.assert_array_equal(nothing, 1.0)
    assert own.offers(world()) == []
    for text in ("nonsense", "-3"):
        with pytest.raises(ReadingError):
            own.read(check, text, world())


def record(fault: str, each: float) -> Record:
    """The collector under a fault, as a scope samples it, the exercise 5 ms into the record."""
    schedule = read_schedule(PLAYED)
    played = run(world(), schedule, faults=[fault], places=[PLACE])
    time = np.arange(0.0, schedule.seconds, each)
    volts = np.interp(np.maximum(time - 5e-3, 0.0), played.time, played.volts[PLACE][0])
    noise = np.random.default_rng(1).normal(0.0, 0.05, time.size)
    channel = Analog(name="OUT", unit="V", samples=(volts + noise).astype(np.float32), step=each)
    return Record(source="x", begin=0.0, end=float(time[-1]), channels=(channel,))


def test_a_capture_gives_peak_and_time_to_rest() -> None:
    for fault in ("healthy", "D1 open"):
        capture = record(fault, 20e-6)
        nets = nets_of_channels(capture, world())
        found = read_capture(capture, nets, world(), read_schedule(PLAYED))
        told = {one.check.kind: one for one in found.measured}
        due = switched(PLACE, world())
        shown = kind("peak").read(told["peak"].check, told["peak"].text, world()).value
        assert shown is not None
        assert shown == pytest.approx(due.peak[row(fault)], rel=0.12)
        if "settle" in told:
            rests = kind("settle").read(told["settle"].check, told["settle"].text, world()).value
            assert rests == pytest.approx(due.settle[row(fault)], rel=0.4)
    assert "settle" in told or told["peak"].text.startswith("over")


@pytest.mark.parametrize(("each", "range_"), [(2e-3, 200.0), (20e-6, 40.0)])
def test_a_coarse_or_clipped_record_gives_a_bound(each: float, range_: float) -> None:
    capture = record("D1 open", each)
    (channel,) = capture.analog
    samples = np.minimum(channel.samples, np.float32(range_))
    capture = replace(capture, channels=(replace(channel, samples=samples),))
    nets = nets_of_channels(capture, world())
    found = read_capture(capture, nets, world(), read_schedule(PLAYED))
    told = {one.check.kind: one.text for one in found.measured}
    assert told["peak"].startswith("over")
