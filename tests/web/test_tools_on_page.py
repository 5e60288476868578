"""What had been on the command line alone: a meter measured, a sound compared, logic by tests."""

import io
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient
from tests.motion.boards import FOUR
from tests.web.conftest import LONG, People
from tests.web.test_flows import violations

from halfsplit.bench import Bench
from halfsplit.store import own_meter
from halfsplit.web.app import create_app

NANDS = """\
board "Two gates"
rail +5 5V
U1 74LS00 1=A 2=B 3=M 4=M 5=C 6=Y
offsheet A drive 74LS
offsheet B drive 74LS
offsheet C drive 74LS
output "y" level Y
state rest A=low B=low C=low
"""
ROWS = [["330", "0.33k", "0.425"], ["680", "683", "0.761"], ["1k", "1004", "1.000"]]


def on(tmp_path: Path, board: str) -> TestClient:
    path = tmp_path / "x.hsplit"
    Bench.create(path, board).close()
    return TestClient(create_app(path), base_url="http://127.0.0.1:8000")


def clicks(rate: float) -> bytes:
    """A WAV of clicks that ring at 700 Hz, ``rate`` a second."""
    since = np.arange(8000) / 8000.0 % (1.0 / rate)
    made = io.BytesIO()
    with wave.open(made, "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        ringing = np.exp(-400.0 * since) * np.sin(2.0 * np.pi * 700.0 * since)
        file.writeframes((20000 * ringing).astype("<i2").tobytes())
    return made.getvalue()


def test_failing_tests_of_two_gates(tmp_path: Path) -> None:
    def shown(**query: str) -> list[dict[str, Any]]:
        answer = client.get("/api/aside/gates", params=query)
        parts: list[dict[str, Any]] = answer.json()["parts"]
        return parts

    with on(tmp_path, NANDS) as client:
        assert shown()[0]["words"] == ["A B C : Y"]
        # On paper: with A = B = C = 1 a good card has M = 0 and Y = 1. Y = 0 needs M = 1 (a stuck
        # line there, or an input low) or Y itself stuck.
        faults = {row[1] for row in shown(tests="111:0")[1]["rows"]}
        assert {"Y stuck low", "M stuck high", "A stuck low"} <= faults
        assert not any(fault.startswith(("C stuck", "Y stuck high")) for fault in faults)
        left = {row[1] for row in shown(tests="111:0\n110:0")[1]["rows"]}
        assert {one for one in left if "else" not in one} == {"Y stuck low"}, "C = 0 makes Y = 1"
        leading = {row[1] for row in shown(tests="111:0", reads="M=low")[1]["rows"][:2]}
        assert leading == {"Y stuck low", "U1.4 (M) stuck high"}, "the net reads low, its pin high"
        assert client.get("/api/aside/gates", params={"tests": "11"}).status_code == 422


def test_a_recording_is_like_a_healthy_unit_at_its_own_rate_alone(tmp_path: Path) -> None:
    def likeness(rate: str) -> float:
        answer = client.post(
            "/api/aside/sound", params={"rate": rate}, content=clicks(100.0),
            headers={"content-type": "application/octet-stream"},
        )  # fmt: skip
        (part,) = answer.json()["parts"]
        shares = [float(row[0].removesuffix(" %")) for row in part["rows"]]
        assert shares == sorted(shares, reverse=True)
        return shares[0]

    with on(tmp_path, FOUR) as client:
        assert likeness("100") > likeness("31") + 20
        refused = client.post(
            "/api/aside/sound", content=b"RIFF",
            headers={"content-type": "application/octet-stream"},
        )  # fmt: skip
        assert refused.status_code == 422


def test_a_meter_that_was_measured_is_the_one_of_the_command_line(
    client: TestClient, case: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    asked = {"resistors": ROWS, "diode": ["0.611", "68k"], "keep": True}
    assert client.post("/api/meter/measured", json=asked).status_code == 201
    with Bench.open(case) as bench:
        meter = bench.told.meter
    # Ohm's law through two of the rows, 1/V = 1/Voc + (Rs/Voc)/R: 3.0 V behind 2.0 kohm.
    slope = (1 / 0.425 - 1 / 1.000) / (1 / 330 - 1 / 1000)
    assert meter.diode_volts == pytest.approx(1 / (1 / 1.000 - slope / 1000), rel=0.03)
    assert meter.diode_ohms == pytest.approx(slope * meter.diode_volts, rel=0.03)
    assert own_meter.load()["diode_volts"] == meter.diode_volts
    for wrong in (asked | {"resistors": ROWS[:2]}, asked | {"resistors": [["1k", "9", "OL"]] * 3}):
        assert client.post("/api/meter/measured", json=wrong).status_code == 422
    short = asked | {"resistors": [["1k"]]}
    assert client.post("/api/meter/measured", json=short).status_code == 400


@pytest.mark.browser
def test_a_meter_is_measured_at_the_keyboard(people: People) -> None:
    page = people.sits_down(390, 844)
    page.goto(people.server.address + "tools")
    people.ready(page)
    page.get_by_text("Measure it with three resistors").press("Enter")
    page.get_by_label("Resistor 1: its value").focus()
    typed: Callable[[str], None] = page.keyboard.type
    for row in [*ROWS, ["", "", ""], ["68k"]]:
        for text in row:
            typed(text)
            page.keyboard.press("Tab")
    typed("0,611")
    page.get_by_label("New cases begin with it too").uncheck()
    page.get_by_role("button", name="Work it out, and use it").press("Enter")
    expect(page.locator("#measured-said")).to_contain_text("diode test: 3 V open", timeout=LONG)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert violations(page) == []
    page.get_by_label("Resistor 4: its value").fill("1k")
    page.get_by_role("button", name="Work it out, and use it").click()
    expect(page.locator("#measured-trouble")).to_contain_text("Fill a whole row")
