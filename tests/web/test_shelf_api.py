"""The list of cases, several cases at once, and letting a phone in."""

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.web.conftest import BOARD

from halfsplit.bench import NETWORK_VARIABLE, Bench
from halfsplit.web.app import create_app
from halfsplit.web.pairing import COOKIE, FREE_TRIES, Door

HERE = "http://127.0.0.1:8000"
ZIP = {"content-type": "application/zip"}


def test_cases_are_begun_copied_archived_and_opened(client: TestClient, case: Path) -> None:
    made = client.post("/api/cases", json={"name": "pump", "text": BOARD}).json()
    assert made == {"name": "pump", "address": "/case/pump/"}
    again = client.post("/api/cases", json={"name": "pump", "text": BOARD}).json()
    assert again["name"] == "pump 2"
    copied = client.post(
        "/api/cases/pump/duplicate", json={"name": "twin", "board_only": True}
    ).json()
    assert copied["name"] == "twin"
    client.post("/api/cases/pump/archive", json={"archived": True})
    cards = {one["name"]: one for one in client.get("/api/cases").json()["cases"]}
    assert set(cards) == {"lamp", "pump", "pump 2", "twin"}
    assert cards["pump"]["archived"]
    assert str(case.parent) not in client.get("/api/cases").text, "no path of this machine"
    assert client.get("/cases").status_code == 200
    posted = client.post(
        "/case/pump%202/api/readings", json={"check": "volts TP1 @on", "text": "0.7"}
    )
    assert posted.json() == {"number": 2}
    with Bench.open(case) as first, Bench.open(case.with_name("pump 2.hsplit")) as other:
        assert first.told.readings == ()
        assert len(other.told.readings) == 1
    assert 'data-base="/case/pump%202/"' in client.get("/case/pump%202/").text


@pytest.mark.parametrize("name", ["nobody", "..%2flamp", "%2e%2e", ".hidden", "lamp%00"])
def test_addresses_of_no_case_are_refused(client: TestClient, name: str) -> None:
    for path in (f"/case/{name}/", f"/case/{name}/api/state", f"/api/cases/{name}/packed"):
        assert client.get(path).status_code in (404, 422)


def test_a_case_is_packed_and_taken_in_again(client: TestClient, case: Path) -> None:
    client.post("/api/readings", json={"check": "volts TP1 @on", "text": "0.7"})
    packed = client.get("/api/cases/lamp/packed")
    assert packed.headers["content-disposition"].endswith('filename="lamp.hsplit.zip"')
    with zipfile.ZipFile(io.BytesIO(packed.content)) as opened:
        assert "SHA256SUMS" in opened.namelist()
    taken = client.post(
        "/api/cases/packed", params={"name": "lamp.hsplit.zip"}, content=packed.content, headers=ZIP
    )
    assert taken.json()["name"] == "lamp 2"
    before = sorted(path.name for path in case.parent.iterdir())
    for content in (b"", b"no zip", packed.content[:-40], packed.content.replace(b"PK", b"KP")):
        answer = client.post(
            "/api/cases/packed", params={"name": "evil"}, content=content, headers=ZIP
        )
        assert answer.status_code == 422
    other = client.post("/api/cases/packed", content=packed.content)
    assert other.status_code == 415
    assert sorted(path.name for path in case.parent.iterdir()) == before


@pytest.mark.parametrize(
    "data",
    [
        {"name": "x", "text": "R1 nonsense"},
        {"name": "x", "example": "../../etc/passwd"},
    ],
)
def test_a_case_without_a_sound_board_is_not_made(
    client: TestClient, case: Path, data: dict[str, str]
) -> None:
    assert client.post("/api/cases", json=data).status_code == 422
    assert [path.name for path in case.parent.glob("*.hsplit")] == [case.name]


def test_a_folder_shows_its_list(case: Path) -> None:
    with TestClient(create_app(case.parent), base_url=HERE) as client:
        assert client.get("/").url.path == "/cases"
        assert client.get("/api/state").status_code == 422
        assert client.get("/case/lamp/").status_code == 200


CODE, PHONE = "01234567", ("192.168.1.9", 5000)


@pytest.fixture
def far(case: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A phone on the same network."""
    monkeypatch.setenv(NETWORK_VARIABLE, f"{CODE} http://192.168.1.7:8473/")
    app = create_app(case)
    with TestClient(app, base_url="http://192.168.1.7:8473", client=PHONE) as made:
        yield made


def test_a_phone_comes_in_by_the_code_alone(far: TestClient) -> None:
    assert far.get("/api/state").status_code == 401
    asked = far.get("/", headers={"accept": "text/html"})
    assert asked.url.path == "/pair"
    for path in ("/record.html", "/api/cases", "/cases", "/case/lamp/", "/api/cases/lamp/packed"):
        assert far.get(path, headers={"accept": "*/*"}).status_code == 401
    assert far.post("/api/pair", json={"code": "11111111"}).status_code == 403
    far.cookies.set(COOKIE, "guessed")
    assert far.get("/api/state").status_code == 401
    far.cookies.clear()
    answer = far.post("/api/pair", json={"code": "0123 4567"})
    assert answer.status_code == 200
    cookie = answer.headers["set-cookie"].casefold()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert far.get("/api/state").status_code == 200
    assert CODE in far.get("/tools").text


def test_names_that_may_be_made_to_point_here_stay_out(far: TestClient) -> None:
    far.post("/api/pair", json={"code": CODE})
    for host in ("evil.example.org:8473", "localhost.example.org"):
        assert far.get("/api/state", headers={"host": host}).status_code == 421
    answer = far.post("/api/undo", json={}, headers={"origin": "http://192.168.1.8:8473"})
    assert answer.status_code == 403


def test_guessing_the_code_has_to_wait() -> None:
    now = [0.0]
    door = Door(CODE, clock=lambda: now[0])
    tried = [door.try_code("9") for _ in range(FREE_TRIES + 1)]
    assert tried[0] == 0.0
    wait = tried[-1]
    assert isinstance(wait, float)
    assert wait > 0.0
    assert isinstance(door.try_code(CODE), float), "the right one too has to wait"
    now[0] = 1000.0
    assert isinstance(door.try_code(CODE), str)


def test_without_the_network_no_phone_is_served(case: Path) -> None:
    app = create_app(case)
    with TestClient(app, base_url="http://192.168.1.7:8473", client=PHONE) as far:
        assert far.get("/").status_code == 421
        assert far.post("/api/pair", json={"code": ""}).status_code == 421
