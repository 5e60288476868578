"""Frames while a capture is zoomed in a browser: 16 channels of samples, 60 steps in and out.

    python benchmarks/zoom.py [--samples 2000000] [--shared] [--width 1280] [--shots FOLDER]

Needs Chromium. A frame's time is what drawing it takes in the page, measured by the page's clock
around each animation callback; beside it the time in which a window's columns come. With --shared
the 16 channels lie in one file, so that 100 million samples of each need half a gigabyte.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import time
import zlib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import numpy as np
from playwright.sync_api import sync_playwright

from halfsplit.bench import Bench
from halfsplit.board.source import find_source
from halfsplit.capture.keep import keep
from halfsplit.capture.kept import INDEX
from halfsplit.capture.record import Analog, Record

PORT = 8797
CHANNELS = 16
PART = 1_000_000
WATCH = """() => {
  const draw = window.requestAnimationFrame.bind(window);
  window.frames_ = []; window.starts_ = [];
  window.requestAnimationFrame = (act) => draw((now) => {
    const begin = performance.now();
    act(now);
    window.frames_.push(performance.now() - begin);
    window.starts_.push(now);
  });
}"""

FETCHED = """() => performance.getEntriesByType("resource")
  .filter(({ name }) => name.includes("/columns?")).map(({ duration }) => duration)"""
EMPTY = """async () => {
  const apart = [];
  let before = await new Promise((go) => requestAnimationFrame(go));
  for (let k = 0; k < 60; k += 1) {
    document.title = String(k);
    const now = await new Promise((go) => requestAnimationFrame(go));
    apart.push(now - before);
    before = now;
  }
  return apart;
}"""


def parts(samples: int, count_of: int) -> Iterator[Record]:
    """Noise on slow waves, in pieces."""
    chance = np.random.default_rng(1)
    for start in range(0, samples, PART):
        count = min(PART, samples - start)
        at = np.arange(start, start + count, dtype=np.float64) * 1e-6
        channels = []
        for number in range(count_of):
            wave = np.sin(2 * np.pi * (1 + number) * 3.0 * at) + chance.normal(0.0, 0.05, count)
            channels.append(
                Analog(name=f"CH{number}", unit="V", samples=wave.astype(np.float32),
                       start=start * 1e-6, step=1e-6)
            )  # fmt: skip
        yield Record(
            source="made", begin=start * 1e-6, end=(start + count) * 1e-6,
            channels=tuple(channels), remarks=(),
        )  # fmt: skip


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--samples", type=int, default=2_000_000)
    options.add_argument("--shared", action="store_true")
    options.add_argument("--width", type=int, default=1280)
    options.add_argument("--chromium", default="/usr/bin/chromium")
    options.add_argument("--shots", type=Path)
    args = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        case = Path(folder) / "zoom.hsplit"
        Bench.create(case, find_source("linear-supply").text).close()
        begun = time.perf_counter()
        long = case.with_suffix(".captures") / "long"
        keep(parts(args.samples, 1 if args.shared else CHANNELS), long)
        if args.shared:
            share(long)
        print(f"kept {CHANNELS} x {args.samples:,} samples in {time.perf_counter() - begun:.1f} s")
        words = [sys.executable, "-m", "halfsplit", "open", str(case), "--port", str(PORT)]
        server = subprocess.Popen([*words, "--no-browser"], stdout=subprocess.DEVNULL)
        try:
            measure(args)
        finally:
            server.kill()
            server.wait()


def share(folder: Path) -> None:
    """Let all channels lie in the files of the first."""
    path = folder / INDEX
    record = json.loads(path.read_text())["record"]
    first = record["channels"][0]
    record["channels"] = [first | {"name": f"CH{number}"} for number in range(CHANNELS)]
    crc = zlib.crc32(json.dumps(record, sort_keys=True).encode())
    path.write_text(json.dumps({"record": record, "crc32": crc}))


def measure(args: argparse.Namespace) -> None:
    address = f"http://127.0.0.1:{PORT}/captures"
    for _ in range(300):
        try:
            urlopen(address).close()
            break
        except (URLError, ConnectionError):
            time.sleep(0.1)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=args.chromium, args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": args.width, "height": 900})
        page.add_init_script(f"({WATCH})()")
        begun = time.perf_counter()
        page.goto(address)
        page.wait_for_selector("html[data-shown=long]", state="attached")
        print(f"page with its first picture: {1e3 * (time.perf_counter() - begun):.0f} ms")
        page.locator("#canvas").focus()
        empty = statistics.median(page.evaluate(EMPTY))
        page.evaluate("() => { window.frames_.length = window.starts_.length = 0; }")
        page.evaluate(
            """async () => {
              const canvas = document.getElementById("canvas");
              for (let k = 0; k < 60; k += 1) {
                const key = k < 30 ? "+" : "-";
                canvas.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
                await new Promise((go) => requestAnimationFrame(go));
              }
            }"""
        )
        page.wait_for_timeout(500)
        fetched = page.evaluate(FETCHED)
        print(
            f"{len(fetched)} windows of {CHANNELS} channels fetched: median "
            f"{statistics.median(fetched):.0f} ms each"
        )
        frames = page.evaluate("window.frames_")
        starts = page.evaluate("window.starts_")
        apart = [b - a for a, b in pairwise(starts) if 1 < b - a < 400]
        drawn = sorted(one for one in frames if one > 0.2)
        print(
            f"{len(drawn)} frames drawn: median {statistics.median(drawn):.1f} ms, "
            f"95 % under {drawn[int(0.95 * len(drawn))]:.1f} ms; "
            f"from frame to frame {statistics.median(apart):.1f} ms, with nothing drawn "
            f"{empty:.1f} ms"
        )
        if args.shots:
            page.locator("#all").click()
            page.wait_for_timeout(400)
            page.screenshot(path=str(args.shots / f"captures-{args.width}.png"))
        browser.close()


if __name__ == "__main__":
    main()
