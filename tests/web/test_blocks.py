"""A block is opened on the page: the parts inside it typed in its place."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient
from tests.web.conftest import LONG, People
from tests.web.test_flows import violations

from halfsplit.bench import Bench
from halfsplit.board.source import find_source
from halfsplit.web.app import create_app

BOARD = find_source("level-alarm").text
INSIDE = "rail +5 5V\nU1 LM393 3=LEV 2=THR 1=TRIP\nR1 10k 5% REF THR\nR2 4k7 5% +5 TRIP"


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """A board of six blocks with one of its signals read."""
    path = tmp_path / "alarm.hsplit"
    with Bench.create(path, BOARD) as bench:
        bench.write("signal LEV @full", "4.0")
    return path


@pytest.fixture
def client(case: Path) -> Iterator[TestClient]:
    with TestClient(create_app(case), base_url="http://127.0.0.1:8000") as made:
        yield made


def test_what_is_typed_inside_is_checked_in_its_own_lines(client: TestClient) -> None:
    def examined(text: str) -> list[tuple[int, str]]:
        asked = {"block": "B4", "text": text}
        found = client.post("/api/board/inside/examined", json=asked).json()
        assert found["good"] == (not any(p["severity"] == "error" for p in found["problems"]))
        return [(p["line"], p["message"]) for p in found["problems"] if p["severity"] == "error"]

    assert examined(INSIDE) == []
    ((line, said),) = examined(INSIDE.replace("10k", "10kk"))
    assert line == 3
    assert "10kk" in said
    ((line, said),) = examined(INSIDE.replace("TRIP", "TRP"))
    assert line == 0, "it is about the block, not about a line of these"
    assert "got none on TRIP" in said


def test_opened_the_readings_are_kept(client: TestClient, case: Path) -> None:
    answer = client.post("/api/board/inside", json={"block": "B4", "text": INSIDE})
    assert answer.status_code == 201
    assert answer.json()["left"] == []
    assert '# opened: B4 block "comparator"' in answer.json()["text"]
    with Bench.open(case) as bench:
        assert bench.board.part("U1") is not None
        assert [one.counts for one in bench.log() if one.check] == [True]
    for refused in ({"block": "B9", "text": INSIDE}, {"block": "B5", "text": "R7 1k TRIP X"}):
        assert client.post("/api/board/inside", json=refused).status_code == 422


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_a_block_is_opened_by_keyboard(people: People, width: int, height: int) -> None:
    with Bench.open(people.server.case) as bench:
        bench.revise(BOARD)
        for check, text in (("LEV", "4.0"), ("TRIP", "0.2V")):
            bench.write(f"signal {check} @full", text)
        last = bench.write("symptom alarm lamp @full", "wrong")
    page = people.sits_down(width, height)
    people.ready(page, last)
    page.get_by_role("link", name="Type its parts in its place").press("Enter")
    people.ready(page)
    inside = page.get_by_label("What is inside")
    expect(inside).to_be_focused()
    expect(page.locator("#inside-block")).to_have_value("B4")
    expect(page.locator("#inside-nets")).to_have_text("It takes LEV REF and gives TRIP.")
    inside.fill(INSIDE)
    put = page.get_by_role("button", name="Put them in its place")
    expect(put).to_be_enabled(timeout=LONG)
    expect(page.locator('#sheet [data-part="R1"]')).to_have_count(1)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert violations(page) == []
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#inside-said")).to_contain_text("B4 is opened; the readings are kept.")
    expect(page.locator("#text")).to_have_value(BOARD.replace("B4 block", "# opened: B4 block", 1)
        .replace("out 3=TRIP\n", f"out 3=TRIP\n{INSIDE}\n", 1))  # fmt: skip
    with Bench.open(people.server.case) as bench:
        assert bench.board.part("U1") is not None
