"""How long a person waits for the page: python benchmarks/page.py [--readings N]

Serves the example plotter-drive on loopback, opens it in headless Chromium and measures, beside a
page of the same server that shows nothing of a case (the pairing page), how long each page takes
to be ready, and how long a reading typed takes until the next suggestion is on the screen. Prints
medians in milliseconds and the ratio to the bare page. Needs playwright and chromium.
"""

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from playwright.sync_api import Page, expect, sync_playwright

from halfsplit.bench import Bench
from halfsplit.board.source import find_source

PORT = 8699
FAULT = "Q2 c short to e"
HERE = f"http://127.0.0.1:{PORT}/"
FLAGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
READY = 'html[data-ready="yes"]'


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--readings", type=int, default=8, metavar="N", help="readings to type")
    parser.add_argument("--loads", type=int, default=7, metavar="N", help="loads of each page")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        case = Path(folder) / "drive.hsplit"
        source = find_source("plotter-drive")
        with Bench.create(case, source.text, source=source.where) as bench:
            bench.complain(FAULT)
            bench.next()
        words = ["open", str(case), "--port", str(PORT), "--no-browser"]
        environment = os.environ | {"HALFSPLIT_DEMO": FAULT}
        server = subprocess.Popen(
            [sys.executable, "-m", "halfsplit", *words], stdout=subprocess.DEVNULL, env=environment
        )
        try:
            wait_for_server()
            with sync_playwright() as playwright:
                path = os.environ.get("HALFSPLIT_CHROMIUM") or shutil.which("chromium")
                browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
                measure(browser.new_page(), args.loads, args.readings)
                browser.close()
        finally:
            server.kill()
            server.wait()


def wait_for_server() -> None:
    """Until it answers."""
    for _ in range(600):
        try:
            urlopen(HERE + "pair", timeout=5).close()
        except (URLError, ConnectionError, TimeoutError):
            time.sleep(0.1)
        else:
            return
    raise SystemExit("the server does not answer")


def measure(page: Page, loads: int, readings: int) -> None:
    """All pages, then readings on the bench."""
    page.set_default_timeout(120_000)
    page.goto(HERE)
    page.wait_for_selector(READY, state="attached")
    bare = statistics.median(loaded(page, "pair") for _ in range(loads))
    print(f"{'page':<28}{'ms':>8}{'times the bare page':>22}")
    for name in ("pair", "", "readings", "photos", "board", "record", "tools", "cases"):
        took = statistics.median(loaded(page, name) for _ in range(loads))
        print(f"{name or 'bench':<28}{took:8.0f}{took / bare:22.1f}")
    page.goto(HERE)
    page.wait_for_selector(READY, state="attached")
    shown = [typed(page) for _ in range(readings)]
    median, most = statistics.median(shown), max(shown)
    print(f"{'reading to next suggestion':<28}{median:8.0f}   (longest {most:.0f})")


def loaded(page: Page, name: str) -> float:
    """Milliseconds from asking for a page until it is ready."""
    start = time.perf_counter()
    page.goto(HERE + name, wait_until="commit")
    page.wait_for_selector(READY, state="attached")
    return 1000 * (time.perf_counter() - start)


def typed(page: Page) -> float:
    """Milliseconds from Enter until the page shows what follows from the reading."""
    page.locator("#ask-demo").click()
    expect(page.locator("#reading")).not_to_have_value("")
    before = int(page.locator("html").get_attribute("data-event") or 0)
    start = time.perf_counter()
    page.keyboard.press("Enter")
    page.wait_for_selector(f'html[data-ready="yes"][data-event="{before + 1}"]', state="attached")
    return 1000 * (time.perf_counter() - start)


if __name__ == "__main__":
    main()
