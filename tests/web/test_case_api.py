"""What the pages beside the bench ask: table, many readings, notes, settings, photos, record."""

from dataclasses import asdict
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.store.test_attachments import PNG
from tests.web.conftest import BOARD

from halfsplit.bench import DEMO_VARIABLE, Bench
from halfsplit.checks.kind import Meter

PHOTO = {"side": "parts side", "words": "as it came"}


def posted(client: TestClient, path: str, **data: object) -> object:
    answer = client.post(path, json=data)
    assert answer.status_code in (200, 201), answer.text
    return answer.json()


def test_the_table_says_what_a_good_board_reads(client: TestClient) -> None:
    # Kirchhoff and a silicon junction: the base of a saturated transistor is at 0.6 to 0.8 V; the
    # collector is within 0.3 V of ground then (2N2222 data sheet, VCE(sat), from memory).
    table = client.get("/api/table", params={"state": ["on"]}).json()
    rows = {row["net"]: row for row in table["rows"]}
    assert rows["BASE"]["places"][0] == "TP1"
    assert 0.6 <= float(rows["BASE"]["cells"][0]["words"].removesuffix(" V")) <= 0.8
    assert float(rows["LK"]["cells"][0]["words"].removesuffix(" V")) <= 0.3
    assert rows["BASE"]["cells"][0]["check"] == "volts net BASE @on"
    assert client.get("/api/table", params={"state": ["nowhere"]}).status_code == 422


def test_many_readings_are_kept_but_for_those_not_understood(
    client: TestClient, case: Path
) -> None:
    block = [
        {"check": "volts net BASE @on", "text": "0.68"},
        {"check": "volts net BASE @off", "text": "fish"},
        {"check": "volts net LK @on", "text": "under 0.3"},
    ]
    answer = client.post("/api/readings/many", json={"readings": block, "since": 1}).json()
    assert [one.get("number") for one in answer["results"]] == [2, None, 3]
    assert "fish" in answer["results"][1]["error"]
    # Sent again because the answer was lost: nothing is entered twice.
    again = client.post("/api/readings/many", json={"readings": block, "since": 1}).json()
    assert [one.get("number") for one in again["results"]] == [2, None, 3]
    with Bench.open(case) as bench:
        assert len(bench.told.readings) == 2


@pytest.mark.parametrize("readings", [[], "x", [3], [{"check": "volts TP1 @on"}]])
def test_many_readings_of_another_form_are_refused(client: TestClient, readings: object) -> None:
    assert client.post("/api/readings/many", json={"readings": readings}).status_code == 400


def test_all_after_an_entry_is_taken_back_at_once(client: TestClient, case: Path) -> None:
    for text in ("0.6", "0.7", "0.8"):
        posted(client, "/api/readings", check="volts TP1 @on", text=text)
    assert client.post("/api/undo-after", json={"number": 2, "after": 3}).status_code == 409
    posted(client, "/api/undo-after", number=2, after=4)
    assert client.post("/api/undo-after", json={"number": 2}).status_code == 422
    assert client.post("/api/undo-after", json={}).status_code == 400
    with Bench.open(case) as bench:
        assert [one.reading.text for one in bench.told.readings] == ["0.6"]


def test_notes_meter_and_limits_go_into_the_log(client: TestClient, case: Path) -> None:
    posted(client, "/api/notes", text="heat sink loose")
    meter = asdict(Meter()) | {"input_ohms": 1e6}
    posted(client, "/api/meter", **meter)
    posted(client, "/api/limits", without_kinds=["touch"], without_setups=["part out"])
    found = client.get("/api/settings").json()
    assert found["meter"]["input_ohms"] == 1e6
    assert found["limits"]["without_kinds"] == ["touch"]
    assert found["limits"]["without_setups"] == ["part out"]
    with Bench.open(case) as bench:
        assert bench.told.meter.input_ohms == 1e6
        assert bench.log()[1].words == "heat sink loose"
    for wrong in (meter | {"misread": -1.0}, meter | {"input_ohms": 0.0}, {"misread": 0.01}):
        assert client.post("/api/meter", json=wrong).status_code == 400
    answer = client.post("/api/limits", json={"without_kinds": ["fish"], "without_setups": []})
    assert answer.status_code == 422


def test_any_suspect_may_be_asked_after(client: TestClient) -> None:
    posted(client, "/api/readings", check="symptom lamp lit @on", text="wrong")
    found = client.get("/api/suspect", params={"id": "r3"}).json()
    assert found["id"] == "R3"
    assert 0.0 <= found["probability"] <= 1.0
    assert client.get("/api/suspect", params={"id": "R77"}).status_code == 422


