"""Every law: slopes are derivatives, currents add to nothing, limits rest, passive is passive."""

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.solve.law import Array, Law
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.analog import Comparator, PhotoTransistor, Regulator
from halfsplit.solve.laws.contact import Contact
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance, Source
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.laws.mosfet import Mosfet
from halfsplit.solve.laws.stage import StageDrive, StageTrouble

Ranges = Mapping[str, tuple[float, float]]

LEAKS = (0.0, 1e-3)
GATE: Ranges = {
    "vth": (1.0, 1.6), "rel": (0.0, 0.4), "steep": (2.0, 20.0), "a0": (0.0, 0.3),
    "a1": (-0.3, 0.7), "e0": (0.0, 0.3), "e1": (0.2, 0.7), "bit": (0.0, 1.0), "kl": (0.0, 1.0),
    "kh": (0.0, 1.0), "il": (0.01, 0.1), "rl": (5.0, 50.0), "off": (0.0, 0.2), "ih": (0.01, 0.1),
    "rh": (30.0, 150.0), "drop": (0.0, 1.5), "on_at": (1.0, 3.0), "leak": LEAKS,
    "swing": (0.0, 0.9), "o1": (0.0, 0.5), "w1": (0.0, 1.0), "o2": (0.0, 0.5), "w2": (0.0, 1.0),
}  # fmt: skip
STAGE_INPUTS: Ranges = {
    f"{what}{k}": span
    for k in (1, 2)
    for what, span in (("u", (0.0, 1.0)), ("s", (0.0, 1.0)), ("want", (0.0, 3.0)),
                       ("width", (0.5, 2.0)), ("least", (0.5, 1.3)))
}  # fmt: skip
FIELDS: list[tuple[Law, Ranges]] = [
    (Conductance(), {"g": (0.0, 2.0)}),
    (Source(), {"g": (0.0, 2.0), "volts": (-20.0, 20.0)}),
    (Diode(), {"is_": (1e-15, 1e-9), "n": (1.0, 2.0), "bv": (3.0, 60.0), "nbv": (0.5, 4.0),
               "gp": LEAKS}),
    *(
        (Bipolar(sign=sign), {"is_": (1e-15, 1e-11), "bf": (20.0, 300.0), "br": (0.5, 10.0),
                              "n": (1.0, 1.3), "bvce": (8.0, 90.0), "gbe": LEAKS, "gbc": LEAKS,
                              "gce": LEAKS})
        for sign in (1.0, -1.0)
    ),
    *(
        (Mosfet(sign=sign), {"k": (1e-3, 5.0), "vth": (0.5, 4.0), "gds": LEAKS, "ggs": LEAKS,
                             "ggd": LEAKS})
        for sign in (1.0, -1.0)
    ),
    *(
        (Regulator(sign=sign), {"vset": (1.25, 24.0), "drop": (0.8, 3.0), "r": (0.01, 0.3),
                                "ilim": (0.02, 2.0), "iq": (1e-6, 1e-2), "k": (0.0, 1.0),
                                "gio": LEAKS, "gog": LEAKS})
        for sign in (1.0, -1.0)
    ),
    (PhotoTransistor(), {"is_": (1e-17, 1e-13), "n": (1.4, 2.0), "ctr": (0.02, 1.0),
                         "light": (0.0, 1.0), "dark": (0.0, 1e-5)}),
    (Comparator(), {"vos": (-0.01, 0.01), "steep": (50.0, 500.0), "a0": (0.0, 0.3),
                    "a1": (0.0, 0.7), "k": (0.0, 1.0), "il": (0.005, 0.1), "rl": (10.0, 50.0),
                    "on_at": (1.0, 3.0), "ib": (1e-8, 1e-6), "gp": LEAKS, "gm": LEAKS,
                    "leak": LEAKS}),
    (Amplifier(), {"vos": (-0.01, 0.01), "steep": (5.0, 50.0), "high": (0.0, 2.0),
                   "low": (0.0, 2.0), "ro": (20.0, 200.0), "ilim": (0.01, 0.04), "k": (0.0, 1.0),
                   "on_at": (1.0, 3.0), "ib": (-1e-6, 1e-6), "gp": LEAKS, "gm": LEAKS,
                   "leak": LEAKS}),
    (Contact(), {"gon": (1.0, 20.0), "goff": (0.0, 1e-9), "pull": (2.0, 6.0),
                 "steep": (1.0, 10.0), "a0": (0.0, 0.4), "a1": (0.1, 0.6)}),
    (TtlInput(), {"r": (2e3, 3e4), "drop": (0.3, 0.9), "off_at": (0.8, 1.6), "k": (0.0, 1.0),
                  "g": LEAKS}),
    (StageTrouble(2), {"low": (0.0, 0.4), "high": (0.0, 0.4), "wrong": (0.0, 1.0),
                       "is_low": (0.0, 1.0), "is_high": (0.0, 1.0), "most": (0.05, 1.0),
                       "tol": (0.05, 0.3), **STAGE_INPUTS}),
    (StageDrive(), {"stiff": (0.0, 2.0), "good": (0.0, 5.0), "other": (0.0, 5.0),
                    "vary": (0.0, 5.0), "off": (0.1, 0.9)}),
    *(
        (LogicOutput(inputs=("a", "b"), level="!(a & b) | q", enable=enable, high=high), GATE)
        for enable in ("", "!a")
        for high in ("none", "follower", "darlington", "mos")
    ),
]  # fmt: skip
IDS = [f"{law.name}{getattr(law, 'sign', '')}{k}" for k, (law, _) in enumerate(FIELDS)]
JUNCTIONS = (Diode, Bipolar, PhotoTransistor)
STEP = 1e-5


