"""Circuits of the textbooks, solved on paper here, against the solver."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import lambertw
from tests.solve.circuits import TTL_INPUT, Sketch

from halfsplit.solve.circuit import LEAK
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.smooth import VT


def test_loaded_divider() -> None:
    """Voltage division with a load (any book on circuits, first chapters)."""
    s = Sketch()
    s.source("V", "top", 12.0, ohms=1e-3)
    s.r("R1", "top mid", 10e3)
    s.r("R2", "mid 0", 10e3)
    s.r("RL", "mid 0", 5e3)
    low = 1.0 / (1.0 / 10e3 + 1.0 / 5e3)
    assert s.volts()["mid"] == pytest.approx(12.0 * low / (10e3 + low), rel=1e-5)


def test_wheatstone_bridge() -> None:
    """Detector current by Thevenin (C. K. Alexander and M. N. O. Sadiku, Fundamentals of
    Electric Circuits, chapter 4, from memory)."""
    r1, r2, r3, r4, detector, volts = 3e3, 1e3, 400.0, 600.0, 40.0, 220.0
    s = Sketch()
    s.source("V", "top", volts, ohms=1e-4)
    for name, nodes, ohms in (("R1", "top a", r1), ("R2", "a 0", r2), ("R3", "top b", r3),
                              ("R4", "b 0", r4), ("RM", "a b", detector)):  # fmt: skip
        s.r(name, nodes, ohms)
    v = s.volts()
    thevenin = volts * (r2 / (r1 + r2) - r4 / (r3 + r4))
    ohms = r1 * r2 / (r1 + r2) + r3 * r4 / (r3 + r4)
    amps = thevenin / (ohms + detector)
    assert amps == pytest.approx(-74.76e-3, rel=1e-3)  # the book's answer, from memory
    assert (v["a"] - v["b"]) / detector == pytest.approx(amps, rel=1e-4)


@pytest.mark.parametrize("volts", [0.3, 1.0, 5.0, 60.0])
@pytest.mark.parametrize("ohms", [10.0, 1e3, 1e6])
def test_diode_and_resistor(volts: float, ohms: float) -> None:
    """Exact by Lambert's W (T. C. Banwell and A. Jayakumar, Electronics Letters 36, 2000)."""
    is_, n = 2e-14, 1.3
    s = Sketch()
    s.source("V", "in", volts, ohms=1e-3)
    s.r("R", "in out", ohms)
    s.diode("D", "out 0", is_=is_, n=n)
    # the board's leak and the source make one source behind one resistance
    nvt, share = n * VT, 1.0 / (1.0 + LEAK * (ohms + 1e-3))
    seen, total = volts * share, (ohms + 1e-3) * share
    if seen / nvt < 600.0:
        product = is_ * total / nvt * math.exp((seen + is_ * total) / nvt)
        amps = nvt / total * lambertw(product).real - is_
    else:  # the exponential overflows: the logarithm of the same equation
        amps = brentq(lambda i: seen - i * total - nvt * math.log1p(i / is_), 1e-12, seen / total)
    assert s.volts()["out"] == pytest.approx(nvt * math.log1p(amps / is_), abs=1e-6)


def test_four_resistor_bias() -> None:
    """Common emitter of A. S. Sedra and K. C. Smith, Microelectronic Circuits, the example with
    15 V, 100k, 50k, 5k, 3k and beta 100: IE 1.29 mA, VB 4.57 V, VC 8.6 V (from memory)."""
    s = Sketch()
    s.source("V", "vcc", 15.0)
    for name, nodes, ohms in (("RB1", "vcc b", 100e3), ("RB2", "b 0", 50e3), ("RC", "vcc c", 5e3),
                              ("RE", "e 0", 3e3)):  # fmt: skip
        s.r(name, nodes, ohms)
    s.npn("Q", "c b e", is_=1.28e-3 / math.exp(0.7 / VT), bf=100.0)  # 0.7 V there, as in the book
    v = s.volts()
    assert v["e"] / 3e3 == pytest.approx(1.29e-3, rel=5e-3)
    assert v["b"] == pytest.approx(4.57, abs=0.01)
    assert v["c"] == pytest.approx(8.6, abs=0.03)
    thevenin, source = 15.0 * 50.0 / 150.0, 1.0 / (1.0 / 100e3 + 1.0 / 50e3)
    base_amps = (thevenin - (v["b"] - v["e"])) / (source + 101.0 * 3e3)
    assert v["e"] == pytest.approx(101.0 * base_amps * 3e3, rel=1e-4)