def test_a_photo_is_kept_shown_and_marked(client: TestClient) -> None:
    answer = client.post(
        "/api/photos", params=PHOTO, content=PNG, headers={"content-type": "image/png"}
    )
    number = answer.json()["number"]
    shown = client.get(f"/api/photos/{number}")
    assert shown.headers["content-type"] == "image/png"
    assert shown.headers["content-security-policy"] == "default-src 'none'; sandbox"
    assert shown.headers["x-content-type-options"] == "nosniff"
    assert b"Somebody" not in shown.content
    posted(client, f"/api/photos/{number}/markers", place="Q1", x=0.5, y=0.25)
    far = {"place": "Q9", "x": 0.5, "y": 0.5}
    assert client.post(f"/api/photos/{number}/markers", json=far).status_code == 422
    assert client.get("/api/photos/1").status_code == 404
    page = client.get("/record").text
    assert f'src="/api/photos/{number}"' in page
    assert 'cx="50.0%"' in page


@pytest.mark.parametrize(
    ("content", "kind", "code"),
    [
        (PNG, "image/svg+xml", 415),
        (b"<svg/>", "image/png", 422),
        (PNG, "text/plain", 415),
        (b"\xff" * 25_000_001, "image/jpeg", 413),
    ],
)
def test_what_is_no_photo_is_refused(
    client: TestClient, content: bytes, kind: str, code: int
) -> None:
    answer = client.post(
        "/api/photos", params=PHOTO, content=content, headers={"content-type": kind}
    )
    assert answer.status_code == code


def test_the_record_is_saved_under_its_own_policy(client: TestClient) -> None:
    posted(client, "/api/notes", text="<script>alert(1)</script>")
    answer = client.get("/record.html")
    assert answer.headers["content-disposition"] == 'attachment; filename="lamp-record.html"'
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "'self'" not in answer.headers["content-security-policy"]
    assert "<script>" not in answer.text
    assert client.get("/record.pdf").content.startswith(b"%PDF")
    assert "<script>alert" not in client.get("/record").text


def test_the_board_is_examined_and_revised(client: TestClient, case: Path) -> None:
    good = posted(client, "/api/board/examined", text=BOARD)
    assert isinstance(good, dict)
    assert good["good"]
    assert 'data-part="Q1"' in good["drawing"]
    bad = client.post("/api/board/examined", json={"text": BOARD + "R9 12z A B\n"}).json()
    assert not bad["good"]
    (error,) = [one for one in bad["problems"] if one["severity"] == "error"]
    assert (error["line"], error["column"]) == (15, 4)
    assert client.post("/api/board", json={"text": "R1 12z A B"}).status_code == 422
    posted(client, "/api/board", text=BOARD.replace("R2 330", "R2 470"))
    with Bench.open(case) as bench:
        part = bench.board.part("R2")
        assert part is not None
        assert part.value == pytest.approx(470.0)


def test_tables_and_sweeps_are_answered(client: TestClient) -> None:
    made = client.post("/api/board/table", json={"text": "R1\t1\tA\nR1\t2\tB"}).json()
    assert made == {"text": "R1 ? 1=A 2=B\n", "remarks": []}
    sweeps = [{"pin": "R1.1", "others": ["R2.1"], "net": "A"}]
    found = client.post("/api/board/buzz", json={"parts": "R1 1k\nR2 1k", "sweeps": sweeps}).json()
    assert found["nets"] == {"A": ["R1.1", "R2.1"]}
    assert found["ask"] in ("R1.2", "R2.2")
    wrong = client.post("/api/board/buzz", json={"parts": "Q1", "sweeps": []}).json()
    assert wrong["wrong"]
    assert client.get("/api/board/example", params={"name": "../x"}).status_code == 422
    assert "Wagtail" in client.get("/api/board/example?name=plotter-drive").json()["text"]
    words = client.get("/api/board/words").json()
    assert words["kinds"]["npn"]["pins"] == ["c", "b", "e"]


def test_only_the_demo_answers_for_its_board(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = {"check": "symptom lamp lit @on"}
    monkeypatch.delenv(DEMO_VARIABLE, raising=False)  # a demo begun in this process leaves it set
    assert client.get("/api/rehearse", params=asked).status_code == 404
    monkeypatch.setenv(DEMO_VARIABLE, "R2 open")
    said = client.get("/api/rehearse", params=asked).json()
    # With R2 open nothing feeds the lamp.
    assert said["fault"] == "R2 open"
    assert said["text"] == "off"


def test_paths_say_where_they_are_good_and_channels_are_there(client: TestClient) -> None:
    posted(client, "/api/readings", check="volts TP1 @on", text="0.7")
    posted(client, "/api/readings", check="volts D1.a @on", text="0")
    found = client.get("/api/paths").json()
    assert found["channels"] == []
    marks = {
        net: mark
        for one in found["paths"]
        for net, mark in zip(one["nets"], one["marks"], strict=True)
    }
    assert marks["BASE"] == "good"


def test_a_case_is_closed_only_when_proven(client: TestClient, case: Path) -> None:
    assert client.post("/api/finish", json={}).status_code == 422
    posted(client, "/api/repaired", suspect="R2")
    assert client.post("/api/repaired", json={"suspect": "R77"}).status_code == 422
    answer = client.post("/api/finish", json={})
    assert answer.status_code == 422
    assert "acceptance run" in answer.json()["error"]["message"]
