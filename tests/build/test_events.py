"""Logic over time against textbook counters and registers, and against the DC engine at rest."""

from importlib.resources import files

import numpy as np
import pytest
from tests.build.worlds import number, world

from halfsplit.build.events import Played, play
from halfsplit.build.transient_schedule import read_schedule
from halfsplit.errors import PlaceError, UnknownName

RIPPLE = """board "ripple counter"
rail +5 5V
U1 74LS74 2=B0 3=CLK 1=CLR 4=+5 5=A0 6=B0 12=B1 11=B0 13=CLR 10=+5 9=A1 8=B1
U2 74LS74 2=B2 3=B1 1=CLR 4=+5 5=A2 6=B2 12=B3 11=B2 13=CLR 10=+5 9=A3 8=B3
offsheet CLK drive 74LS
offsheet CLR drive 74LS
state clear CLR=low CLK=low
state low CLR=high CLK=low
state high CLR=high CLK=high
"""
SHIFT = """board "shift register"
rail +5 5V
U1 74LS175 1=CLR 9=CLK 4=D 2=Q0 5=Q0 7=Q1 12=Q1 10=Q2 13=Q2 15=Q3
offsheet CLK drive 74LS
offsheet CLR drive 74LS
offsheet D drive 74LS
state clear CLR=low CLK=low D=low
state low CLR=high CLK=low D=low
state high CLR=high CLK=high D=low
"""
GATES = """board "gates"
rail +5 5V
U1 74LS74 2=D 3=CLK 1=+5 4=+5 5=Q
U2 74LS00 1=Q 2=EN 3=Y
Q1 2N2222 b=B c=N e=GND
R1 4k7 Y B
R2 2k2 +5 N
U3 74LS04 1=N 2=OUT
offsheet D drive 74LS
offsheet CLK drive 74LS
offsheet EN drive 74LS
state off EN=low CLK=low D=low
state on EN=high CLK=low D=low
state taken EN=high CLK=high D=low
"""
HAZARD = """board "hazard"
rail +5 5V
U1 74{inverter}04 1=A 2=NA
U2 74{nand}00 1=A 2=NA 3=Y
offsheet A drive 74LS
state low A=low
state high A=high
"""
RING = """board "ring"
rail +5 5V
U1 74LS00 1=EN 2=C 3=A
U2 74LS04 1=A 2=B 3=B 4=C 5=EN 6=OTHER
offsheet EN drive 74LS
state still EN=low
state rings EN=high
"""
SHOT = """board "one-shot"
rail +5 5V
U1 {chip} {pins} {q}=Q
R1 10k +5 R
C1 film-capacitor 10nF C R
offsheet T drive 74LS
state high T=high
state low T=low
"""
OUTPUTS = ["net A0", "net A1", "net A2", "net A3"]


def played(text: str, schedule: str, places: list[str], faults: list[str] | None = None) -> Played:
    return play(world(text), read_schedule(schedule), places=places, faults=faults or ["healthy"])


def test_a_ripple_counter_divides_by_two_in_each_stage() -> None:
    # P. Horowitz and W. Hill, The Art of Electronics, 3rd ed., 10.4.2 (from memory): divide by
    # 2^n, and each stage is late by one delay more
    done = played(RIPPLE, "clear 10us, low/high x64 1us, low 1us", OUTPUTS)
    for stage, place in enumerate(OUTPUTS):
        edges = done.edges(place, "healthy")
        rising = [t for t, level in edges if level == "1"]
        assert edges[0] == (0.0, "0")
        assert len(rising) == 32 // 2 ** (stage + 1)
        assert np.diff(rising) == pytest.approx(2e-6 * 2 ** (stage + 1))
    late = [done.edges(place, "healthy")[-1][0] - 73e-6 for place in OUTPUTS]
    assert late == pytest.approx([20e-9 * (stage + 1) for stage in range(4)])


def test_a_stuck_stage_stops_all_that_follow() -> None:
    faults = ["healthy", "U1 8 stuck low", "U1 3 open"]
    done = played(RIPPLE, "clear 10us, low/high x64 1us, low 1us", OUTPUTS, faults)
    counts = [[len(done.edges(place, fault)) for place in OUTPUTS] for fault in faults]
    assert counts[0] == [33, 17, 9, 5]
    assert counts[1][2:] == [1, 1]
    assert counts[1][0] == 33
    assert counts[2] == [1, 1, 1, 1]


def test_nothing_is_known_before_it_is_cleared() -> None:
    done = played(RIPPLE, "low 10us, high 10us, clear 10us", ["net A0", "net A3"])
    edges = done.edges("net A0", "healthy")
    assert [level for _, level in edges] == ["X", "0"]
    assert edges[1][0] == pytest.approx(20.02e-6)
    assert done.at("net A3", 15e-6) == "X"


