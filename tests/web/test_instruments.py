"""The meter on the card: it fills the box, tells its trouble beside it, keeps nobody waiting."""

from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event, Thread

import pytest
from playwright.sync_api import Page, expect
from starlette.testclient import TestClient
from tests.instruments.scpi_server import Cut, ScpiServer
from tests.web.conftest import People

from halfsplit.bench import Bench
from halfsplit.instruments.book import Entry, book_path, remember
from halfsplit.instruments.reading import ANSWERED

ASKED = {"check": "volts TP1 @on", "name": "bench"}
OTHERS = {"MEAS:RES?": "+4.70000000E+03", "MEAS:DIOD?": "+6.10000000E-01"}
SHOWN = {"volts": "1.2 mV", "ohms": "4.7 kΩ", "diode": "610 mV"}
"""What the box holds when the meter reads those, and 1.2 mV."""
Known = Callable[..., ScpiServer]


@pytest.fixture
def known() -> Iterator[Known]:
    """Start a meter and remember it."""
    servers: list[ScpiServer] = []

    def start(name: str = "bench", *, volts: object = "+6.82130000E-01") -> ScpiServer:
        servers.append(ScpiServer({**OTHERS, "MEAS:VOLT:DC?": volts}))  # type: ignore[dict-item]  # as given
        ways = {"errors": "SYST:ERR?", "talk": "measure"}
        remember(
            Entry(name=name, kind="meter", address=servers[-1].address, seconds=10.0, ways=ways)
        )
        return servers[-1]

    yield start
    book_path().unlink(missing_ok=True)
    for server in servers:
        server.stop()


def test_the_meter_reads_and_enters_nothing(client: TestClient, case: Path, known: Known) -> None:
    known()
    answer = client.post("/api/meter/reading", json=ASKED)
    assert answer.status_code == 200
    assert answer.json() == {
        "instrument": "bench", "function": "dc volts", "value": 0.68213, "text": "682.13 mV",
        "source": "meter bench",
    }  # fmt: skip
    with Bench.open(case) as bench:
        assert bench.last_event == 1


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (ASKED | {"name": "nobody"}, "unknown instrument"),
        (ASKED | {"check": "look R1"}, "type what came of it"),
        (ASKED | {"check": "volts X9 @on"}, "X9"),
        (ASKED, "closed connection"),
    ],
)
def test_what_cannot_be_read_is_told(
    client: TestClient, known: Known, asked: dict[str, str], says: str
) -> None:
    known(volts=Cut())
    answer = client.post("/api/meter/reading", json=asked)
    assert answer.status_code == 422
    assert says in answer.json()["error"]["message"]


def test_forms_of_other_pages_cannot_ask_the_meter(client: TestClient, known: Known) -> None:
    server = known()
    assert client.post("/api/meter/reading", data=ASKED).status_code == 415
    other = {"origin": "http://example.org"}
    assert client.post("/api/meter/reading", json=ASKED, headers=other).status_code == 403
    assert server.heard == []


def test_a_slow_meter_keeps_nobody_waiting(client: TestClient, known: Known) -> None:
    asked, go_on = Event(), Event()

    def slow(line: str) -> str:
        asked.set()
        assert go_on.wait(20.0)
        return "+1.0"

    known(volts=slow)
    answers: list[int] = []
    person = Thread(
        target=lambda: answers.append(client.post("/api/meter/reading", json=ASKED).status_code)
    )
    person.start()
    try:
        assert asked.wait(20.0)
        typed = {"check": "volts TP1 @on", "text": "0.68"}
        assert client.post("/api/readings", json=typed).status_code == 201
        assert client.get("/").status_code == 200
        assert answers == []
    finally:
        go_on.set()
        person.join()
    assert len(answers) == 1


def test_there_is_no_button_without_a_meter(client: TestClient, known: Known) -> None:
    assert 'id="meters"' not in client.get("/").text
    known()
    assert client.get("/").text.count("Read from the meter") == 1
    known("other-2")
    assert "Read from other-2" in client.get("/").text
    book_path().write_text("damaged", encoding="utf-8")
    page = client.get("/")
    assert page.status_code == 200
    assert 'id="meters"' not in page.text


def to_metered(page: Page) -> str:
    """Go through the suggestions to one that the meter answers; its kind."""
    for _ in range(6):
        kind = (page.locator("#next").get_attribute("data-check") or "").split(" ")[0]
        expect(page.locator("#meters")).to_be_visible(visible=kind in ANSWERED)
        if kind in SHOWN:
            return kind
        page.locator("#reading").press("ArrowDown")
    raise AssertionError("nothing for a meter among the suggestions")


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_the_button_fills_the_box_by_keyboard(
    people: People, known: Known, width: int, height: int
) -> None:
    known(volts="+1.20000000E-03")
    page = people.sits_down(width, height)
    kind = to_metered(page)
    button = page.get_by_role("button", name="Read from the meter")
    button.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#reading")).to_have_value(SHOWN[kind])
    expect(page.locator("#reading")).to_be_focused()
    assert page.locator("html").get_attribute("data-event") == "1", "nothing was entered"
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.keyboard.press("Enter")
    people.ready(page, 2)
    expect(page.locator("#entry-2")).to_contain_text(SHOWN[kind])
    expect(page.locator("#entry-2")).to_contain_text("read by meter bench")
    page.goto(f"{people.server.address}record")
    expect(page.locator(".record .readings")).to_contain_text("read by meter bench")


@pytest.mark.browser
def test_trouble_is_told_beside_the_box_which_stays(people: People, known: Known) -> None:
    known().stop()
    page = people.sits_down(390, 844)
    to_metered(page)
    page.locator("#reading").fill("0.7")
    button = page.get_by_role("button", name="Read from the meter")
    button.click()
    expect(page.locator("#reading-trouble")).to_contain_text("type the reading by hand")
    expect(page.locator("#reading")).to_have_value("0.7")
    expect(button).to_be_enabled()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator("#reading").press("Enter")
    people.ready(page, 2)
