"""How long a person waits for the page: python benchmarks/page.py [--readings N]

Serves the example plotter-drive on loopback, opens it in headless Chromium and measures, beside a
page of the same server that shows nothing of a case (the pairing page), how long each page takes
to be ready, and how long a reading typed takes until the next suggestion is on the screen. Then the
same with twenty pages open. Prints the least and the median, in milliseconds, how long program,
browser and what drives it worked for one (on an idle core a person waits no longer), the ratio to
the bare page, and the load of the machine. Needs playwright and chromium.
"""

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

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
    parser.add_argument("--pages", type=int, default=20, metavar="N", help="pages open at once")
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
                measure(browser, args)
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


def measure(browser: Browser, args: argparse.Namespace) -> None:
    """All pages, then readings on the bench, alone and with other pages open."""
    page = opened(browser.new_context())
    bare = statistics.median(loaded(page, "pair") for _ in range(args.loads))
    print(f"load of the machine: {load():.1f}")
    print(f"{'page':<32}{'least':>8}{'median':>8}{'worked':>8}{'times the bare page':>22}")
    for name in ("pair", "", "readings", "photos", "captures", "board", "record", "tools", "cases"):
        before = processor_time()
        took = [loaded(page, name) for _ in range(args.loads)]
        row(name or "bench", took, processor_time() - before, bare)
    page.goto(HERE)
    page.wait_for_selector(READY, state="attached")
    before = processor_time()
    row("reading to next suggestion", [typed(page, []) for _ in range(args.readings)],
        processor_time() - before)  # fmt: skip
    others = [opened(page.context) for _ in range(args.pages - 1)]
    before = processor_time()
    row(f"the same, seen on {args.pages} pages", [typed(page, others) for _ in range(3)],
        processor_time() - before)  # fmt: skip
    print(f"load of the machine: {load():.1f}")


def opened(context: BrowserContext) -> Page:
    """The bench, ready; what a browser keeps is kept then."""
    page = context.new_page()
    page.set_default_timeout(120_000)
    page.goto(HERE)
    page.wait_for_selector(READY, state="attached")
    return page


def row(name: str, took: Sequence[float], worked: float, bare: float | None = None) -> None:
    """Print one row, milliseconds."""
    middle, each = statistics.median(took), 1000 * worked / len(took)
    times = "" if bare is None else f"{middle / bare:22.1f}"
    print(f"{name:<32}{min(took):8.0f}{middle:8.0f}{each:8.0f}{times}")


def load() -> float:
    """Processes that wanted to run in the last minute, on average."""
    return os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")


def processor_time() -> float:
    """Seconds that this process and all that it started have worked: program, browser and what
    drives it. Not-a-number where the system does not tell."""
    if not Path("/proc/self/stat").exists():
        return float("nan")
    above, ticks = {}, {}
    for file in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = file.read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:
            continue  # it has ended
        process = int(file.parent.name)
        above[process], ticks[process] = int(fields[1]), int(fields[11]) + int(fields[12])
    ours = {os.getpid()}
    while more := {one for one, parent in above.items() if parent in ours} - ours:
        ours |= more
    return sum(ticks.get(one, 0) for one in ours) / os.sysconf("SC_CLK_TCK")


def loaded(page: Page, name: str) -> float:
    """Milliseconds from asking for a page until it is ready."""
    start = time.perf_counter()
    page.goto(HERE + name, wait_until="commit")
    page.wait_for_selector(READY, state="attached")
    return 1000 * (time.perf_counter() - start)


def typed(page: Page, others: Sequence[Page]) -> float:
    """Milliseconds from Enter until the page, and others, show what follows from the reading."""
    page.locator("#ask-demo").click()
    expect(page.locator("#reading")).not_to_have_value("")
    before = int(page.locator("html").get_attribute("data-event") or 0)
    start = time.perf_counter()
    page.keyboard.press("Enter")
    for one in (page, *others):
        one.wait_for_selector(
            f'html[data-ready="yes"][data-event="{before + 1}"]', state="attached"
        )
    return 1000 * (time.perf_counter() - start)


if __name__ == "__main__":
    main()