def test_a_shift_register_passes_a_one_along() -> None:
    q = [f"net Q{k}" for k in range(4)]
    done = played(SHIFT, "clear 5us, low D=high 1us, high D=high 1us, low/high x8 1us", q)
    shown = ["".join(done.at(place, 5.9e-6 + 2e-6 * k + 1e-6) for place in q) for k in range(5)]
    assert shown == ["1000", "0100", "0010", "0001", "0000"]


def test_an_unknown_stops_where_it_does_not_matter() -> None:
    # Q is unknown; NAND with a low input is high all the same, and passes the transistor
    places = ["net Q", "net Y", "net N", "net OUT"]
    done = played(GATES, "off 10us, on 10us, taken 10us", places)
    assert "".join(done.at(place, 5e-6) for place in places) == "X101"
    assert "".join(done.at(place, 15e-6) for place in places) == "XXXX"
    assert "".join(done.at(place, 25e-6) for place in places) == "0101"


@pytest.mark.parametrize(("inverter", "nand", "width"), [("LS", "", 0), ("", "LS", 12e-9)])
def test_a_pulse_shorter_than_the_delay_dies(inverter: str, nand: str, width: float) -> None:
    text = HAZARD.format(inverter=inverter, nand=nand)
    done = played(text, "low 1us, high 1us", ["net Y"])
    edges = done.edges("net Y", "healthy")
    if not width:
        assert edges == ((0.0, "1"),)
    else:
        assert [level for _, level in edges] == ["1", "0", "1"]
        assert edges[2][0] - edges[1][0] == pytest.approx(width)


def test_a_ring_of_three_is_restless_and_unknown() -> None:
    done = played(RING, "still 1us, rings 20us", ["net A", "net OTHER"])
    assert done.restless.tolist() == [True]
    assert done.at("net A", 21e-6) == "X"
    assert done.at("net OTHER", 21e-6) == "0"
    assert not played(RING, "still 1us", ["net A"]).restless.any()


@pytest.mark.parametrize(
    ("chip", "pins", "q", "share"),
    [
        ("74121", "3=T 4=+5 5=+5 11=R 10=C", "6", 0.7),
        ("74LS123", "1=T 2=+5 3=+5 15=R 14=C", "13", 0.45),
    ],
)
def test_a_one_shot_is_as_wide_as_its_data_sheet_says(
    chip: str, pins: str, q: str, share: float
) -> None:
    # 121: t = R C ln 2, 0.7 R C; LS123: 0.45 R C (data sheets, from memory)
    text = SHOT.format(chip=chip, pins=pins, q=q)
    faults = ["healthy", "C1 low value", "R1 open", f"U1 {q} stuck low"]
    done = played(text, "high 10us, low 300us", ["net Q"], faults)
    widths = []
    for fault in faults:
        times = [t for t, _ in done.edges("net Q", fault)[1:]]
        widths.append(times[1] - times[0] if len(times) == 2 else len(times))
    usual = share * 10e3 * 10e-9
    assert widths[:2] == pytest.approx([usual, 0.3 * usual])
    assert widths[2:] == [1, 0]  # begins and never ends; nothing at all


def test_only_a_retriggerable_one_shot_begins_again() -> None:
    schedule = "high 10us, low 20us, high 5us, low 200us"
    ends = []
    for chip, pins, q in (("74LS123", "1=T 2=+5 3=+5 15=R 14=C", "13"),
                          ("74LS221", "1=T 2=+5 3=+5 15=R 14=C", "13")):  # fmt: skip
        done = played(SHOT.format(chip=chip, pins=pins, q=q), schedule, ["net Q"])
        ends.append(done.edges("net Q", "healthy")[-1][0])
    assert ends == pytest.approx([35e-6 + 45e-6, 10e-6 + 70e-6], abs=0.1e-6)


def test_the_end_is_where_the_dc_engine_says() -> None:
    text = (files("halfsplit") / "examples" / "logic-card.board").read_text(encoding="utf-8")
    compiled = world(text)
    faults = [fault.id for fault in compiled.faults[::24]]
    places = ["net FLAG", "net DATA", "net nY0", "net nSET"]
    done = play(compiled, read_schedule("set 100us"), places=places, faults=faults)
    numbers = compiled.volts("set", places)
    compared = 0
    for c, place in enumerate(places):
        for k, fault in enumerate(faults):
            row = number(compiled, fault)
            there, here = numbers.mean[row, c], done.volts[place][k]
            sure = np.isnan(numbers.other[row, c]) and not numbers.floating[row, c]
            if sure and np.isfinite(here):
                # a gate whose input floats near its threshold is not quite on in DC
                assert here == pytest.approx(there, abs=0.2), (place, fault)
                compared += 1
    assert compared > 0.8 * len(faults) * len(places)


def test_unknown_names_are_refused() -> None:
    with pytest.raises(UnknownName, match="unknown fault 'U1 9 stuck'"):
        played(RIPPLE, "low 1us", [], ["U1 9 stuck"])
    with pytest.raises(PlaceError):
        played(RIPPLE, "low 1us", ["net A9"])
