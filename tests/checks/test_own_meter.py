"""The owner's meter from three resistors and a diode, and what it changes."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.build.worlds import world

from halfsplit.build.world import MeterSource
from halfsplit.checks._calibrate import DiodeReading, ResistorReading, calibrated
from halfsplit.checks.kind import Meter
from halfsplit.cli.main import main
from halfsplit.diagnose.told import meter_data, meter_of
from halfsplit.errors import CaseError, ReadingError
from halfsplit.store import own_meter

EMISSION = 1.8 * 0.025852


def played(
    volts: float, ohms: float, ohms_volts: float
) -> tuple[list[ResistorReading], DiodeReading]:
    """What a meter with these sources shows, by Ohm and Shockley, rounded to a millivolt."""
    resistors = [
        ResistorReading(known=r, ohms=1.004 * r, volts=round(volts * r / (r + ohms), 3))
        for r in (330.0, 680.0, 1000.0)
    ]

    def across(source: float, behind: float) -> float:
        return float(brentq(
            lambda v: (source - v) / behind - 2e-9 * math.expm1(v / EMISSION), 0.0, source
        ))  # fmt: skip

    reference = 100.0
    while True:  # the range that the reading fits
        drop = across(ohms_volts, reference)
        shown = reference * drop / (ohms_volts - drop)
        if shown <= reference:
            break
        reference *= 10.0
    return resistors, DiodeReading(volts=round(across(volts, ohms), 3), ohms=shown)


@pytest.mark.parametrize(
    ("volts", "ohms", "ohms_volts"), [(3.0, 2e3, 0.4), (2.6, 1.7e3, 0.6), (6.0, 5e3, 1.0)]
)
def test_three_resistors_and_a_diode_tell_what_a_meter_puts_on(
    volts: float, ohms: float, ohms_volts: float
) -> None:
    found = calibrated(Meter(), *played(volts, ohms, ohms_volts))
    assert found.diode_volts == pytest.approx(volts, rel=0.04)
    assert found.diode_volts / found.diode_ohms == pytest.approx(volts / ohms, rel=0.01)
    assert found.ohms_volts == pytest.approx(ohms_volts, rel=0.05)
    assert found.ohms_relative == pytest.approx(0.004)
    assert found.calibrated == 1.0


def test_readings_that_cannot_be_are_refused() -> None:
    resistors, diode = played(3.0, 2e3, 0.4)
    with pytest.raises(ReadingError, match="3 resistors"):
        calibrated(Meter(), resistors[:2], diode)
    wrong = [ResistorReading(known=1e3, ohms=1.0, volts=1.0)] * 3
    with pytest.raises(ReadingError, match="about 1000"):
        calibrated(Meter(), wrong, diode)
    over = [ResistorReading(known=one.known, ohms=one.ohms, volts=math.inf) for one in resistors]
    with pytest.raises(ReadingError, match="smaller ones"):
        calibrated(Meter(), over, diode)
    mixed = [ResistorReading(known=r, ohms=r, volts=1e3 / r) for r in (330.0, 680.0, 1000.0)]
    with pytest.raises(ReadingError, match="mixed up"):
        calibrated(Meter(), mixed, diode)
    with pytest.raises(ReadingError, match="anode"):
        calibrated(Meter(), resistors, DiodeReading(volts=math.inf, ohms=1e6))
    with pytest.raises(ReadingError, match="nothing beside it"):
        calibrated(Meter(), resistors, DiodeReading(volts=0.6, ohms=10.0))


BRIDGED = """
rail +5 5V
D1 1N4148 a=A k=GND
R1 100k A GND
R2 2k2 B GND
state on
"""


def test_ohms_and_diode_follow_the_meter() -> None:
    """Shockley's diode across 100 kilohm, and 2.2 kilohm in the diode test: Ohm's law."""
    compiled = world(BRIDGED)
    weak = MeterSource(ohms_volts=0.2, diode_volts=3.0, diode_ohms=1e3, known=True)
    strong = MeterSource(ohms_volts=1.5, diode_volts=2.5, diode_ohms=2.5e3, known=True)
    low, high = (compiled.ohms([("D1.a", "D1.k")], source).mean[0, 0] for source in (weak, strong))
    assert low == pytest.approx(100e3, rel=0.1)
    assert high < 0.5 * low
    for source in (weak, strong):
        share = 2200.0 / (2200.0 + source.diode_ohms)
        expected = source.diode_volts * share
        shown = compiled.diode([("R2.1", "R2.2")], source).mean[0, 0]
        assert shown == (pytest.approx(expected, rel=2e-3) if expected < 2.0 else math.inf)


def test_a_measured_meter_is_trusted_more() -> None:
    compiled = world(BRIDGED)
    usual, known = MeterSource(), MeterSource(known=True)
    pair = [("D1.a", "D1.k")]
    assert (compiled.ohms(pair, known).spread[0] < compiled.ohms(pair, usual).spread[0]).all()
    np.testing.assert_array_equal(compiled.ohms(pair, known).mean, compiled.ohms(pair, usual).mean)


def test_it_is_kept_and_new_cases_begin_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))

    def call(*words: str) -> str:
        assert main(list(words)) == 0
        return capsys.readouterr().out

    resistors, diode = played(2.6, 1.7e3, 0.6)
    said = [str(each) for one in resistors
            for each in ("--resistor", one.known, f"{one.ohms:.5g}", one.volts)]  # fmt: skip
    said += ["--diode", str(diode.volts), f"{diode.ohms:.4g}", "--esr", "100k", "--json"]
    found = json.loads(call("meter", *said))
    assert found["meter"]["diode_volts"] == pytest.approx(2.6, rel=0.04)
    assert Path(found["path"]).is_file()
    assert "100000 Hz" in call("meter")
    board = tmp_path / "one.board"
    board.write_text('board "One"\nrail +5 5V\nR1 1k +5 A\nR2 1k A GND\nstate on\n')
    call("new", str(tmp_path / "one.case"), "--board", str(board))
    assert "meter" in call("log", str(tmp_path / "one.case"), "--json")
    call("meter", "--forget")
    assert not Path(found["path"]).exists()


def test_a_file_that_is_no_meter_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "meter.json"
    own_meter.save({"misread": 0.02}, path)
    assert own_meter.load(path) == {"misread": 0.02}
    for text in ("{}", "[]", '{"schema": "halfsplit-meter/1", "meter": {"misread": "x"}}'):
        path.write_text(text)
        with pytest.raises(CaseError, match="--forget"):
            own_meter.load(path)


def test_cases_of_older_versions_have_a_usual_meter() -> None:
    data = meter_data(Meter(input_ohms=1e6))
    old = {name: value for name, value in data.items() if name in list(data)[:8]}
    assert meter_of(old) == Meter(input_ohms=1e6)
    with pytest.raises(KeyError):
        meter_of({"ohms_volts": 0.4})
