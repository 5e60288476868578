"""Captures of a case: packed, taken in by other hands, copied."""

import json
import zipfile
import zlib
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfsplit.bench import Bench
from halfsplit.board.model import Board
from halfsplit.capture.record import Analog, Digital, Record
from halfsplit.errors import HalfsplitError
from halfsplit.recordings import Recordings
from halfsplit.shelf import Shelf, pack_case

BOARD = 'board "Divider" rev B\nrail +5 5V\nR1 1k +5 A\nR2 1k A GND\nstate on\n'
LONG = 300_000


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    """A case with one capture: edges, samples, and a flat channel that packs like a bomb."""
    found = Shelf(tmp_path / "here")
    found.folder.mkdir()
    found.new("pump", BOARD)
    kept = Recordings(found.path("pump"))
    noise = np.random.default_rng(3).normal(size=LONG).astype(np.float32)
    kept.add_parts(
        "seek.csv",
        [
            Record(
                source="seek.csv",
                begin=0.0,
                end=1.0,
                channels=(
                    Digital(
                        name="CLK",
                        tick=1e-6,
                        ticks=np.arange(2000, dtype=np.int64) * 500,
                        values=(np.arange(2000) % 2).astype(np.uint8),
                    ),
                    Analog(name="A", unit="V", samples=noise, step=1 / LONG),
                    Analog(name="flat", unit="V", samples=np.zeros(LONG, np.float32), step=1e-6),
                ),
                remarks=("one remark",),
            )
        ],
    )
    kept.give("seek", "CLK", "A", _board(found))
    return found


def _board(shelf: Shelf) -> Board:
    with Bench.open(shelf.path("pump")) as bench:
        return bench.board


def packed(shelf: Shelf) -> Path:
    path = shelf.folder / "pump.hsplit.zip"
    with path.open("wb") as stream:
        pack_case(shelf.path("pump"), stream)
    return path


def test_captures_come_back_equal(shelf: Shelf) -> None:
    case = shelf.unpack(packed(shelf), "twin")
    before, after = (Recordings(one).get("seek") for one in (shelf.path("pump"), case))
    after.check()
    assert after.record.remarks == before.record.remarks
    for name in before.record.names:
        one, other = before.columns(name, 0.0, 1.0, 50), after.columns(name, 0.0, 1.0, 50)
        for field in ("low", "high", "seen", "edges"):
            np.testing.assert_array_equal(getattr(one, field), getattr(other, field))
    assert Recordings(case).nets("seek", _board(shelf)) == {"CLK": "A", "A": "A"}
    assert not [one for one in shelf.folder.iterdir() if one.name.startswith(".")]
    with zipfile.ZipFile(shelf.folder / "pump.hsplit.zip") as opened:
        for line in opened.read("SHA256SUMS").decode().splitlines():
            told, name = line.split("  ")
            assert sha256(opened.read(name)).hexdigest() == told
        assert not [name for name in opened.namelist() if name.endswith((".low", ".masks"))]


def test_a_copy_has_them_and_a_sister_has_not(shelf: Shelf) -> None:
    assert Recordings(shelf.duplicate("pump", "twin")).names() == ["seek"]
    assert Recordings(shelf.duplicate("pump", "sister", board_only=True)).names() == []


Members = dict[str, bytes]


def repacked(shelf: Shelf, change: Callable[[Members], object]) -> Path:
    """A packed case with members changed, and its checksums set right."""
    path = packed(shelf)
    with zipfile.ZipFile(path) as opened:
        members = {name: opened.read(name) for name in opened.namelist()}
    change(members)
    sums = [f"{sha256(d).hexdigest()}  {n}\n" for n, d in members.items() if n != "SHA256SUMS"]
    members["SHA256SUMS"] = "".join(sums).encode()
    with zipfile.ZipFile(path, "w") as again:
        for name, data in members.items():
            again.writestr(name, data)
    return path


def index(members: Members, change: Callable[[dict[str, Any]], object]) -> None:
    """A forger who corrects the checksum of the index too."""
    record = json.loads(members["captures/0/kept.json"])["record"]
    change(record)
    crc = zlib.crc32(json.dumps(record, sort_keys=True).encode())
    members["captures/0/kept.json"] = json.dumps({"record": record, "crc32": crc}).encode()


def reaches_out(members: Members) -> None:
    index(members, lambda record: record["channels"][0].update(ticks="../../../pump.hsplit"))


def no_time(members: Members) -> None:
    index(members, lambda record: record.update(end=float("nan")))


def endless_tick(members: Members) -> None:
    index(members, lambda record: record["channels"][0].update(tick=float("inf")))


def names_twice(members: Members) -> None:
    index(members, lambda record: record["channels"][1].update(name="CLK"))


def names_a_number(members: Members) -> None:
    index(members, lambda record: record.update(source=7))


def back_in_time(members: Members) -> None:
    name = "captures/0/0.ticks"
    members[name] = np.frombuffer(members[name], np.int64)[::-1].tobytes()


def no_such_level(members: Members) -> None:
    members["captures/0/0.values"] = bytes([250]) * 2000


def cut(members: Members) -> None:
    members["captures/0/1.samples"] = members["captures/0/1.samples"][:-4]


def summary(members: Members) -> None:
    members["captures/0/1.low"] = b"x"


def climbs(members: Members) -> None:
    members["captures/0/../../evil"] = b"x"


def nested(members: Members) -> None:
    members["captures/0/about.json"] = b"[" * 100_000


def no_about(members: Members) -> None:
    del members["captures/0/about.json"]


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (reaches_out, "names a file"),
        (no_time, "beginning after its end"),
        (endless_tick, "no time"),
        (names_twice, "two of one name"),
        (names_a_number, "no texts"),
        (back_in_time, "out of order"),
        (no_such_level, "levels that are none"),
        (cut, "bytes"),
        (summary, "no packed case has"),
        (climbs, "no packed case has"),
        (nested, "expected what a packed case says"),
        (no_about, "expected what a packed case says"),
    ],
)
def test_a_hostile_capture_harms_nothing(
    shelf: Shelf, change: Callable[[Members], object], why: str
) -> None:
    path = repacked(shelf, change)
    before = sorted(str(one) for one in shelf.folder.parent.rglob("*"))
    with pytest.raises(HalfsplitError, match=why):
        shelf.unpack(path, "evil")
    assert sorted(str(one) for one in shelf.folder.parent.rglob("*")) == before


def test_a_capture_calls_itself_what_it_likes(shelf: Shelf) -> None:
    """The folder's name is made of what it says, by our own rules."""
    said = b'{"name": "../../x/../con", "nets": {}}'
    path = repacked(shelf, lambda members: members.update({"captures/0/about.json": said}))
    case = shelf.unpack(path, "twin")
    (name,) = Recordings(case).names()
    assert name == "capture con"
    assert (case.with_suffix(".captures") / name).parent == case.with_suffix(".captures")


def test_a_folder_that_is_there_is_left_alone(shelf: Shelf) -> None:
    (shelf.folder / "twin.captures").mkdir()
    with pytest.raises(HalfsplitError, match="no folder of captures yet"):
        shelf.unpack(packed(shelf), "twin")
    assert not (shelf.folder / "twin.hsplit").exists()
