"""Waveforms against circuits solved on paper (charging, decay, ripple) and against ngspice."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from tests.build.worlds import world
from tests.solve.transient_spice import decks, play

from halfsplit.build.transient import Emf, Waveforms, run
from halfsplit.build.transient_schedule import Phase, Schedule, Sine, read_schedule
from halfsplit.errors import ScheduleError, UnknownName
from halfsplit.solve.transient import Guide, March

RC = """board "RC"
rail +5 5V
R1 10k +5 OUT
C1 film-capacitor 100nF OUT GND
state off rails=off
state on
"""
RELAY = """board "coil on a switch, with a clamp"
rail +24 24V
SW1 switch +24 A
L1 coil 100m ohms=120 A GND
D1 1N4002 a=GND k=A
state closed SW1=closed
state open SW1=open
"""
DRIVER = (Path(__file__).parents[1] / "solve" / "boards" / "driver.board").read_text("utf-8")
SUPPLY = """board "half wave"
rail AC 10V ohms=0.1
D1 1N4002 a=AC k=OUT
C1 electrolytic 1000uF esr=0.05 OUT GND
R1 100 OUT GND
state on
"""


def played(text: str, schedule: str | Schedule, **more: object) -> Waveforms:
    typed = read_schedule(schedule) if isinstance(schedule, str) else schedule
    return run(world(text), typed, **{"accuracy": 3e-4, **more})  # type: ignore[arg-type]


def test_a_capacitor_charges_along_its_exponential() -> None:
    # v = V (1 - exp(-t/RC)): any textbook; the joints' 10 milliohms do not show
    done = played(RC, "off 1ms, on 5ms", places=["net OUT"], faults=["healthy"])
    since = done.time - 1e-3
    exact = np.where(since > 0, 5.0 * -np.expm1(-np.maximum(since, 0) / 1e-3), 0.0)
    assert np.abs(done.volts["net OUT"][0] - exact).max() < 5e-3
    assert done.time.size < 60


def test_the_error_falls_with_the_square_of_the_step() -> None:
    errors = []
    for h in (4e-4, 2e-4, 1e-4):
        done = played(RC, "off 1ms, on 2ms", places=["net OUT"], faults=["healthy"], longest=h,
                      accuracy=1e9)  # fmt: skip
        since = np.maximum(done.time - 1e-3, 0.0)
        exact = 5.0 * -np.expm1(-since / 1e-3)
        errors.append(np.abs(done.volts["net OUT"][0] - exact)[-1])
    assert errors[0] / errors[1] > 3.0
    assert errors[1] / errors[2] > 3.0


def test_faults_of_a_capacitor_show_in_its_timing() -> None:
    faults = ["healthy", "C1 low value", "C1 open", "R1 drifted high"]
    done = played(RC, "off 1ms, on 3ms", places=["net OUT"], faults=faults, longest=5e-5)
    v = done.at(np.asarray([1.3e-3]), done.volts["net OUT"])[:, 0]
    since = 0.3e-3
    assert v[0] == pytest.approx(5 * -np.expm1(-since / 1e-3), abs=0.01)
    assert v[1] == pytest.approx(5 * -np.expm1(-since / 0.3e-3), abs=0.02)  # 30 % left, assumed
    assert v[2] == pytest.approx(5.0, abs=1e-3)
    assert v[3] < v[0]


def test_a_coil_rises_with_its_time_constant_and_dies_in_its_diode() -> None:
    # rise: i = V/R (1 - exp(-tR/L)). Decay through a diode of about 0.7 V:
    # i = (I + Vd/R) exp(-tR/L) - Vd/R
    done = played(RELAY, "open 1ms, closed 6ms, open 3ms", currents=["L1"], faults=["healthy"],
                  longest=1e-4)  # fmt: skip
    tau, most = 0.1 / 120.0, 24.0 / 120.0
    at = np.asarray([1e-3 + tau, 7e-3 + 0.5 * tau])
    found = done.at(at, done.currents["L1"])[0]
    assert found[0] == pytest.approx(most * (1 - np.exp(-1)), rel=0.01)
    drop = 0.75 / 120.0
    assert found[1] == pytest.approx((most + drop) * np.exp(-0.5) - drop, rel=0.01)


def test_a_zener_in_the_clamp_ends_it_sooner() -> None:
    """i = (I + V/R) exp(-tR/L) - V/R with V the zener's 24 V and a diode's 0.75 V: nought after
    L/R ln(1 + IR/V), 0.57 ms; any textbook on relay clamps."""
    zener = RELAY.replace("k=A", "k=X\nD2 zener 24 a=A k=X")
    done = played(zener, "open 1ms, closed 6ms, open 2ms", currents=["L1"], faults=["healthy"],
                  longest=5e-5)  # fmt: skip
    tau, most, drop = 0.1 / 120.0, 24.0 / 120.0, 24.75 / 120.0
    at = 7e-3 + np.asarray([0.2e-3, 0.4e-3, 0.7e-3])
    exact = np.maximum((most + drop) * np.exp(-(at - 7e-3) / tau) - drop, 0.0)
    assert done.at(at, done.currents["L1"])[0] == pytest.approx(exact, abs=0.01 * most)


def test_without_its_clamp_a_coil_breaks_down_what_switches_it() -> None:
    done = played(DRIVER, "off 1ms, one 4ms, off 2ms", places=["net C1"],
                  faults=["healthy", "D1 open"])  # fmt: skip
    healthy, open_clamp = done.volts["net C1"].max(axis=1)
    # zener 24 V (1N4749) and a diode above the 24 V rail; TIP120 is a 60 V type, and gives way
    # above that by the margin of its kind
    assert 47.0 < healthy < 52.0
    assert 60.0 < open_clamp < 95.0


def test_half_the_turns_take_twice_the_current_sooner() -> None:
    faults = ["healthy", "L1 half the turns"]
    done = played(DRIVER, "off 1ms, one 5ms", currents=["L1"], faults=faults)
    healthy, shorted = done.currents["L1"]
    assert abs(shorted[-1]) == pytest.approx(2.0 * abs(healthy[-1]), rel=0.06)
    half = [np.interp(0.5, np.abs(i / i[-1]), done.time) - 1e-3 for i in (healthy, shorted)]
    assert half[1] == pytest.approx(0.5 * half[0], rel=0.08)  # L k^2 / R k


def test_ripple_of_a_half_wave_rectifier_and_of_a_dried_reservoir() -> None:
    # textbook: V ripple = I / (f C) at most (A. J. Peyton, V. Walsh, Analog electronics with op
    # amps, 1993, chapter on supplies: from memory); a little less since it recharges for a while
    sine = Schedule(phases=(Phase(state="on", seconds=0.08),), sines=(
        Sine(rail="AC", volts=17.0, hertz=50.0),))  # fmt: skip
    done = played(SUPPLY, sine, places=["net OUT"], faults=["healthy", "C1 dried out"])
    late = done.time > 0.04
    healthy, dried = (np.ptp(v[late]) for v in done.volts["net OUT"])
    mean = done.volts["net OUT"][0][late].mean()
    most = mean / 100.0 / (50.0 * 1e-3)
    assert 0.75 * most < healthy < most
    assert dried > 2.5 * healthy


def test_motion_feeds_back_through_the_winding() -> None:
    emf = Emf(designator="L1", time=np.asarray([0.0, 20e-3]), volts=np.asarray([6.0, 6.0]))
    done = played(RELAY, "closed 10ms", currents=["L1"], faults=["healthy"], emf=[emf])
    assert done.currents["L1"][0, -1] == pytest.approx((24.0 - 6.0) / 120.0, rel=5e-3)


def test_faults_go_together_as_they_go_alone() -> None:
    compiled = world(DRIVER)
    names = [fault.id for fault in compiled.faults[::9]]
    schedule = "off 0.5ms, one 2ms, off 1ms"
    together = played(DRIVER, schedule, currents=["L1"], places=["net C1"], faults=names)
    assert not together.unresolved.any()
    for k in (3, 7, 11):
        alone = played(DRIVER, schedule, currents=["L1"], places=["net C1"], faults=[names[k]])
        apart = np.abs(alone.currents["L1"][0] - together.currents["L1"][k]).max()
        assert apart < 1e-5  # a step may be off by 3e-4 of 0.4 A; a device at rest by microamperes


def test_a_latch_holds_what_the_clock_gave_it() -> None:
    text = """board "latch"
