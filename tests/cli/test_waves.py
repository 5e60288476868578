"""Commands that read captures of phase lines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.cli.conftest import Call
from tests.waves.lines import lines_of_cycle
from tests.waves.played import ONE_ON
from tests.waves.test_stages import without

from halfsplit.capture.read import read
from halfsplit.capture.record import Analog
from halfsplit.waves.align import shifted
from halfsplit.waves.line import Line


def vcd(lines: list[Line]) -> str:
    """A value change dump by IEEE 1364-2005, clause 18, at 1 us."""
    head = "".join(f"$var wire 1 {i} {line.name} $end\n" for i, line in enumerate(lines))
    body = []
    moments = sorted({0.0, *(float(e) for line in lines for e in line.edges), lines[0].stop})
    for at in moments:
        body.append(f"#{round(at * 1e6)}")
        body += [f"{int(line.at(np.array([at + 2e-7]))[0])}{i}" for i, line in enumerate(lines)]
    return f"$timescale 1 us $end\n{head}$enddefinitions $end\n" + "\n".join(body) + "\n"


def test_command_names_the_first_bad_stage(
    call: Call, folder: Path, rng: np.random.Generator
) -> None:
    pa, pb, *_ = lines_of_cycle(ONE_ON, rng)
    qa = Line(name="QA", start=pa.start, stop=pa.stop, first=pa.first, edges=pa.edges + 1e-6)
    da = without(qa.inverted(), 3)
    da = Line(name="DA", start=pa.start, stop=pa.stop, first=da.first, edges=da.edges)
    (folder / "in.vcd").write_text(vcd([pa, pb, qa]))
    (folder / "out.vcd").write_text(vcd([shifted(da, 0.0)]))
    stages = ["--stage", "A>QA=buffer", "--stage", "QA>DA=inverter"]
    said = call("stages", "in.vcd", "--outputs", "out.vcd", *stages, "--json")
    assert said.code == 0, said.err
    assert said.data["first_bad"] == "DA"
    assert [one["verdict"] for one in said.data["stages"]] == ["right", "missing"]
    assert "first bad stage is DA" in call("stages", "in.vcd", "--outputs", "out.vcd", *stages).out
    assert call("stages", "in.vcd", "--stage", "A-QA").code == 2
    assert call("stages", "in.vcd", "--stage", "A>QB=buffer").code == 2


def test_command_steps(call: Call, folder: Path, rng: np.random.Generator) -> None:
    lines = lines_of_cycle(ONE_ON, rng, fault="stuck off", which=(2,))
    (folder / "seek.vcd").write_text(vcd(lines))
    data = call("steps", "seek.vcd", "--json").data
    assert data["verdict"] == "stuck off"
    assert data["lines"] == ["C"]
    assert isinstance(data["steps"], list)
    assert sum(step["moved"] for step in data["steps"]) == 59
    assert "C never comes on" in call("steps", "seek.vcd").out
    part = call("steps", "seek.vcd", "--from", "0.1", "--to", "150ms", "--json").data
    assert 0 < len(part["steps"]) < len(data["steps"])
    assert call("steps", "seek.vcd", "--lines", "A,X").code == 2
    assert call("steps", "divider.board").code == 2


def test_command_compare(call: Call, folder: Path, rng: np.random.Generator) -> None:
    (folder / "good.vcd").write_text(vcd(lines_of_cycle(ONE_ON, rng)))
    (folder / "sister.vcd").write_text(vcd(lines_of_cycle(ONE_ON, rng)))
    slow = lines_of_cycle(ONE_ON, rng, step=6e-3)
    (folder / "slow.vcd").write_text(vcd(slow))
    said = call("compare", "sister.vcd", "--good", "good.vcd", "--write", "unit.json", "--json")
    assert said.data["good"] is True
    assert "as far as exercised: 59 steps, both directions" in said.data["verdict"]
    kept = call("compare", "slow.vcd", "--good", "unit.json", "--json").data
    assert [one["what"] for one in kept["differences"]] == ["timing"]
    assert "not proven" in call("compare", "slow.vcd").out
    assert call("compare", "slow.vcd", "--write", "x.json").code == 2
    assert call("compare", "slow.vcd", "--good", "unit.json", "--good", "good.vcd").code == 2


TRUTH = Path(__file__).parents[1] / "truth" / "captures"
"""Dumps of Icarus Verilog; the README beside them says how they were made."""


def test_compare_learns_what_commands_bring(call: Call) -> None:
    """The source says: 30 us after each rising edge of step, up while dir is high; of 50 commands
    every ninth lost, or 200 us from the sixth on."""
    good, lossy, slow = (str(TRUTH / f"command{fault}.vcd") for fault in range(3))
    told = ["--lines", ",".join(f"phases[{bit}]" for bit in range(4)), "--step", "step"]
    told += ["--dir", "dir", "--on", "high", "--in-order"]
    words = ["--good", good, *told]
    said = call("compare", good, *words, "--write", "unit.json", "--json")
    assert said.code == 0, said.err
    assert "50 steps, both directions" in said.data["verdict"]
    commands = said.data["manner"]["commands"]
    assert commands["edge"] == "rising"
    assert commands["delay"] == pytest.approx(30e-6, abs=1e-6)
    assert commands["high"] == "up"
    assert commands["ahead"] == pytest.approx(100e-6, abs=1e-6)
    kept = call("compare", slow, "--good", "unit.json", *told, "--json").data
    (late,) = (one for one in kept["differences"] if one["what"] == "delay")
    assert late["sentence"].startswith("45 of 50 steps come at another time")
    found = call("compare", lossy, *words).out
    assert "5 of 50 commands bring no step" in found
    assert call("compare", good, "--good", good, "--dir", "dir").code == 2


LINES_BOARD = """\
board "Two lines" rev A
rail +5 5V
offsheet PA drive 74LS
offsheet PB drive 74LS
offsheet PC drive 74LS
R1 1k PA MA
R2 1k MA GND
R3 10k PB GND
R4 10k PC GND
state run PA=low PB=low PC=low
output "middle" volts MA above 1V
"""


def test_command_exercise(call: Call, folder: Path) -> None:
    (folder / "lines.board").write_text(LINES_BOARD)
    words = ["exercise", "play.vcd", "--lines", "PA,PB,PC", "--volts", "12", "--ohms", "30"]
    said = call(*words, "--moves", "9,-6", "--board", "lines.board", "--json")
    assert said.code == 0, said.err
    assert said.data["current_limit"] == pytest.approx(0.48)
    assert any("current limited" in one for one in said.data["cautions"])
    middle = {one["state"]: one["mean"] for one in said.data["predicted"] if one["net"] == "MA"}
    # Two equal resistors halve what a 74LS output gives when high, 2.7 to 4 V.
    assert 1.2 < middle["play-100"] < 2.0
    assert middle["play-010"] < 0.3
    assert call("steps", "play.vcd", "--json").data["verdict"] == "right"
    assert call(*words, "--response", "x.csv").code == 2
    assert "Limit the supply to 0.48 A" in call(*words).out
    assert call(*words, "--hold", "20s").code == 2
    assert call("exercise", "play.txt", *words[2:]).code == 2
    assert call(*words, "--moves", "up").code == 2


def test_the_response_to_an_exercise_is_a_waveform(call: Call, folder: Path) -> None:
    """A capacitor behind two equal resistors is charged to 63 % after R C, R being both in
    parallel and half of what the output has (textbook; a 74LS high has about 100 ohm)."""
    (folder / "lines.board").write_text(LINES_BOARD + "C1 1u MA GND\n")
    words = ["exercise", "play.vcd", "--lines", "PA,PB,PC", "--volts", "12", "--ohms", "30"]
    said = call(*words, "--moves", "6", "--board", "lines.board", "--response", "r.csv", "--json")
    assert said.code == 0, said.err
    assert said.data["response"] == "r.csv"
    response = read(folder / "r.csv")
    assert {"PA", "PB", "PC", "MA"} <= set(response.names)
    seconds = np.linspace(0.0, 0.02, 20_001)
    volts = response.channel("MA")
    assert isinstance(volts, Analog)
    own = volts.at(seconds) / volts.at(0.0295)
    # The first code begins after 10 ms and holds for 20 ms.
    reached = seconds[(own > 1.0 - np.exp(-1.0)).argmax()] - 0.01
    assert reached == pytest.approx(0.5e-3, rel=0.15)


def test_steps_are_drawn(call: Call, folder: Path, rng: np.random.Generator) -> None:
    (folder / "seek.vcd").write_text(vcd(lines_of_cycle(ONE_ON, rng, fault="late", which=(2,))))
    data = call("steps", "seek.vcd", "--svg", "seek.svg", "--json").data
    assert {one["kind"] for one in data["oddities"]} == {"late"}
    assert "C releases late" in (folder / "seek.svg").read_text()
    assert call("steps", "seek.vcd", "--svg", "none/seek.svg").code == 2


def test_command_rail(call: Call, folder: Path, rng: np.random.Generator) -> None:
    at = np.arange(0.0, 0.5, 1e-3)
    volts = 5.0 + 0.01 * rng.standard_normal(len(at))
    volts[200:205] = 4.0
    rows = [f"{t:.3f},{v:.4f}" for t, v in zip(at, volts, strict=True)]
    (folder / "rail.csv").write_text("time (s),VCC (V)\n" + "\n".join(rows) + "\n")
    words = ["rail", "rail.csv", "--channel", "VCC", "--lowest", "4.75V"]
    data = call(*words, "--json").data
    assert [one["time"] for one in data["dips"]] == [pytest.approx(0.2, abs=1e-3)]
    assert data["mean"] == pytest.approx(5.0, abs=0.01)
    assert data["coincidence"] is None
    assert "1 dip." in call(*words).out
    assert call(*words[:-1], "6V").code == 2


def test_command_coil(call: Call, folder: Path) -> None:
    # i = V/R (1 - exp(-t R/L)) of 12 V, 60 ohm, 30 mH, where 30 ohm is expected.
    at = np.arange(0.0, 3e-3, 1e-5)
    current = 12 / 60 * (1 - np.exp(-at * 60 / 30e-3))
    rows = [f"{t:.6f},{i:.6f}" for t, i in zip(at, current, strict=True)]
    (folder / "coil.csv").write_text("time (s),I (A)\n" + "\n".join(rows) + "\n")
    words = ["coil", "coil.csv", "--channel", "I", "--volts", "12", "--ohms", "30"]
    words += ["--henries", "30mH", "--drop", "0V", "--peak", "80V"]
    data = call(*words, "--json").data
    assert data["tau"] == pytest.approx(0.5e-3, rel=0.01)
    assert [one["verdict"] for one in data["findings"]] == ["resistance high", "no clamp"]
    assert "bad joint" in call(*words).out
    assert call(*words[:-4], "--drop", "13V").code == 2