def drawn(law: Law, ranges: Ranges, rng: np.random.Generator, width: int) -> tuple[Array, Array]:
    """Voltages [E, 1, B] and parameters [P, 1, B]; junctions within 0.7 V forward."""
    p = np.stack([rng.uniform(*ranges[name], (1, width)) for name in law.parameters])
    if isinstance(law, JUNCTIONS):
        v = rng.uniform(-0.35, 0.35, (law.terminals, 1, width))
        if isinstance(law, Diode):  # reverse, and into breakdown
            v[0] -= np.where(rng.uniform(size=(1, width)) < 0.5, p[2] - 0.3, 0.0)
        return v, p
    return rng.uniform(-1.0, 8.0, (law.terminals, 1, width)) * getattr(law, "sign", 1.0), p


@pytest.mark.parametrize(("law", "ranges"), FIELDS, ids=IDS)
def test_slopes_are_the_derivatives(law: Law, ranges: Ranges, rng: np.random.Generator) -> None:
    v, p = drawn(law, ranges, rng, 200)
    currents, slopes = law.evaluate(v, p, False)
    assert currents.shape == v.shape
    assert slopes.shape == (law.terminals, *v.shape)
    scale = np.abs(slopes).max(axis=(0, 1)) + 1e-9
    for terminal in range(law.terminals):
        shift = np.zeros_like(v)
        shift[terminal] = STEP
        values = [law.evaluate(v + s * shift, p, False)[0] for s in (2.0, 1.0, -1.0, -2.0)]
        # five points: error of the fourth order (M. Abramowitz and I. A. Stegun, 25.3.6)
        numeric = (8.0 * (values[1] - values[2]) - (values[0] - values[3])) / (12.0 * STEP)
        assert (np.abs(slopes[:, terminal] - numeric) / scale).max() < 1e-6


@pytest.mark.parametrize(("law", "ranges"), FIELDS, ids=IDS)
def test_what_goes_in_comes_out(law: Law, ranges: Ranges, rng: np.random.Generator) -> None:
    """Kirchhoff's current law for the element, and no current from a common shift of all its
    terminals."""
    v, p = drawn(law, ranges, rng, 200)
    currents, slopes = law.evaluate(v, p, False)
    scale = np.abs(currents).max() + 1e-12
    assert np.abs(currents.sum(axis=0)).max() < 1e-12 * scale
    if not isinstance(law, Comparator | Source):  # their inputs leak to ground by themselves
        assert np.abs(slopes.sum(axis=0)).max() < 1e-9 * np.abs(slopes).max()
    shifted, _ = law.evaluate(v + 3.0, p, False)
    np.testing.assert_allclose(shifted, currents, rtol=1e-9, atol=1e-9 * scale)


@pytest.mark.parametrize(("law", "ranges"), FIELDS, ids=IDS)
@given(seed=st.integers(0, 2**32 - 1), reach=st.floats(0.1, 40.0))
def test_a_limit_rests_where_nothing_moves(
    law: Law, ranges: Ranges, seed: int, reach: float
) -> None:
    """Else the iteration could come to rest where the laws do not hold."""
    rng = np.random.default_rng(seed)
    _, p = drawn(law, ranges, rng, 20)
    v = rng.uniform(-reach, reach, (law.terminals, 1, 20))
    np.testing.assert_allclose(law.limit(v, v, p), v, rtol=1e-12, atol=1e-12)
    assert np.isfinite(law.limit(v, rng.uniform(-reach, reach, v.shape), p)).all()


PASSIVE = [
    (law, ranges)
    for law, ranges in FIELDS
    if isinstance(law, Conductance | Contact | Diode | Bipolar | Mosfet | Regulator | TtlInput)
]


