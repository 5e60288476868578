"""A small case, the page in-process, and the page as people have it: a server and a browser."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser, Page, Route, sync_playwright
from starlette.testclient import TestClient

from halfsplit.bench import Bench
from halfsplit.web.app import create_app

BOARD = """\
board "Lamp switch of an invented tester" rev A
note The lamp stays dark.
rail +5 5V
R1 4k7 IN BASE
R2 330 +5 LA ; spare
R3 10k BASE GND
Q1 2N2222 c=LK b=BASE e=GND ; spare
D1 led ? a=LA k=LK
offsheet IN drive 74LS
testpoint TP1 BASE
output "lamp lit" current D1 above 2mA
output "base driven" volts BASE above 0.4V
state off IN=low
state on IN=high
"""
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
LONG = 30_000
"""Milliseconds that a page may take to be ready on a busy machine."""


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """A case with nothing read yet."""
    path = tmp_path / "lamp.hsplit"
    Bench.create(path, BOARD).close()
    return path


@pytest.fixture
def client(case: Path) -> Iterator[TestClient]:
    """The page, in-process."""
    with TestClient(create_app(case), base_url="http://127.0.0.1:8000") as made:
        yield made


class Server:
    """The page as the command line serves it, in a process of its own that can be killed."""

    def __init__(self, case: Path) -> None:
        self.case = case
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def start(self) -> None:
        words = ["open", str(self.case), "--port", str(self.port), "--no-browser"]
        self._process = subprocess.Popen(
            [sys.executable, "-m", "halfsplit", *words], stdout=subprocess.DEVNULL, env=os.environ
        )
        deadline = time.monotonic() + LONG / 1000
        while True:
            try:
                urlopen(self.address, timeout=10).close()
            except (URLError, ConnectionError, TimeoutError):
                assert self._process.poll() is None, "the server stopped by itself"
                assert time.monotonic() < deadline, "the server does not answer"
                time.sleep(0.05)  # outside the page: nothing else says when a process listens
            else:
                return

    def kill(self) -> None:
        """End it at once, as a power cut would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None


@pytest.fixture
def server(case: Path) -> Iterator[Server]:
    """A running server."""
    running = Server(case)
    yield running
    running.kill()


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """One browser for all tests."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
        yield started
        started.close()


class People:
    """Simulated persons, each with a browser context of their own. Errors of any page, and any
    request that leaves this machine, are kept in ``wrong``."""

    def __init__(self, browser: Browser, server: Server) -> None:
        self._browser, self.server = browser, server
        self.wrong: list[str] = []
        self.pages: list[Page] = []

    def sits_down(self, width: int = 1280, height: int = 800) -> Page:
        """A new person opens the page and waits until it is ready."""
        context = self._browser.new_context(viewport={"width": width, "height": height})
        context.route("**/*", self._only_here)
        page = context.new_page()
        page.set_default_timeout(LONG)
        page.on("pageerror", lambda error: self.wrong.append(f"page error: {error}"))
        page.on("console", lambda said: self._heard(said.type, said.text))
        self.pages.append(page)
        page.goto(self.server.address)
        self.ready(page)
        return page

    def ready(self, page: Page, event: int | None = None) -> None:
        """Wait until the page shows what follows from the log, up to that event."""
        which = f'[data-event="{event}"]' if event is not None else ""
        page.wait_for_selector(f'html[data-ready="yes"]{which}', state="attached", timeout=LONG)

    def _only_here(self, route: Route) -> None:
        if route.request.url.startswith("http://127.0.0.1:"):
            route.continue_()
            return
        self.wrong.append(f"asked for {route.request.url}")
        route.abort()

    def _heard(self, kind: str, text: str) -> None:
        if kind == "error" and "WebSocket" not in text and "Failed to load resource" not in text:
            self.wrong.append(f"console: {text}")


@pytest.fixture
def people(browser: Browser, server: Server) -> Iterator[People]:
    """Whoever sits down; nothing may have gone wrong on any page."""
    team = People(browser, server)
    yield team
    for page in team.pages:
        page.context.close()
    assert team.wrong == []