rail +5 5V
U1 74LS175 1=+5 4=D 9=CLK 2=Q
offsheet D drive 74LS
offsheet CLK drive 74LS
state low D=low CLK=low
state up D=high CLK=low
state taken D=high pulse CLK
"""
    with pytest.raises(ScheduleError, match="4 steps and lasts 20 µs: give it more than 30 µs"):
        played(text, "low 1ms, taken 20us")
    done = played(text, "low 1ms, up 1ms, taken 1ms, low 1ms", places=["net Q"],
                  faults=["healthy", "U1 9 open"])  # fmt: skip
    at = np.asarray([0.9e-3, 1.9e-3, 2.9e-3, 3.9e-3])
    q = done.at(at, done.volts["net Q"])
    assert (q[0] > 2.4).tolist() == [False, False, True, True]
    assert not (q[1] > 2.4).any()


def test_a_case_that_drops_out_takes_no_clock_edge_from_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    text = """board "latch"
rail +5 5V
U1 74LS175 1=+5 4=D 9=CLK 2=Q
offsheet D drive 74LS
offsheet CLK drive 74LS
state low D=low CLK=low
state up D=high CLK=low
state high D=high CLK=high
"""
    step = March.step

    def dropping(self: March, t: float, h: float, guide: Guide | None = None) -> None:
        step(self, t, h, guide)
        if t + h > 1.9999e-3 and self.which.size == 2:
            self.drop(np.asarray([1]))

    monkeypatch.setattr(March, "step", dropping)
    done = played(text, "low 1ms, up 1ms, high 1ms", places=["net Q"],
                  faults=["healthy", "U1 9 open"])  # fmt: skip
    assert done.unresolved.tolist() == [False, True]
    assert done.volts["net Q"][0, -1] > 2.4


def test_a_clock_that_is_stuck_high_stays_there_whatever_the_healthy_one_does() -> None:
    """Where the healthy clock falls and rises, its moves are no good guess: the fault's clock must
    come back to its level, and the latch behind it see no edge."""
    text = files("halfsplit").joinpath("examples", "plotter-drive.board").read_text("utf-8")
    done = played(text, "rest 1ms, hold-A 1ms, hold-B 1ms", places=["net LATCH"],
                  currents=["L1", "L2"], faults=["healthy", "U1 31 stuck high"])  # fmt: skip
    assert np.ptp(done.volts["net LATCH"][0]) > 3.0
    assert done.volts["net LATCH"][1].min() > 3.0
    assert np.abs([amps[1] for amps in done.currents.values()]).max() < 1e-3
    assert np.abs([amps[0] for amps in done.currents.values()]).max() > 0.1


def test_edges_are_slow_where_little_drives_them() -> None:
    """10 to 90 % of an RC's rise takes 2.2 RC (any textbook on pulses): an open collector and its
    pull-up as typed and twice that; a totem pole that is weak, or behind a poor joint (10 to 60 %,
    of which RC alone takes 0.8 RC)."""
    text = """board "edges"