@pytest.mark.parametrize(("law", "ranges"), PASSIVE, ids=lambda x: getattr(x, "name", ""))
def test_what_has_no_supply_makes_no_power(
    law: Law, ranges: Ranges, rng: np.random.Generator
) -> None:
    """Tellegen: the sum of v i over the terminals of such a part is not negative."""
    v, p = drawn(law, ranges, rng, 2000)
    if not isinstance(law, JUNCTIONS):
        v *= rng.choice([0.05, 0.3, 1.0], (1, 1, 2000))
    currents, _ = law.evaluate(v, p, False)
    assert (v * currents).sum(axis=0).min() > -2e-9


def test_an_opto_device_makes_no_power(rng: np.random.Generator) -> None:
    """The light path together with the LED that lights it, up to unity transfer."""
    ranges = dict(FIELDS[IDS.index("phototransistor9")][1])
    path, p = PhotoTransistor(), drawn(PhotoTransistor(), ranges, rng, 2000)[1]
    v = rng.uniform(-0.5, 1.4, (4, 1, 2000))
    led = np.stack((p[0], p[1], 0.0 * p[0] + 50.0, 0.0 * p[0] + 1.0, 0.0 * p[0]))
    light, _ = path.evaluate(v, p, False)
    own, _ = Diode().evaluate(v[:2], led, False)
    power = (v * light).sum(axis=0) + (v[:2] * own).sum(axis=0)
    assert power.min() > -2e-9


def test_a_diode_follows_shockley() -> None:
    """60 mV a decade at n = 1 and 27 degC: kT/q ln 10 = 59.55 mV (CODATA 2018)."""
    law = Diode()
    p = np.array([1e-14, 1.0, 1e3, 1.0, 0.0])[:, None, None]
    amps = [law.evaluate(np.array([u, 0.0])[:, None, None], p, False)[0][0, 0, 0]
            for u in (0.6, 0.65955)]  # fmt: skip
    assert amps[1] / amps[0] == pytest.approx(10.0, rel=1e-3)


def test_a_zener_carries_one_milliampere_at_its_voltage() -> None:
    p = np.array([1e-14, 1.0, 5.1, 2.0, 0.0])[:, None, None]
    amps = Diode().evaluate(np.array([0.0, 5.1])[:, None, None], p, False)[0][1, 0, 0]
    assert amps == pytest.approx(1e-3, rel=1e-9)


def test_the_bias_of_a_comparator_comes_from_its_supply() -> None:
    """PNP inputs with their current source at the supply (LM339 data sheet, schematic): with its
    ground open, what leaves the inputs still has a way in."""
    law = Comparator()
    p = np.array([0.0, 500.0, 0.0, 1.0, 1.0, 16e-3, 32.0, 1.6, 25e-9, 0.0, 0.0, 0.0])[:, None, None]
    _, supply, ground, plus, minus = law.evaluate(
        np.array([5.0, 5.0, 0.0, 2.0, 1.0])[:, None, None], p, False
    )[0][:, 0, 0]
    assert plus == pytest.approx(-25e-9, rel=5e-3)
    assert minus == pytest.approx(-25e-9, rel=5e-3)
    assert supply == pytest.approx(50e-9, rel=5e-3)
    assert abs(ground) < 1e-12


@pytest.mark.parametrize(("rel", "middle", "swing"), [(0.0, 1.2, 0.8), (1.0, 0.44, 0.18)])
def test_schmitt_inputs_have_two_thresholds(rel: float, middle: float, swing: float) -> None:
    """Half of the output level at VT+ while the stored bit is 0 and at VT- while it is 1: 1.6 and
    0.8 V (SN74LS14 data sheet, typical), 2.38 and 1.57 V of 4.5 V (74HC14, from memory)."""
    law = LogicOutput(inputs=("a",), level="a")
    supply = 4.5 if rel else 5.0
    p = {"vth": middle, "rel": rel, "steep": 20.0, "swing": swing, "o1": 0.0, "w1": 1.0}
    for bit, sign in ((0.0, 1.0), (1.0, -1.0)):
        threshold = (middle + sign * swing / 2.0) * (supply if rel else 1.0)
        column = np.array([{**p, "bit": bit}.get(name, 1.0) for name in law.parameters])
        v = np.array([0.0, supply, 0.0, threshold])[:, None, None]
        levels, _ = law.logic(v, column[:, None, None])
        assert levels["a"][0, 0] == pytest.approx(0.5, abs=1e-9)


def test_a_frozen_gate_keeps_its_current_and_loses_only_the_slopes_of_its_inputs(
    rng: np.random.Generator,
) -> None:
    law = LogicOutput(inputs=("a", "b"), level="!(a & b)")
    v, p = drawn(law, GATE, rng, 50)
    free, slopes = law.evaluate(v, p, False)
    frozen, kept = law.evaluate(v, p, True)
    np.testing.assert_array_equal(frozen, free)
    assert np.abs(slopes[:, 3:]).max() > 0.0
    assert not kept[:, 3:].any()
    np.testing.assert_array_equal(kept[:, 0], slopes[:, 0])
