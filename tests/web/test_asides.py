"""What is asked beside the next check, and what is kept of the owner."""

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient
from tests.web.conftest import BOARD, LONG, People

from halfsplit import web
from halfsplit.bench import Bench
from halfsplit.glossary import WORDS
from halfsplit.web.app import create_app

WIRE_30 = 0.3386
"""Ohms of a metre of copper wire, gauge 30, at 20 degrees (NBS Handbook 100; from memory)."""


def told(client: TestClient, name: str, **query: str) -> list[dict[str, Any]]:
    answer = client.get(f"/api/aside/{name}", params=query)
    assert answer.status_code == 200, answer.text
    parts: list[dict[str, Any]] = answer.json()["parts"]
    return parts


def test_a_wire_loses_what_the_handbook_says(client: TestClient) -> None:
    first = told(client, "wire", amps="100mA", mm="1000")[0]
    row = next(row for row in first["rows"] if row[0] == "30")
    millivolts = float(row[2].removesuffix(" mV"))
    assert millivolts == pytest.approx(1e3 * 0.1 * WIRE_30, rel=0.02)


def test_a_proof_takes_the_passes_of_a_success_run(client: TestClient) -> None:
    rows = told(client, "proof", right="90", sure="95")[0]["rows"]
    # Success run, no failure allowed: the least n with R^n <= 1 - C.
    assert int(rows[0][0]) == math.ceil(math.log(1 - 0.95) / math.log(0.9)) == 29


def test_a_plan_empties_nothing_that_is_not_there_and_names_each_rail(client: TestClient) -> None:
    parts = told(client, "power-up")
    assert parts[0]["head"] == "Caution"
    steps = " ".join(row[1] for row in parts[1]["rows"])
    assert "+5" in steps
    assert "through" not in steps, "no capacitor keeps a charge on this board"


def test_a_part_and_its_like_are_weighed(client: TestClient) -> None:
    parts = told(client, "replacement", part="Q1")
    assert parts[0]["head"] == "Q1: npn 2N2222"
    names = [row[1] for part in parts for row in part["rows"]]
    assert "2N3904" in names


def test_going_on_is_weighed_against_a_substitute(client: TestClient) -> None:
    limits = {"without_kinds": [], "without_setups": [], "give_up": 1.0}
    assert client.post("/api/limits", json=limits).status_code == 201
    assert client.get("/api/settings").json()["limits"]["give_up"] == 1.0
    assert "Nobody has said" not in " ".join(told(client, "worth")[0]["words"])
    assert client.post("/api/limits", json=limits | {"give_up": -1}).status_code == 400


@pytest.mark.parametrize(
    ("name", "query"),
    [("fortune", {}), ("replacement", {"part": "R99"}), ("wire", {"net": "XY"}),
     ("proof", {"right": "fish"}), ("proof", {"right": "0"})],
)  # fmt: skip
def test_what_cannot_be_answered_says_why(
    client: TestClient, name: str, query: dict[str, str]
) -> None:
    answer = client.get(f"/api/aside/{name}", params=query)
    assert answer.status_code == 422
    assert answer.json()["error"]["message"]


def test_a_board_without_a_motor_says_so(client: TestClient) -> None:
    (only,) = told(client, "motion")
    assert "No stepping motor" in only["words"][0]


def test_a_motor_without_its_supply_does_not_move(tmp_path: Path) -> None:
    # No current, no torque (common practice, no source).
    case = tmp_path / "motor.hsplit"
    board = BOARD.replace("rail +5 5V", "rail +5 5V\nrail +24 24V")
    windings = "".join(
        f"L{n} winding 40 inductance=50mH +24M C{n}\nQ{n}0 TIP120 c=C{n} b=B{n} e=GND\n"
        f"offsheet B{n} drive 74HC\n"
        for n in range(1, 5)
    )  # fmt: skip
    states = "".join(
        f"state s{n} IN=low " + " ".join(f"B{m}={'high' if m == n else 'low'}" for m in range(1, 5))
        + "\n" for n in range(1, 5)
    )  # fmt: skip
    head = board.partition("state off")[0]
    Bench.create(case, f"{head}F1 fuse 2A +24 +24M\n{windings}{states}").close()
    with TestClient(create_app(case), base_url="http://127.0.0.1:8000") as client:
        rows = {row[0]: row[1] for part in told(client, "motion") for row in part["rows"]}
        assert rows["+24 missing"] == "dead"


