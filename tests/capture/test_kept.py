"""Kept records: the same as what was read, whole or not there, and summed up without loss."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.capture.keep import keep
from halfsplit.capture.kept import Kept
from halfsplit.capture.pyramid import SparseIndex, build, reduced
from halfsplit.capture.read import look, stream
from halfsplit.capture.record import Analog, Digital, Record, digital_from_samples, join
from halfsplit.errors import CaptureError

RNG = np.random.default_rng(5)


def record(size: int = 50_000) -> Record:
    """Even samples, uneven ones, a stair and a line of two levels."""
    samples = np.cumsum(RNG.normal(size=size)).astype(np.float32)
    times = np.sort(RNG.uniform(0.0, 1.0, size))
    return Record(
        source="made.csv",
        begin=0.0,
        end=1.0,
        channels=(
            Analog(name="even", unit="V", samples=samples, step=1.0 / size),
            Analog(name="uneven", unit="A", samples=samples, times=times),
            Analog(name="with it", unit="A", samples=-samples, times=times),
            Analog(name="stair", unit="", samples=samples[:50], times=times[::1000], held=True),
            digital_from_samples("D", RNG.integers(0, 2, size), tick=1.0 / size),
        ),
        remarks=("made up",),
    )


def same(one: Record, other: Record) -> None:
    assert (one.names, one.begin, one.end) == (other.names, other.begin, other.end)
    for a, b in zip(one.digital, other.digital, strict=True):
        np.testing.assert_array_equal(a.ticks, b.ticks)
        np.testing.assert_array_equal(a.values, b.values)
    for c, d in zip(one.analog, other.analog, strict=True):
        np.testing.assert_array_equal(c.samples, d.samples)
        np.testing.assert_allclose(c.seconds, d.seconds, atol=1e-9)
        assert (c.unit, c.held) == (d.unit, d.held)


def test_what_was_kept_is_what_was_read(tmp_path: Path) -> None:
    whole = record()
    cuts = [0.0, 0.1, 0.1, 0.55, 1.0 + 1e-9]
    parts = [whole.window(a, b) for a, b in pairwise(cuts)]
    kept = keep(parts, tmp_path / "a.kept")
    same(kept.record, join(parts))
    kept.check()
    assert kept.record.remarks == ("made up",)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.kept"]
    again = Kept.open(tmp_path / "a.kept")
    same(again.record.window(0.2, 0.3), whole.window(0.2, 0.3))


@pytest.mark.parametrize("span", [(0.0, 1.0), (0.2, 0.21), (-1.0, 2.0), (0.5, 0.5001), (3.0, 4.0)])
def test_no_extreme_is_lost(tmp_path: Path, span: tuple[float, float]) -> None:
    """Against the plain least and largest sample of each stretch, and the levels seen there."""
    whole = record()
    kept = keep([whole], tmp_path / "a.kept")
    for channel in whole.channels:
        columns = kept.columns(channel.name, *span, count=40)
        cut = channel.window(*span)
        if isinstance(cut, Digital):
            assert columns.edges is not None
            assert columns.seen is not None
            own = cut.times[cut.times > span[0] + 1e-12]
            assert abs(int(columns.edges.sum()) - own.size) <= 1
            wanted = 3 if own.size > 1 else columns.seen[0] & 3
            assert np.bitwise_or.reduce(columns.seen) & 3 == wanted
            continue
        assert columns.low is not None
        assert columns.high is not None
        assert columns.low.size == 40
        assert np.isnan(columns.low).all() == (not cut.samples.size)
        if cut.samples.size:
            assert np.nanmin(columns.low) == cut.samples.min()
            assert np.nanmax(columns.high) == cut.samples.max()


def test_a_spike_shows_in_its_own_column(tmp_path: Path) -> None:
    samples = np.zeros(1_000_000, dtype=np.float32)
    samples[777_777] = 9.0
    row = Analog(name="A", unit="V", samples=samples, step=1e-6)
    kept = keep([Record(source="x", begin=0.0, end=1.0, channels=(row,))], tmp_path / "k")
    columns = kept.columns("A", 0.0, 1.0, count=100)
    assert columns.high is not None
    assert np.flatnonzero(columns.high).tolist() == [77]


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 40_000), st.integers(1, 60), st.integers(0, 2**31))
def test_summaries_are_those_of_the_row(size: int, count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    row = rng.normal(size=size)
    levels = build(row, np.fmax)
    bounds = np.sort(rng.integers(0, size + 1, count + 1))
    bounds[0], bounds[-1] = 0, size
    found = reduced(row, levels, np.fmax, bounds)
    assert found.max() == row.max()
    index = SparseIndex(np.sort(row.round(1)))
    asked = np.concatenate((row[:50].round(1), [-9.0, 9.0]))
    for side in ("left", "right"):
        wanted = np.searchsorted(index.rows[0], asked, side=side)
        assert index.find(asked, side).tolist() == wanted.tolist()


def test_damage_is_found(tmp_path: Path) -> None:
    kept = keep([record(3000)], tmp_path / "k")
    path = tmp_path / "k" / "0.samples"
    raw = bytearray(path.read_bytes())
    raw[1234] ^= 1
    path.write_bytes(raw)
    with pytest.raises(CaptureError, match=r"0\.samples is damaged"):
        kept.check()
    path.write_bytes(raw[:-4])
    with pytest.raises(CaptureError, match=r"0\.samples has"):
        Kept.open(tmp_path / "k")
    index = tmp_path / "k" / "kept.json"
    index.write_text(index.read_text().replace('"end": 1.0', '"end": 2.0'))
    with pytest.raises(CaptureError, match=r"kept\.json is damaged"):
        Kept.open(tmp_path / "k")
    with pytest.raises(CaptureError, match="kept record"):
        Kept.open(tmp_path / "none")


def test_parts_that_stop_leave_nothing(tmp_path: Path) -> None:
    def parts() -> Iterator[Record]:
        yield record(3000)
        raise CaptureError("cut", source="x")

    with pytest.raises(CaptureError, match="cut"):
        keep(parts(), tmp_path / "k")
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "k").mkdir()
    with pytest.raises(CaptureError, match="there already"):
        keep([record(10)], tmp_path / "k")
    with pytest.raises(CaptureError, match="none at all"):
        keep([], tmp_path / "l")


KILLED = """
import sys, time
import numpy as np
from halfsplit.capture.keep import keep
from halfsplit.capture.record import Analog, Record