@pytest.mark.parametrize("beta", [20.0, 100.0, 400.0])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_current_mirror(beta: float, sign: float) -> None:
    """I out / I reference = 1/(1 + 2/beta) without Early effect (P. R. Gray and R. G. Meyer,
    Analysis and Design of Analog Integrated Circuits, chapter 4)."""
    s = Sketch()
    s.source("V", "vcc", sign * 10.0)
    s.r("R", "vcc ref", 9.3e3)
    s.npn("Q1", "ref ref 0", sign, bf=beta)
    s.npn("Q2", "out ref 0", sign, bf=beta)
    s.source("VO", "out", sign * 5.0, ohms=1.0)
    v = s.volts()
    reference, out = (v["vcc"] - v["ref"]) / 9.3e3, (sign * 5.0 - v["out"]) / 1.0
    assert out / reference == pytest.approx(1.0 / (1.0 + 2.0 / beta), rel=1e-4)


@pytest.mark.parametrize(("raw", "load"), [(12.0, 1e3), (15.0, 300.0), (9.0, 150.0)])
def test_zener_regulator(raw: float, load: float) -> None:
    """Shunt regulator; the zener's exponential put into the node's balance on paper."""
    volts, softness, ohms = 5.1, 1.5, 220.0
    s = Sketch()
    s.source("V", "raw", raw)
    s.r("R", "raw out", ohms)
    s.r("RL", "out 0", load)
    s.diode("Z", "0 out", bv=volts, nbv=softness)

    def left(v: float) -> float:
        zener = 1e-3 * math.exp((v - volts) / (softness * VT))
        return (raw - v) / ohms - v / load - zener

    assert s.volts()["out"] == pytest.approx(brentq(left, 0.0, raw), abs=1e-4)


def test_darlington_follower() -> None:
    """Two base-emitter drops, gain (b1+1)(b2+1) (P. Horowitz and W. Hill, The Art of Electronics,
    chapter 2)."""
    s = Sketch()
    s.source("V", "vcc", 12.0)
    s.source("VB", "in", 6.0)
    s.r("RB", "in b", 100e3)
    s.npn("Q1", "vcc b m", is_=1e-14, bf=80.0)
    s.npn("Q2", "vcc m e", is_=1e-13, bf=50.0)
    s.r("RE", "e 0", 1e3)
    v = s.volts()
    gain = (v["e"] / 1e3) / ((v["in"] - v["b"]) / 100e3 - LEAK * v["b"])
    assert gain == pytest.approx(81.0 * 51.0, rel=1e-3)
    emitter = v["e"] / 1e3
    first = VT * math.log(emitter / 51.0 * 80.0 / 81.0 / 1e-14)
    second = VT * math.log(emitter * 50.0 / 51.0 / 1e-13)
    assert v["b"] - v["e"] == pytest.approx(first + second, abs=1e-3)


