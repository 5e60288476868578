"""Starting the page; the server itself is a stand-in that says what it was given."""

import json
import os
import socket
import webbrowser
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from tests.cli.conftest import Call

from halfsplit.bench import CASE_VARIABLE, NETWORK_VARIABLE, Bench


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What was served: (application, is factory, socket's address, case) and pages opened."""
    found: list[Any] = []

    def run(server: uvicorn.Server, sockets: list[socket.socket]) -> None:
        # The browser may call already: the socket listens before the server is up.
        with socket.create_connection(sockets[0].getsockname(), timeout=5):
            pass
        config = server.config
        case = os.environ[CASE_VARIABLE]
        found.append((config.app, config.factory, sockets[0].getsockname(), case))

    monkeypatch.setattr(uvicorn.Server, "run", run)
    monkeypatch.setattr(webbrowser, "open", found.append)
    monkeypatch.setenv(CASE_VARIABLE, "")
    monkeypatch.setenv(NETWORK_VARIABLE, "")
    return found


def test_open_serves_the_case_on_this_machine_alone(
    call: Call, case: str, served: list[Any], folder: Path
) -> None:
    said = call("open", "--port", "0", "--no-browser")
    ((application, factory, (host, port), path),) = served
    assert (application, factory, host) == ("halfsplit.web.app:create_app", True, "127.0.0.1")
    assert f"http://127.0.0.1:{port}/" in said.out
    assert Path(path) == folder / case


def test_the_browser_is_sent_to_the_address(call: Call, case: str, served: list[Any]) -> None:
    said = call("open", "--port", "0", "--json")
    data = json.loads(said.out)
    assert served[0] == data["address"]
    assert data["case"] == case
    assert data["schema"] == "halfsplit/1"


def test_a_port_in_use_is_said_and_the_usual_one_gives_way(
    call: Call, case: str, served: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        number = taken.getsockname()[1]
        said = call("open", "--port", str(number), "--no-browser")
        assert said.code == 2
        assert str(number) in said.err
        monkeypatch.setattr("halfsplit.cli.page.USUAL_PORT", number)
        assert call("open", "--no-browser").code == 0
    assert served[0][2][1] != number


def test_demo_makes_a_fresh_case_each_time(
    call: Call, served: list[Any], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    for _ in range(2):
        assert call("demo", "--board", "divider.board", "--no-browser", "--port", "0").code == 0
    paths = [path for _, _, _, path in served]
    assert len(set(paths)) == 2
    for path in paths:
        with Bench.open(path) as bench:
            assert bench.board.title == "Divider"


def test_the_network_is_opened_only_when_asked_and_with_a_code(
    call: Call, case: str, served: list[Any]
) -> None:
    data = json.loads(call("open", "--port", "0", "--no-browser", "--network", "--json").out)
    ((_, _, (host, port), _),) = served
    assert host == "0.0.0.0"
    assert len(data["code"]) == 8
    assert data["code"].isdecimal()
    assert data["network_address"].endswith(f":{port}/")
    code, _, address = os.environ[NETWORK_VARIABLE].partition(" ")
    assert (code, address) == (data["code"], data["network_address"])
    call("open", "--port", "0", "--no-browser")
    assert NETWORK_VARIABLE not in os.environ


def test_a_folder_is_opened_as_a_list(call: Call, case: str, served: list[Any]) -> None:
    assert call("duplicate", case, "--to", "twin").code == 0
    call("open", "--port", "0", "--no-browser")
    assert Path(served[0][3]).is_dir()