def parts():
    for k in range(1000):
        row = Analog(name="A", unit="V", samples=np.zeros(1000, np.float32), start=k, step=1e-3)
        yield Record(source="x", begin=k, end=k + 1, channels=(row,))
        print(k, flush=True)
        time.sleep(0.01)

keep(parts(), sys.argv[1])
"""


def test_killed_while_writing_leaves_nothing_by_that_name(tmp_path: Path) -> None:
    target = tmp_path / "k"
    child = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(target)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    with child, child.stdout:
        assert child.stdout.readline()
        os.kill(child.pid, signal.SIGKILL)
    assert not target.exists()
    assert [path.name[0] for path in tmp_path.iterdir()] == ["."]
    started = time.monotonic()
    assert keep([record(10)], target).record.source == "made.csv"
    assert time.monotonic() - started < 60


def long_text(lines: int) -> bytes:
    return b"A,B,C\n" + b"0.123456,1.5,0\n1.123456,2.5,1\n" * lines


def long_vcd(lines: int) -> bytes:
    head = b"$var wire 1 ! a $end $var wire 1 # b $end $enddefinitions $end\n"
    return head + b"".join(b"#%d\n%d!\n" % (k, k & 1) for k in range(2 * lines))


@pytest.mark.parametrize("made", [long_text, long_vcd])
def test_a_long_file_is_never_all_in_memory(tmp_path: Path, made: Callable[[int], bytes]) -> None:
    """Three times the text takes the same memory: that of the blocks at hand and of what is made
    of them.

    tracemalloc counts what numpy and Python hold, not pages that are mapped from the disk.
    """
    most = []
    for lines in (120_000, 360_000):
        path = tmp_path / f"{lines}.dat"
        path.write_bytes(made(lines))
        chosen = {"time": "none", "interval": "1us"} if made is long_text else {}
        opened = look(path, choices=chosen)
        tracemalloc.start()
        kept = keep(stream(opened), tmp_path / f"{lines}.kept")
        most.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert kept.record.digital[0].ticks.size == 2 * lines
        assert most[-1] < 20e6
    assert most[1] < 1.2 * most[0]


def test_the_name_comes_last_and_a_full_disk_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(source: Path, target: Path) -> None:
        assert (source / "kept.json").stat().st_size
        assert not target.exists()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "rename", full)
    with pytest.raises(CaptureError, match="No space left"):
        keep([record(10)], tmp_path / "k")
    assert list(tmp_path.iterdir()) == []
