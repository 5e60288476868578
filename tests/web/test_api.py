"""What the server answers, and what it refuses."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from halfsplit.bench import CASE_VARIABLE, Bench
from halfsplit.errors import CaseError
from halfsplit.web.app import create_app
from halfsplit.web.guard import MOST_BYTES
from halfsplit.web.snapshot import snapshot

HERE = "http://127.0.0.1:8000"
TYPED = {"check": "volts TP1 @on", "text": "0.68"}


@contextmanager
def news(client: TestClient) -> Iterator[Any]:
    with client.websocket_connect(f"{HERE}/news".replace("http", "ws")) as socket:
        yield socket


def until(socket: Any, event: int) -> dict[str, Any]:
    """The first state that follows from the log up to that event."""
    while True:
        state: dict[str, Any] = json.loads(socket.receive_text())
        if state["ready"] and state["last_event"] >= event:
            return state


def test_the_page_comes_with_drawing_and_without_anything_inline(client: TestClient) -> None:
    page = client.get("/")
    assert page.status_code == 200
    assert "Lamp switch of an invented tester" in page.text
    assert 'data-part="Q1"' in page.text
    assert "<style" not in page.text
    assert " style=" not in page.text
    assert "<script>" not in page.text
    assert " on" + "click=" not in page.text


def test_headers_keep_everything_local(client: TestClient) -> None:
    # Content Security Policy Level 3 (W3C); X-Content-Type-Options: WHATWG Fetch.
    for path in ("/", "/api/state", "/static/main.js", "/nowhere"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize("host", ["example.org", "127.0.0.1.example.org", "192.168.1.7:8000", ""])
def test_other_hosts_are_refused(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost:8000", "[::1]:8000"])
def test_this_machine_is_served(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("origin", ["http://example.org", "http://127.0.0.1:9", "null"])
def test_pages_of_other_origins_change_nothing(client: TestClient, origin: str) -> None:
    answer = client.post("/api/readings", json=TYPED, headers={"origin": origin})
    assert answer.status_code == 403
    with (
        pytest.raises(WebSocketDisconnect),
        client.websocket_connect("ws://127.0.0.1:8000/news", headers={"origin": origin}),
    ):
        pass
    assert client.get("/api/state").json()["last_event"] <= 1


def test_a_form_of_another_page_is_refused(client: TestClient) -> None:
    answer = client.post("/api/readings", content="check=volts", headers={
        "content-type": "text/plain"})  # fmt: skip
    assert answer.status_code == 415
    answer = client.post("/api/undo", json={}, headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403


def test_a_body_that_is_too_large_is_refused(client: TestClient) -> None:
    large = {"check": "volts TP1 @on", "text": "x" * MOST_BYTES}
    assert client.post("/api/readings", json=large).status_code == 413

    def pieces() -> Iterator[bytes]:
        for _ in range(80):
            yield b" " * 1000

    answer = client.post(
        "/api/readings", content=pieces(), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 413


@pytest.mark.parametrize("body", ["[1]", "{", "1e999", '{"check": 3, "text": "x"}', "[" * 20000])
def test_a_body_of_another_form_is_refused(client: TestClient, body: str) -> None:
    answer = client.post(
        "/api/readings", content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code == 400
    assert "expected" in answer.json()["error"]["message"]


@pytest.mark.parametrize("number", ['"2"', "true", "1.5", "[]"])
def test_an_undo_wants_a_whole_number(client: TestClient, number: str) -> None:
    answer = client.post("/api/undo", content=f'{{"number": {number}}}', headers={
        "content-type": "application/json"})  # fmt: skip
    assert answer.status_code == 400


def test_a_reading_is_on_the_disk_when_it_is_acknowledged(client: TestClient, case: Path) -> None:
    assert client.post("/api/readings", json=TYPED).json() == {"number": 2}
    with Bench.open(case) as other:
        (reading,) = other.told.readings
        assert (reading.check.id, reading.reading.value) == ("volts TP1 @on", 0.68)


def test_a_reading_that_is_not_understood_is_refused_with_a_reason(client: TestClient) -> None:
    answer = client.post("/api/readings", json={**TYPED, "text": "fish"})
    assert answer.status_code == 422
    assert "fish" in answer.json()["error"]["message"]
    answer = client.post("/api/readings", json={**TYPED, "check": "volts TP2 @on"})
    assert answer.status_code == 422
    assert "TP1" in answer.json()["error"]["message"]


def test_a_reading_sent_again_is_the_same_reading(client: TestClient) -> None:
    first = client.post("/api/readings", json={**TYPED, "since": 1}).json()
    again = client.post("/api/readings", json={**TYPED, "since": 1}).json()
    assert first == again == {"number": 2}
    assert client.post("/api/readings", json=TYPED).json() == {"number": 3}
    later = client.post("/api/readings", json={**TYPED, "since": 3}).json()
    assert later == {"number": 4}, "the same reading taken once more"


def test_news_go_to_everybody(client: TestClient) -> None:
    with news(client) as one, news(client) as two:
        until(one, 1)
        number = client.post("/api/readings", json=TYPED).json()["number"]
        for socket in (one, two):
            state = until(socket, number)
            entry = state["events"][-1]
            assert entry["reading_words"] == "0.68 V"
            assert entry["expected"].endswith("V")


def test_what_another_program_adds_is_told(client: TestClient, case: Path) -> None:
    with news(client) as socket:
        until(socket, 1)
        with Bench.open(case) as other:
            other.write("volts TP1 @off", "0")
        assert until(socket, 2)["events"][-1]["check"] == "volts TP1 @off"


def test_undo_of_any_entry_and_back(client: TestClient) -> None:
    with news(client) as socket:
        first = client.post("/api/readings", json=TYPED).json()["number"]
        client.post("/api/readings", json={**TYPED, "text": "0.7"})
        undo = client.post("/api/undo", json={"number": first}).json()["number"]
        counts = {entry["number"]: entry["counts"] for entry in until(socket, undo)["events"]}
        assert counts == {1: True, 2: False, 3: True, 4: True}
        back = client.post("/api/undo", json={"number": undo}).json()["number"]
        counts = {entry["number"]: entry["counts"] for entry in until(socket, back)["events"]}
        assert counts[first]


def test_undo_of_what_was_not_seen_is_refused(client: TestClient) -> None:
    client.post("/api/readings", json=TYPED)
    assert client.post("/api/undo", json={"after": 1}).status_code == 409
    assert client.post("/api/undo", json={"number": 1}).status_code == 422


def test_the_state_agrees_with_the_bench(client: TestClient, case: Path) -> None:
    with news(client) as socket:
        number = client.post("/api/readings", json=TYPED).json()["number"]
        state = until(socket, number)
    with Bench.open(case) as bench:
        view = bench.next(6).to_json()
        assert [one["id"] for one in state["suggestions"]] == [
            one["id"]
            for one in view["suggestions"]  # type: ignore[attr-defined]  # plain JSON
        ]
        likeliest = bench.suspects(1)[0]
        assert state["suspects"][0]["id"] == likeliest.id
        assert state["suspects"][0]["probability"] == pytest.approx(likeliest.probability)


def test_the_questionnaire_says_what_a_good_board_does(client: TestClient) -> None:
    # A base at 0.6 to 0.7 V saturates the transistor, 5 V - 2 V over 330 ohm is 9 mA: lit.
    with news(client) as socket:
        outputs = until(socket, 1)["outputs"]
    good = {
        (cell["output"], state["name"]): cell["expected"]
        for state in outputs["states"]
        for cell in state["cells"]
    }
    assert good[("lamp lit", "on")] == "on"
    assert good[("lamp lit", "off")] == "off"
    assert good[("base driven", "on")] == "on"


def test_what_is_expected_at_a_place(client: TestClient) -> None:
    # Kirchhoff: with the input at TTL low (0.2 to 0.5 V) the divider 4k7 and 10k leaves the base
    # below it, so the transistor is off.
    answer = client.get("/api/expected", params={"place": "TP1", "state": "off"}).json()
    assert 0.0 <= answer["mean"] < 0.5
    assert answer["check"] == "volts TP1 @off"
    wrong = client.get("/api/expected", params={"place": "TP9", "state": "off"})
    assert wrong.status_code == 422


def test_a_check_of_ones_own_is_described(client: TestClient) -> None:
    answer = client.get("/api/check", params={"id": "ohms R2.1 : R2.2"}).json()
    assert answer["unit"] == "Ω"
    assert "off" in answer["setup_words"]
    assert answer["answers"] == ["OL"]


def test_choices_name_every_leg_and_part(client: TestClient) -> None:
    choices = client.get("/api/choices").json()
    assert {"TP1", "Q1.b", "Q1.b/pad", "net BASE"} <= set(choices["place"])
    assert choices["states"] == ["off", "on"]
    assert "volts" in {kind["name"] for kind in choices["kinds"]}


def test_slow_predictions_hold_up_neither_the_page_nor_a_reading(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on = Event()

    def slow(*args: Any) -> Any:
        assert go_on.wait(30)
        return snapshot(*args)

    monkeypatch.setattr("halfsplit.web.desk.snapshot", slow)
    with TestClient(create_app(case), base_url=HERE) as client:
        try:
            assert client.get("/").status_code == 200
            assert client.post("/api/readings", json=TYPED).status_code == 201
            state = client.get("/api/state").json()
            assert not state["ready"]
            assert state["working"]
        finally:
            go_on.set()
        with news(client) as socket:
            assert until(socket, 2)["events"][-1]["number"] == 2


def test_the_environment_names_the_case(case: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CASE_VARIABLE, str(case))
    with TestClient(create_app(), base_url=HERE) as client:
        assert "/ lamp<" in client.get("/").text
    monkeypatch.delenv(CASE_VARIABLE)
    with pytest.raises(CaseError, match=CASE_VARIABLE):
        create_app()