rail +5 5V
U1 7406 1=A 2=Y
R1 4k7 +5 Y
C1 film-capacitor 2.2nF Y GND
U2 74LS04 1=A 2=Z
C2 film-capacitor 10nF Z GND
offsheet A drive 74LS
state high A=high
state low A=low
"""
    faults = ["healthy", "R1 drifted high", "U2 2 weak high", "U2.2 joint resistive"]
    done = played(text, "high 100us, low 200us", places=["net Y", "net Z"], faults=faults,
                  longest=1e-6)  # fmt: skip
    late = done.time >= 100e-6

    def rise(net: str, row: int, top: float = 0.9) -> float:
        volts = done.volts[f"net {net}"][row][late]
        share = (volts - volts[0]) / (volts[-1] - volts[0])
        begin, end = np.interp([0.1, top], share, done.time[late])
        return float(end - begin)

    assert rise("Y", 0) == pytest.approx(2.2 * 4.7e3 * 2.2e-9, rel=0.02)
    assert rise("Y", 1) == pytest.approx(2.0 * rise("Y", 0), rel=0.03)
    # above its knee the totem pole of an LS output drives through 4 k only
    assert rise("Z", 2, 0.6) > 4.0 * rise("Z", 0, 0.6)
    assert rise("Z", 3, 0.6) > rise("Z", 0, 0.6) + 0.6 * 100.0 * 10e-9  # its 100 ohm are assumed


def test_values_that_nobody_gave_are_named() -> None:
    text = RELAY.replace("L1 coil 100m", "L1 coil ?")
    assert played(text, "open 1ms", faults=["healthy"]).assumed == ("L1",)
    assert played(RELAY, "open 1ms", faults=["healthy"]).assumed == ()


@pytest.mark.parametrize(
    ("text", "kind", "part"),
    [
        ("", ScheduleError, "rest 2ms"),
        ("on", ScheduleError, "how long"),
        ("on fast", ScheduleError, "'fast'"),
        ("on 0s", ScheduleError, "0s"),
        ("on 0Hz", ScheduleError, "0Hz"),
        ("on x0 1ms", ScheduleError, "x0"),
        ("onn 1ms", UnknownName, "did you mean on"),
        ("on 1ms 2ms", ScheduleError, "'2ms'"),
    ],
)
def test_a_schedule_that_cannot_be_played_says_why(
    text: str, kind: type[Exception], part: str
) -> None:
    with pytest.raises(kind, match=part):
        played(RC, text)


def test_ramps_and_turns_of_a_schedule() -> None:
    found = read_schedule("a/b x4 100Hz..400Hz, c X=high 2ms")
    assert [phase.state for phase in found.phases] == ["a", "b", "a", "b", "c"]
    rates = [1.0 / phase.seconds for phase in found.phases[:4]]
    assert rates == pytest.approx([100.0, 200.0, 300.0, 400.0])
    assert found.phases[4].drives[0].target == "X"


@pytest.mark.spice
def test_coil_currents_are_those_of_ngspice(ngspice: str, tmp_path: Path) -> None:
    compiled, faults = world(DRIVER), ["healthy", "D1 open", "R3 drifted high"]
    schedule = read_schedule("off 0.2ms, one 2ms, off 1.5ms")
    done = run(compiled, schedule, currents=["L1"], faults=faults)
    for deck, mine in zip(
        decks(compiled, schedule, faults, 10e-6), done.currents["L1"], strict=True
    ):
        theirs = play(ngspice, tmp_path, deck)
        assert theirs.time[-1] == pytest.approx(schedule.seconds)
        amps = np.interp(done.time, theirs.time, theirs.amps["L1"])
        error, most = amps - mine, np.abs(amps).max()
        assert np.sqrt(np.mean(error**2)) < 0.005 * most
        assert np.abs(error).max() < 0.03 * most  # the ring of its stray farads, see there


RELAY_SPICE = read_schedule("open 1ms, closed 3ms, open 2ms")
RC_SPICE = read_schedule("off 1ms, on 3ms, off 2ms")
SINE = Schedule(phases=(Phase(state="on", seconds=0.06),), sines=(
    Sine(rail="AC", volts=17.0, hertz=50.0),))  # fmt: skip


@pytest.mark.spice
@pytest.mark.parametrize(
    ("text", "schedule", "net", "fault"),
    [
        (RELAY, RELAY_SPICE, "A", "L1 half the turns"),
        (RC, RC_SPICE, "OUT", "C1 low value"),
        (SUPPLY, SINE, "OUT", "C1 dried out"),
    ],
    ids=["relay", "reset", "rectifier"],
)
def test_waveforms_are_those_of_ngspice(
    text: str, schedule: Schedule, net: str, fault: str, ngspice: str, tmp_path: Path
) -> None:
    """A coil on a switch with its clamp, a capacitor that charges and is discharged, a rectifier
    with its reservoir: volts and currents, healthy and with a fault."""
    compiled, faults = world(text), ["healthy", fault]
    coils = [part.designator for part in compiled.board.parts if part.kind == "coil"]
    step = schedule.seconds / 3000
    done = run(
        compiled, schedule, currents=coils, places=[f"net {net}"], faults=faults, longest=step
    )
    for row, deck in enumerate(decks(compiled, schedule, faults, step, [net])):
        theirs = play(ngspice, tmp_path, deck)
        assert theirs.time[-1] == pytest.approx(schedule.seconds)
        pairs = [(theirs.amps[coil], done.currents[coil][row]) for coil in coils]
        if not coils:
            pairs.append((theirs.volts[net], done.volts[f"net {net}"][row]))
        for there, here in pairs:
            at_ours = np.interp(done.time, theirs.time, there)
            most = np.abs(there).max()
            assert most > 1e-2
            assert np.sqrt(np.mean((at_ours - here) ** 2)) < 0.01 * most
