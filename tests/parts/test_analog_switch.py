"""Analog switches and multiplexers against their data sheets: truth tables and pins of TI SCHS047
(CD4051B to CD4053B) and SCHS051 (CD4066B), read; on-state resistance of both, typical 470, 180 and
125 ohm at 5, 10 and 15 V, and 1050, 400 and 240 ohm at most (the 125 ohm read, the others from
memory).
"""

import pytest
from tests.parts.bench import Bench

CHANNELS: dict[str, dict[str, tuple[str, ...]]] = {
    "4051": {"3": ("13", "14", "15", "12", "1", "5", "2", "4")},
    "4052": {"13": ("12", "14", "15", "11"), "3": ("1", "5", "2", "4")},
}
"""Common pin -> the pins of channels 0, 1, 2 ... (SCHS047, pin functions)."""
ADDRESS: dict[str, tuple[str, ...]] = {"4051": ("11", "10", "9"), "4052": ("10", "9")}


def multiplexer(kind: str, address: str) -> Bench:
    """Channel n is on n + 1 V behind 1 kilohm; every common pin has 100 kilohm to ground."""
    rails, nets = [], []
    for common, pins in CHANNELS[kind].items():
        nets += [f"{common}=C{common}"]
        rails += [f"R9{common} 100k C{common} GND"]
        for n, pin in enumerate(pins):
            rails += [f"rail V{pin} {n + 1}V ohms=1000"]
            nets += [f"{pin}=V{pin}"]
    levels = " ".join(
        f"{pin}={'+10' if bit == '1' else 'GND'}"
        for pin, bit in zip(ADDRESS[kind], reversed(address), strict=True)
    )
    return Bench("\n".join([
        "rail +10 10V", *rails,
        f"U1 {kind} {' '.join(nets)} {levels} 6=INH 7=GND 8=GND 16=+10",
        "rail INH 10V ohms=1", "state on INH=0.01V", "state off INH=10V",
    ]))  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "address"),
    [("4051", f"{n:03b}") for n in range(8)] + [("4052", f"{n:02b}") for n in range(4)],
)
def test_an_address_connects_its_channel(kind: str, address: str) -> None:
    bench, channel = multiplexer(kind, address), int(address, 2)
    for common in CHANNELS[kind]:
        assert bench("on", f"C{common}") == pytest.approx(channel + 1, rel=0.03)
        assert abs(bench("off", f"C{common}")) < 0.01


@pytest.mark.parametrize(
    ("select", "common", "one", "other"), [("11", "14", "12", "13"), ("10", "15", "2", "1"),
                                           ("9", "4", "5", "3")]
)  # fmt: skip
def test_each_third_of_a_4053_chooses(select: str, common: str, one: str, other: str) -> None:
    bench = Bench(f"""
rail +10 10V
rail ONE 2V
rail OTHER 7V
rail S 10V ohms=1
R1 100k OUT GND
U1 4053 {one}=ONE {other}=OTHER {common}=OUT {select}=S 6=GND 7=GND 8=GND 16=+10
state low S=0.01V
state high S=10V
""")
    assert bench("low", "OUT") == pytest.approx(2.0, rel=0.02)
    assert bench("high", "OUT") == pytest.approx(7.0, rel=0.02)


@pytest.mark.parametrize(
    ("supply", "typical", "most"), [(5, 470, 1050), (10, 180, 400), (15, 125, 240)]
)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_resistance_follows_the_supply(
    supply: float, typical: float, most: float, share: float
) -> None:
    """Half the supply: within 15 % of typical; near either end below the most."""
    bench = Bench(f"""
rail VDD {supply}V
rail IN {share * supply}V
R1 10k OUT MID
rail MID {0.5 * supply}V
U1 4066 1=IN 2=OUT 13=VDD 14=VDD 7=GND
R2 10k OUT IN2
rail IN2 {share * supply - 0.1:.3f}V
state on
""")
    out, into = bench("on", "OUT"), share * supply
    amps = (out - 0.5 * supply) / 10e3 + (out - (into - 0.1)) / 10e3
    ohms = (into - out) / amps
    assert 0.0 < ohms < most
    if share == 0.5:
        assert ohms == pytest.approx(typical, rel=0.15)


def test_a_signal_below_ground_needs_vee() -> None:
    """-4 V passes with VEE at -5 V; with VEE at ground the clamp holds it near -0.7 V."""
    text = """
rail +5 5V
rail -5 -5V
rail IN -4V ohms=1000
R1 100k OUT GND
U1 4051 3=OUT 13=IN 6=GND 9=GND 10=GND 11=GND 8=GND 7={vee} 16=+5
state on
"""
    assert Bench(text.format(vee="-5"))("on", "OUT") == pytest.approx(-4.0, rel=0.03)
    assert -0.9 < Bench(text.format(vee="GND"))("on", "OUT") < -0.4


def test_an_open_switch_is_open_whatever_the_signal() -> None:
    bench = Bench("""
rail +5 5V
rail -5 -5V
rail IN -4V
R1 100k OUT GND
U1 4051 3=OUT 13=IN 6=+5 9=GND 10=GND 11=GND 8=GND 7=-5 16=+5
state off
""")
    assert abs(bench("off", "OUT")) < 1e-3


def test_a_signal_feeds_a_chip_without_supply() -> None:
    """Through the clamp to the supply pin (a diode below the signal)."""
    bench = Bench("""
rail IN 5V ohms=100
R1 1M VDD GND
U1 4066 1=IN 2=OUT 13=GND 14=VDD 7=GND
R2 1M OUT GND
state on
""")
    assert 4.0 < bench("on", "VDD") < 4.8


@pytest.mark.parametrize(
    ("fault", "least", "most"),
    [("healthy", 2.9, 3.1), ("U1 1 stuck open", -0.1, 0.1), ("U1 2 stuck closed", 2.9, 3.1),
     ("U1 1 weak", 2.0, 2.9)],
)  # fmt: skip
def test_what_a_broken_switch_reads(fault: str, least: float, most: float) -> None:
    bench = Bench("""
rail +10 10V
rail IN 3V
R1 10k OUT GND
U1 4066 1=IN 2=OUT 13=+10 4=IN 3=OTHER 5=GND 14=+10 7=GND
R2 10k OTHER GND
state on
""")
    named = next(each for each in bench.row if each == fault or each.endswith(fault))
    assert least < bench("on", "OUT", named) < most
    closed = "stuck closed" in fault
    assert (bench("on", "OTHER", named) > 2.5) == closed
