"""Volts to logic, currents of coils, rails: closed forms, and what is not clean about a signal."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import optimize, stats
from tests.waves.lines import lines_of_cycle
from tests.waves.played import ONE_ON

from halfsplit.capture.record import Analog, Digital, Record
from halfsplit.errors import HalfsplitError, UnknownName, WaveError
from halfsplit.waves.account import digitised_data
from halfsplit.waves.channels import lines_of
from halfsplit.waves.coil import (
    Coil,
    clamp_volts,
    decay_seconds,
    fit_decay,
    fit_rise,
    judge_clamp,
    judge_rise,
)
from halfsplit.waves.digitise import digitise
from halfsplit.waves.line import Array
from halfsplit.waves.rail import Dip, coincidence, read_rail
from halfsplit.waves.thresholds import choose_thresholds, own_levels

with (Path(__file__).parents[1] / "truth" / "coil_examples.csv").open(encoding="utf-8") as _file:
    EXAMPLES = {row["what"]: row for row in csv.DictReader(_file)}


def given_in(row: dict[str, str]) -> dict[str, float]:
    pairs = (word.split("=") for word in row["inputs"].split())
    return {name: float(value) for name, value in pairs}


def pulses(low: float, high: float, *, count: int = 40, period: int = 100) -> Array:
    return np.tile(np.repeat([low, high], period // 2), count).astype(float)


# --- volts to logic


def test_levels_of_a_base_that_an_open_collector_drives(rng: np.random.Generator) -> None:
    volts = pulses(0.12, 0.68) + 0.01 * rng.standard_normal(4000)
    levels = own_levels(volts)
    assert levels.low == pytest.approx(0.12, abs=0.01)
    assert levels.high == pytest.approx(0.68, abs=0.01)
    limits = choose_thresholds(levels, "ttl")
    assert 0.12 < limits.low < limits.high < 0.68
    assert "own two levels" in limits.why
    found = digitise("DA", 0.0, 1e-5, volts)
    assert len(found.line.edges) == 79


def test_a_family_keeps_its_thresholds() -> None:
    # VIL 0.8 V and VIH 2.0 V: limits of the 74 series (facts of tests/truth/logic_levels.csv).
    levels = own_levels(pulses(0.2, 3.4))
    assert (choose_thresholds(levels).low, choose_thresholds(levels).high) == (0.8, 2.0)
    assert choose_thresholds(own_levels(np.full(9, 0.7))).low == 0.8
    with pytest.raises(WaveError, match="two levels"):
        choose_thresholds(own_levels(np.full(9, 0.7)), "own")
    with pytest.raises(UnknownName, match="ttl"):
        choose_thresholds(levels, "tll")


def test_an_edge_is_timed_between_samples() -> None:
    # A ramp from 0 to 4 V in 8 samples crosses 1.4 V, midway between the thresholds, at 2.8.
    volts = np.concatenate((np.zeros(10), np.linspace(0, 4, 9), np.full(20, 4.0)))
    (edge,) = digitise("A", 0.0, 1.0, volts).line.edges
    assert edge == pytest.approx(10 + 2.8)


def test_blemishes_are_listed() -> None:
    volts = pulses(0.2, 3.4)
    volts[60:90] = 3.4
    volts[70] = 0.2
    volts[620] = 1.6
    volts[1050:1062] = np.linspace(0.2, 3.4, 12)
    ring = 1.9 * np.exp(-np.arange(40) / 10) * np.sin(2 * np.pi * np.arange(40) / 8)
    volts[2050:2090] += ring
    volts[3030:3049] = 1.5
    found = digitise("A", 0.0, 1e-6, volts)
    kinds = {kind: [b for b in found.blemishes if b.kind == kind] for kind in found.counts}
    assert set(kinds) == {"glitch", "runt", "slow edge", "ringing", "undefined"}
    assert kinds["glitch"][0].time == pytest.approx(70e-6, abs=1e-6)
    assert kinds["runt"][0].value == pytest.approx(1.6)
    assert kinds["runt"][0].time == pytest.approx(620e-6)
    assert kinds["ringing"][0].value == pytest.approx(1 / 8e-6, rel=0.1)
    assert kinds["undefined"][0].span == pytest.approx(19e-6, rel=0.1)
    assert found.undefined == pytest.approx(20e-6, rel=0.1)
    data = digitised_data(found)
    assert data["line"] == "A"


def test_noise_makes_no_edges(rng: np.random.Generator) -> None:
    volts = pulses(0.2, 3.4) + 0.15 * rng.standard_normal(4000)
    assert len(digitise("A", 0.0, 1e-6, volts).line.edges) == 79


def test_a_signal_without_level_is_refused() -> None:
    with pytest.raises(WaveError, match="no level"):
        digitise("A", 0.0, 1e-6, np.full(50, 1.5))
    with pytest.raises(WaveError, match="sample 3 is no number"):
        digitise("A", 0.0, 1e-6, np.array([0.0, 0.0, np.nan]))
    with pytest.raises(WaveError, match="interval above 0"):
        digitise("A", 0.0, 0.0, np.zeros(5))


@given(hnp.arrays(np.float64, st.integers(0, 40), elements=st.floats(allow_infinity=True)))
def test_volts_raise_only_our_own(volts: Array) -> None:
    for family in ("ttl", "own"):
        try:
            found = digitise("A", 0.0, 1e-6, volts, family)
        except HalfsplitError:
            continue
        assert (np.diff(found.line.edges) > 0).all()


def test_channels_of_a_record_become_lines(rng: np.random.Generator) -> None:
    line = lines_of_cycle(ONE_ON, rng)[0]
    ticks = np.round(line.edges / 1e-6).astype(np.int64)
    digital = Digital(
        name="D", tick=1e-6, ticks=ticks, values=((np.arange(len(ticks)) + 1) % 2).astype(np.uint8)
    )
    flat = Analog(name="F", unit="V", step=1e-4, samples=np.full(4000, 0.68, np.float32))
    base = Analog(name="B", unit="V", step=1e-4, samples=pulses(0.12, 0.68).astype(np.float32))
    uneven = Analog(
        name="U", unit="V", samples=np.array([0, 0, 3, 3], np.float32),
        times=np.array([0.0, 0.1, 0.1001, 0.4]), held=True,
    )  # fmt: skip
    record = Record(source="x", begin=0.0, end=0.4, channels=(digital, flat, base, uneven))
    lines, digitised = lines_of(record)
    assert [one.name for one in lines] == ["D", "F", "B", "U"]
    assert len(lines[0].edges) == len(ticks) - 1
    # A line that never moves takes the thresholds of its sister: 0.68 V is high there.
    assert lines[1].first
    assert lines[3].edges == pytest.approx([0.1], abs=2e-4)
    assert len(digitised) == 3
    wrong = Record(
        source="x", begin=0.0, end=0.4,
        channels=(Analog(name="T", unit="°C", step=1.0, samples=np.zeros(9, np.float32)),),
    )  # fmt: skip
    with pytest.raises(WaveError, match="volts or amperes, got °C"):
        lines_of(wrong)


# --- currents


def rise_of(volts: float, ohms: float, henries: float, count: int = 400) -> tuple[float, Array]:
    interval = 5 * henries / ohms / count
    t = interval * np.arange(count)
    return interval, volts / ohms * (1 - np.exp(-t * ohms / henries))


def test_rise_fits_the_handbook_example(rng: np.random.Generator) -> None:
    row = EXAMPLES["rise at one time constant"]
    told = given_in(row)
    interval, current = rise_of(told["V"], told["R"], told["L"])
    noisy = current + 2e-3 * rng.standard_normal(len(current))
    fit = fit_rise(interval, noisy)
    assert fit.tau == pytest.approx(1e-3, rel=0.02)
    assert fit.end == pytest.approx(0.4, rel=0.01)
    at = fit.end + (fit.begin - fit.end) * math.exp(-told["t"] / fit.tau)
    assert at == pytest.approx(float(row["result"]), rel=0.01)
    # A general-purpose least squares fit finds the same (scipy.optimize.curve_fit).
    t = interval * np.arange(len(current))
    (end, begin, tau), _ = optimize.curve_fit(
        lambda t, a, b, c: a + (b - a) * np.exp(-t / c), t, noisy, (0.3, 0.1, 5e-4)
    )
    assert fit.tau == pytest.approx(tau, rel=1e-5)
    assert fit.slope == pytest.approx((end - begin) / tau, rel=1e-5)


@pytest.mark.parametrize("what", [w for w in EXAMPLES if w.startswith("decay")])
def test_decay_through_the_clamp(what: str) -> None:
    told = given_in(EXAMPLES[what])
    coil = Coil(volts=12, ohms=told["R"], henries=told["L"], drop=0.0, clamp=told["Vc"])
    wanted = float(EXAMPLES[what]["result"])
    assert decay_seconds(coil) == pytest.approx(wanted, rel=1e-3)
    t = np.arange(0, 1.5 * wanted, wanted / 400)
    offset = told["Vc"] / told["R"]
    current = np.maximum((told["I"] + offset) * np.exp(-t / coil.tau) - offset, 0.0)
    assert clamp_volts(fit_decay(wanted / 400, current), told["R"]) == pytest.approx(
        told["Vc"], rel=0.05
    )


@pytest.mark.parametrize(
    ("volts", "ohms", "henries", "verdict"),
    [
        (12.0, 30.0, 30e-3, "right"),
        (8.0, 30.0, 30e-3, "supply low"),
        (12.0, 60.0, 30e-3, "resistance high"),
        (12.0, 30.0, 15e-3, "inductance low"),
        (12.0, 15.0, 7.5e-3, "shorted turns"),
        (12.0, 30.0, 60e-3, "inductance high"),
    ],
)
def test_rise_names_its_cause(volts: float, ohms: float, henries: float, verdict: str) -> None:
    # Half of the turns: half of the resistance, a quarter of the inductance (L goes as N squared).
    good = Coil(volts=12, ohms=30, henries=30e-3, drop=0.0)
    interval, current = rise_of(volts, ohms, henries)
    found = judge_rise(fit_rise(interval, current), good)
    assert found.verdict == verdict
    if verdict == "shorted turns":
        assert found.ratio == pytest.approx(0.5, rel=0.01)


def test_clamp_by_its_peak() -> None:
    # Peaks of a 12 V coil: diode 12.8 V, zener 24 V 36.8 V (COMPUTED, V + Vc).
    diode = Coil(volts=12, ohms=30, henries=30e-3, clamp=0.8)
    zener = Coil(volts=12, ohms=30, henries=30e-3, clamp=24.8)
    assert judge_clamp(12.8, diode).verdict == "right"
    assert judge_clamp(36.8, zener).verdict == "right"
    assert judge_clamp(13.0, zener).verdict == "clamp low"
    assert judge_clamp(36.8, diode).verdict == "clamp high"
    assert judge_clamp(80.0, diode).verdict == "no clamp"


def test_what_is_no_rise_is_refused() -> None:
    with pytest.raises(WaveError, match="stays the same"):
        fit_rise(1e-3, np.ones(50))
    with pytest.raises(WaveError, match="at least 4"):
        fit_rise(1e-3, np.ones(2))
    with pytest.raises(WaveError, match="left over"):
        fit_rise(1e-3, pulses(0.0, 1.0))


# --- rails


def test_ripple_of_full_wave_rectified_mains(rng: np.random.Generator) -> None:
    t = np.arange(0, 0.5, 1e-4)
    volts = 5.0 + 0.1 * np.sin(2 * np.pi * 100 * t) + 0.002 * rng.standard_normal(len(t))
    rail = read_rail(0.0, 1e-4, volts, 4.75)
    assert rail.mean == pytest.approx(5.0, abs=0.01)
    assert rail.ripple == pytest.approx(0.2, rel=0.05)
    assert rail.hertz == pytest.approx(100, rel=0.02)
    assert "full-wave" in rail.source
    assert not rail.dips


def test_dips_have_time_span_and_depth(rng: np.random.Generator) -> None:
    volts = 5.0 + 0.01 * rng.standard_normal(5000)
    volts[1000:1050] -= 1.0
    volts[3000:3020] -= 2.0
    first, second = read_rail(1.0, 1e-4, volts, 4.5).dips
    assert first.time == pytest.approx(1.1)
    assert first.span == pytest.approx(5e-3)
    assert second.lowest == pytest.approx(3.0, abs=0.05)
    with pytest.raises(WaveError, match="low all the time"):
        read_rail(0.0, 1e-4, volts, 6.0)


def test_chance_of_coming_together_is_binomial() -> None:
    dips = (Dip(time=0.2, span=0.02, lowest=3.0), Dip(time=0.7, span=0.02, lowest=3.0))
    found = coincidence(np.array([0.205, 0.71, 0.5]), dips, 0.0, 1.0, 0.005)
    assert (found.hits, found.events) == (2, 3)
    assert found.covered == pytest.approx(0.06)
    # Outside reference: the binomial survival function of scipy.
    assert found.chance == pytest.approx(stats.binom.sf(1, 3, 0.06))
    assert "accident" in found.words
    assert coincidence(np.array([]), dips, 0.0, 1.0, 0.01).chance == 1.0
    assert "nothing" in coincidence(np.array([]), dips, 0.0, 1.0, 0.01).words
