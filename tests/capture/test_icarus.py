"""A VCD file that Icarus Verilog wrote (tests/truth/captures), against what the source says."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halfsplit.capture.read import read
from halfsplit.capture.record import UNKNOWN, Z

FILE = Path(__file__).parents[1] / "truth" / "captures" / "steps.vcd"
US = 1e-6
OFF = (270 * US, 320 * US)
"""$dumpoff after 60 + 110 + 100 us, $dumpon 50 us later."""


@pytest.fixture(params=["numpy", ""])
def engine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HALFSPLIT_ENGINE", request.param)


@pytest.mark.usefixtures("engine")
def test_every_channel_is_what_the_source_says() -> None:
    record = read(FILE)
    assert record.end == pytest.approx(440 * US)
    assert set(record.names) >= {
        "turned",
        "clk",
        "dir",
        "volts",
        "count[7]",
        "phases[0]",
        "d.out[3]",
    }
    clk = record.channel("clk")
    asked = np.arange(1, 20) * 12.5 * US
    assert clk.at(asked).tolist() == [k % 2 for k in range(1, 20)]
    assert clk.at(sum(OFF) / 2) == UNKNOWN
    assert clk.at(330 * US) == 0
    assert record.channel("dir").at([169 * US, 171 * US]).tolist() == [0, 1]


@pytest.mark.usefixtures("engine")
def test_phases_turn_and_turn_back() -> None:
    record = read(FILE)
    # Rising edges at 12.5, 37.5 ... us; forward to 170 us, backward from there on.
    middles = (25 + 25 * np.arange(10)) * US
    bits = np.array([record.channel(f"phases[{bit}]").at(middles) for bit in range(4)])
    forward = [2, 4, 8, 1, 2, 4, 8]
    assert (2 ** np.arange(4) @ bits).tolist() == [*forward, 4, 2, 1]
    out = np.array([record.channel(f"d.out[{bit}]").at(middles) for bit in range(4)])
    assert (2 ** np.arange(4) @ out[:, :6]).tolist() == [15 - phase for phase in forward[:6]]
    assert (out[:, 7:] == Z).all()


@pytest.mark.usefixtures("engine")
def test_a_real_counts_the_edges() -> None:
    volts = read(FILE).channel("volts")
    asked = np.array([0, 13, 38, 263]) * US
    assert volts.at(asked).tolist() == [0.0, 0.25, 0.5, 0.25 * 11]
    turned = read(FILE).channel("turned")
    assert turned.at([169 * US, 171 * US]).tolist() == [1, 0]
