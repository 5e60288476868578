"""The pictures of the pages in docs/pictures: python scripts/pictures.py

Makes a case of the example plotter-drive with some readings and a drawn stand-in for a photo,
serves it, and takes each page in headless Chromium, light and dark, wide and narrow.
"""

import os
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import time
import zlib
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import numpy as np
from playwright.sync_api import Browser, Page, sync_playwright

from halfsplit.bench import Bench
from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.report.drawing import drawing

INTO = Path(__file__).parent.parent / "docs" / "pictures"
FAULT = "Q2 c short to e"
READ = (
    "symptom phase B pulls @hold-B", "symptom phase A pulls @hold-A", "volts net DB @hold-B",
    "volts R6.2 @hold-B",
)  # fmt: skip
MARKED = (("U3", 0.14, 0.34), ("Q2", 0.34, 0.66), ("R6", 0.36, 0.79), ("TP1", 0.8, 0.8))
DRAWN = ("plotter-drive", "logic-card")
PAGES = ("", "readings", "photos", "captures", "board", "record", "tools", "cases")
SIZES = ((1280, 900), (390, 844))
FLAGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")


def main() -> None:
    """Take all of them."""
    INTO.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        case = Path(folder) / "repairs" / "plotter of the print shop.hsplit"
        case.parent.mkdir()
        make_case(case)
        port = free_port()
        words = ["open", str(case), "--port", str(port), "--no-browser"]
        server = subprocess.Popen(
            [sys.executable, "-m", "halfsplit", *words],
            stdout=subprocess.DEVNULL,
            env=os.environ | {"HALFSPLIT_DEMO": FAULT},
        )
        try:
            take_all(f"http://127.0.0.1:{port}/")
        finally:
            server.kill()
            server.wait()


def make_case(path: Path) -> None:
    """A case in the middle of its work."""
    source = find_source("plotter-drive")
    with Bench.create(path, source.text, source=source.where) as bench:
        for check in READ:
            bench.write(check, bench.rehearse(FAULT, bench.check(check)))
        bench.note("The owner says it began after a move.")
        photo = bench.add_photo(drawn_board(), side="parts side", words="as it came")
        for place, x, y in MARKED:
            bench.mark_photo(photo, place, x, y)
    for name in ("linear-supply", "logic-card"):
        other = find_source(name)
        Bench.create(path.with_name(f"{name}.hsplit"), other.text, source=other.where).close()


def drawn_board() -> bytes:
    """A stand-in for a photo: a green board with chips, transistors and resistors, as PNG."""
    picture = np.zeros((900, 1400, 3), np.uint8)
    picture[:] = (38, 92, 60)
    for x in range(150, 1350, 300):
        picture[200:420, x : x + 110] = (30, 30, 32)
        picture[560:640, x : x + 60] = (60, 60, 64)
        picture[700:720, x - 20 : x + 120] = (190, 150, 90)
        for y in range(205, 415, 30):
            picture[y : y + 10, x - 18 : x] = picture[y : y + 10, x + 110 : x + 128] = 200
    rows = b"".join(b"\0" + row.tobytes() for row in picture)
    header = struct.pack(">IIBBBBB", 1400, 900, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def take_all(address: str) -> None:
    """Every page, in both schemes and widths."""
    for _ in range(600):
        try:
            urlopen(address + "pair", timeout=5).close()
        except (URLError, ConnectionError, TimeoutError):
            time.sleep(0.1)
        else:
            break
    path = os.environ.get("HALFSPLIT_CHROMIUM") or shutil.which("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        for scheme in ("light", "dark"):
            for width, height in SIZES:
                context = browser.new_context(
                    viewport={"width": width, "height": height},
                    color_scheme=scheme,  # type: ignore[arg-type]  # one of two literals
                )
                page = context.new_page()
                page.set_default_timeout(120_000)
                for name in PAGES:
                    take(page, address, name)
                    file = INTO / f"{name or 'bench'}-{scheme}-{width}.jpg"
                    page.screenshot(path=file, type="jpeg", quality=60)
                context.close()
        for name in DRAWN:
            take_drawing(browser, name)
        browser.close()


def take_drawing(browser: Browser, name: str) -> None:
    """The drawing of an example by itself."""
    board = read_board(find_source(name).text, PartsVocabulary())
    page = browser.new_page(viewport={"width": 1400, "height": 900})
    page.set_content(f"<body style='margin:0;background:#fff'>{drawing(board)}</body>")
    picture = page.locator("svg")
    picture.screenshot(path=INTO / f"drawing-{name}.jpg", type="jpeg", quality=60)
    page.close()


def take(page: Page, address: str, name: str) -> None:
    """Bring a page into a state worth a picture."""
    page.goto(address + name)
    page.wait_for_selector('html[data-ready="yes"]', state="attached")
    if name == "readings":
        page.locator('[data-check="volts net DB @hold-A"]').fill("0.1")
        page.locator("#find").fill("U3")
    elif name == "board":
        page.wait_for_selector("html[data-checked]", state="attached")
        page.locator("#text").press("Control+End")
        page.keyboard.type("R20 12z +5 PX")
        page.wait_for_selector("#behind mark.error")
        page.keyboard.type(" ")


if __name__ == "__main__":
    main()
