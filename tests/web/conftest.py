"""A small case, the page in-process, and the page as people have it: a server and a browser.

One server with a folder of cases, and one browser, serve all tests; each test has a new case there.
Tests that kill the server, or look at the list of cases, have a server of their own.
"""

import itertools
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.error import URLError
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
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
    "--proxy-server=127.0.0.1:9", "--proxy-bypass-list=127.0.0.1",
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
    """The page as the command line serves it, in a process of its own that can be killed: of a
    case, or of a folder of cases, in which ``case`` is the one that is looked at."""

    def __init__(self, case: Path) -> None:
        self.case = case
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    @property
    def root(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    @property
    def address(self) -> str:
        """Where the addresses of the case begin."""
        return self.root

    def start(self) -> None:
        words = ["open", str(self.case), "--port", str(self.port), "--no-browser"]
        self._process = subprocess.Popen(
            [sys.executable, "-m", "halfsplit", *words], stdout=subprocess.DEVNULL, env=os.environ
        )
        deadline = time.monotonic() + LONG / 1000
        while True:
            try:
                urlopen(self.root, timeout=10).close()
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


class SharedServer(Server):
    """A folder of cases that all tests share; it is not to be killed by one of them."""

    _numbers = itertools.count(1)

    @property
    def address(self) -> str:
        return f"{self.root}case/{self.case.stem}/"

    def begin(self) -> None:
        """A new case, made as the list of cases makes it."""
        folder = self.case if self.case.is_dir() else self.case.parent
        data = json.dumps({"name": f"lamp-{next(self._numbers)}", "text": BOARD}).encode()
        asked = Request(f"{self.root}api/cases", data, headers={"content-type": "application/json"})
        with urlopen(asked, timeout=LONG / 1000) as answer:
            self.case = folder / f"{json.load(answer)['name']}.hsplit"

    def kill(self) -> None:
        raise AssertionError("ask for people_alone, whose server may be killed")


@pytest.fixture(scope="session")
def shared_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SharedServer]:
    """A running server for all tests."""
    running = SharedServer(tmp_path_factory.mktemp("cases"))
    yield running
    Server.kill(running)


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
        context.on("request", lambda request: self._asked(request.url))
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

    def gets_up(self) -> None:
        """All leave; nothing may have gone wrong on any page."""
        for page in self.pages:
            page.context.close()
        assert self.wrong == []

    def _asked(self, address: str) -> None:
        if not address.startswith(("http://127.0.0.1:", "about:", "blob:", "data:")):
            self.wrong.append(f"asked for {address}")

    def _heard(self, kind: str, text: str) -> None:
        if kind == "error" and "WebSocket" not in text and "Failed to load resource" not in text:
            self.wrong.append(f"console: {text}")


@pytest.fixture
def people(browser: Browser, shared_server: SharedServer) -> Iterator[People]:
    """Whoever sits down at a new case."""
    shared_server.begin()
    team = People(browser, shared_server)
    yield team
    team.gets_up()


@pytest.fixture
def people_alone(browser: Browser, case: Path) -> Iterator[People]:
    """Whoever sits down at a server of their own, which can be killed."""
    server = Server(case)
    team = People(browser, server)
    yield team
    server.kill()
    team.gets_up()
