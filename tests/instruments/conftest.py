"""Small instruments behind real sockets, and a settings folder of its own for each test."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests.instruments.scpi_server import Reply, ScpiServer

QUICK, PATIENT = 0.25, 10.0
"""Seconds that tests wait for an answer that will not come, and for one that will, however busy the
machine is."""

Serve = Callable[..., ScpiServer]


@pytest.fixture
def serve() -> Iterator[Serve]:
    """Start an instrument that has these answers."""
    started: list[ScpiServer] = []

    def start(replies: dict[str, Reply] | None = None, **more: object) -> ScpiServer:
        started.append(ScpiServer(dict(replies or {}), **more))  # type: ignore[arg-type]  # passed on as given
        return started[-1]

    yield start
    for server in started:
        server.stop()


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty book of instruments."""
    folder = tmp_path / "settings"
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder))
    return folder