@pytest.mark.parametrize("ohms", [50.0, 500.0])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_mosfet_switch_in_its_triode_region(ohms: float, sign: float) -> None:
    """k ((VGS - VT) V - V^2/2) = (VDD - V)/R: the root of a quadratic (Sedra and Smith)."""
    k, vth, vgs, supply = 0.05, 2.0, 8.0, 12.0
    s = Sketch()
    s.source("V", "vdd", sign * supply)
    s.source("VG", "g", sign * vgs)
    s.r("R", "vdd d", ohms)
    s.mosfet("M", "d g 0", sign, k=k, vth=vth)
    half = vgs - vth + 1.0 / (k * ohms)
    drop = half - math.sqrt(half**2 - 2.0 * supply / (k * ohms))
    assert s.volts()["d"] == pytest.approx(sign * drop, rel=1e-4)


def test_mosfet_in_saturation() -> None:
    s = Sketch()
    s.source("V", "vdd", 12.0)
    s.source("VG", "g", 3.0)
    s.r("R", "vdd d", 100.0)
    s.mosfet("M", "d g 0", k=0.02, vth=2.0)
    assert (12.0 - s.volts()["d"]) / 100.0 == pytest.approx(0.5 * 0.02, rel=1e-4)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(("raw", "load"), [(9.0, 10.0), (6.2, 10.0), (5.0, 25.0), (9.0, 1.0)])
def test_series_regulator(raw: float, load: float, sign: float) -> None:
    """Set point, drop-out, and current limit, as on the data sheet of a 78xx: 5 V; the input
    less 2 V; the limit times the load."""
    vset, drop, r, limit = 5.0, 2.0, 0.02, 2.0
    s = Sketch()
    s.source("V", "in", sign * raw)
    s.regulator("U", "in out 0", sign)
    s.r("RL", "out 0", load)
    out = min(vset, raw - drop)
    amps = out / load
    expected = limit * load if amps > limit else out - r * amps
    assert s.volts()["out"] == pytest.approx(sign * expected, abs=8e-3, rel=5e-3)


def test_regulator_whose_input_sags_into_drop_out() -> None:
    """100 ohm in series with the input: (9.5 V - 2 V) over 112 ohm, less its own current. Went
    round in a circle before the iteration stopped at the corners of the curve."""
    s = Sketch()
    s.source("V", "raw", 9.5)
    s.r("RS", "raw in", 100.0)
    s.regulator("U", "in out 0")
    s.r("RL", "out 0", 12.0)
    v = s.volts()
    assert v["in"] - v["out"] == pytest.approx(2.0, abs=0.03)
    assert v["out"] / 12.0 == pytest.approx((9.5 - 2.0 - 0.5) / 112.0, rel=0.02)


def test_regulator_without_its_ground() -> None:
    """The output rises to the input less the drop (common practice, no source); no current of its
    own can flow."""
    s = Sketch()
    s.source("V", "in", 9.5)
    s.regulator("U", "in out gnd")
    s.r("RL", "out 0", 12.0)
    v = s.volts()
    assert 6.0 < v["out"] < 9.5
    assert v["gnd"] > 6.0


OPEN_COLLECTOR = LogicOutput(inputs=("a", "b"), level="!(a & b)", high="none")


@pytest.mark.parametrize(("levels", "low", "high"), [((3.4, 3.4), 0.05, 0.35),
                                                      ((0.2, 3.4), 0.6, 0.8)])  # fmt: skip
def test_open_collector_into_a_base(levels: tuple[float, float], low: float, high: float) -> None:
    """A 7438 driving an inverter's base: off, the base holds the line at one junction drop; on,
    V OL (74LS38 data sheet: 0.25 V typical at 12 mA, from memory)."""
    s = Sketch()
    s.source("V", "vcc", 5.0)
    s.source("A", "a", levels[0])
    s.source("B", "b", levels[1])
    s.gate("U", OPEN_COLLECTOR, "y vcc 0 a b", il=0.1, rl=12.0, off=0.12)
    s.r("RP", "vcc y", 2.2e3)
    s.npn("Q", "c y 0", is_=1e-14, bf=150.0)
    s.r("RC", "vcc c", 680.0)
    v = s.volts()
    assert low < v["y"] < high
    assert (v["c"] < 0.2) == (v["y"] > 0.5)
    if v["y"] > 0.5:  # all of the pull-up's current goes into the base: saturated
        assert v["y"] == pytest.approx(0.7, abs=0.06)