def test_proven_cases_are_handed_on_and_merged(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "own"))
    assert client.get("/api/experience").json() == {"proven": []}
    other = {
        "schema": "halfsplit-experience/1",
        "proven": [{"kind": "resistor", "mode": "open", "cases": 3}],
    }
    for _ in range(2):
        assert client.post("/api/experience", json=other).status_code == 201
    handed = json.loads(client.get("/api/experience/file").text)
    assert handed["proven"] == [{"kind": "resistor", "mode": "open", "cases": 6}]
    refused = client.post("/api/experience", json={"schema": "of another time"})
    assert refused.status_code == 422
    assert client.get("/api/experience").json()["proven"][0]["cases"] == 6


@pytest.mark.browser
def test_questions_are_answered_where_they_come_up(people: People) -> None:
    page = people.sits_down(390, 844)
    page.get_by_text("Switching it on").click()
    expect(page.locator('[data-aside="power-up"] .aside')).to_contain_text("Stop when")
    page.get_by_text("A wire for a broken track").click()
    wire = page.locator('[data-aside="wire"]')
    wire.locator("[name=net]").fill("LK")
    page.keyboard.press("Enter")
    expect(wire.locator(".aside")).to_contain_text("Take gauge")
    page.locator("#ranked li").filter(has_text="replace ").first.locator("summary").click()
    page.locator("#ranked").get_by_role("button", name="what may take the place").first.click()
    expect(page.locator("#ranked")).to_contain_text("What it stands here")
    assert page.evaluate("document.documentElement.scrollWidth") == 390


@pytest.mark.browser
def test_a_case_is_closed_unproven_and_a_meter_told_whole(people: People) -> None:
    page = people.sits_down()
    page.on("dialog", lambda asked: asked.accept())
    page.get_by_text("Proving and closing").click()
    page.locator("#unproven").click()
    expect(page.locator("#banners")).to_contain_text("This case is closed")
    page.goto(people.server.address + "tools")
    people.ready(page)
    expect(page.locator("[name=input_ohms]")).to_have_value("10")
    page.locator("[name=diode_amps]").fill("2")
    page.locator("[name=capacitance_hertz]").fill("400")
    page.get_by_role("button", name="Use this meter").click()
    expect(page.locator("#meter-said")).to_contain_text("Kept", timeout=LONG)
    with Bench.open(people.server.case) as bench:
        meter = bench.told.meter
    assert meter.diode_volts / meter.diode_ohms == pytest.approx(2e-3)
    assert (meter.capacitance_hertz, meter.calibrated) == (400.0, 1.0)


def test_every_word_of_ours_explains_itself_somewhere_on_the_pages() -> None:
    folder = Path(web.__file__).parent
    text = "".join(
        file.read_text(encoding="utf-8")
        for file in [*folder.glob("templates/*.html"), *folder.glob("static/*.js")]
    )
    pressed = set(re.findall(r"""\b(?:what|word)\("([^"]+)\"""", text))
    pressed |= {name for names in re.findall(r'explained\(.*?((?:, "[\w ]+")+)\)', text)
                for name in re.findall('"([^"]+)"', names)}  # fmt: skip
    table = re.search(r"const WORDS = \{(.*?)\}", text)
    assert table
    pressed |= set(re.findall(r': "([^"]+)"', table[1]))
    assert set(WORDS) - pressed == set()