def test_rtl_inverter() -> None:
    """Resistor-transistor logic: forced beta well below beta saturates (J. Millman and C. C.
    Halkias, Integrated Electronics, chapter 6, from memory): V CE by Ebers and Moll."""
    beta, reverse = 100.0, 2.0
    s = Sketch()
    s.source("V", "vcc", 3.6)
    s.source("IN", "in", 3.6)
    s.r("RB", "in b", 4.7e3)
    s.r("RC", "vcc c", 640.0)
    s.npn("Q", "c b 0", bf=beta, br=reverse)
    v = s.volts()
    ib, ic = (3.6 - v["b"]) / 4.7e3, (3.6 - v["c"]) / 640.0
    forced = ic / ib
    ebers_moll = VT * math.log((1.0 + (1.0 + forced) / reverse) / (1.0 - forced / beta))
    assert forced < 0.2 * beta
    assert v["c"] == pytest.approx(ebers_moll, abs=1e-4)


def test_a_ttl_input_left_open_floats_near_its_threshold_and_pulled_low_gives_its_current() -> None:
    """Open: 1.4 to 1.7 V on a meter (common practice). Low: (5 - 0.7 - 0.3)/4k = 1.0 mA."""
    s = Sketch()
    s.source("V", "vcc", 5.0)
    s.add("U", TtlInput(), "a vcc 0", TTL_INPUT)
    s.add("W", TtlInput(), "b vcc 0", TTL_INPUT)
    s.r("meter", "a 0", 10e6)
    s.r("RB", "b 0", 300.0)
    v = s.volts()
    assert 1.4 < v["a"] < 2.2
    assert v["b"] / 300.0 == pytest.approx(1.0e-3, rel=0.02)


def test_comparator_with_hysteresis_holds_both_ways() -> None:
    """Thresholds of a comparator with positive feedback on paper: the reference is pulled to
    V OL by 470k against 5k when the output is low (LM393 data sheet circuits, from memory)."""
    for level, low in ((2.40, False), (2.60, True)):
        s = Sketch()
        s.source("V", "vcc", 5.0)
        s.source("S", "sense", level)
        s.r("R1", "vcc ref", 10e3)
        s.r("R2", "ref 0", 10e3)
        s.r("RH", "ref out", 470e3)
        s.r("RP", "vcc out", 4.7e3)
        s.comparator("U", "out vcc 0 ref sense")
        v = s.volts()
        out = v["out"]
        ref = (5.0 / 10e3 + out / 470e3) / (2.0 / 10e3 + 1.0 / 470e3)
        assert (out < 0.5) is low
        assert v["ref"] == pytest.approx(ref, abs=2e-3)  # 25 nA in 5k is 0.1 mV


def test_opto_device_lights() -> None:
    """Collector current is the transfer ratio times the LED's, into saturation below 0.3 V."""
    is_, n = 20e-3 * math.exp(-1.2 / (1.6 * VT)), 1.6
    for ohms, saturated in ((100.0, False), (100e3, True)):
        s = Sketch()
        s.source("V", "vcc", 5.0)
        s.r("RL", "vcc a", 220.0)
        s.diode("LED", "a 0", is_=is_, n=n)
        s.sensor("T", "a 0 c 0", is_=is_, n=n, ctr=0.2)
        s.r("RC", "vcc c", ohms)
        v = s.volts()
        led, collector = (v["vcc"] - v["a"]) / 220.0, (v["vcc"] - v["c"]) / ohms
        if saturated:
            assert v["c"] < 0.3
        else:
            assert collector / led == pytest.approx(0.2, rel=1e-3)
    assert np.isfinite(v["c"])
