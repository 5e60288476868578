"""What is attached to a case, the case packed for other hands, and photos without their secrets."""

import hashlib
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from halfsplit.errors import CaseError
from halfsplit.store import bundle
from halfsplit.store.log import CaseLog
from halfsplit.store.photo import cleaned
from halfsplit.store.salvage import rescue

AT = "2024-02-29T12:00:00.000Z"
DATA = np.random.default_rng(1).bytes(2_100_000)  # three pieces


@pytest.fixture
def log(tmp_path: Path) -> CaseLog:
    made = CaseLog.create(tmp_path / "one.hsplit", at=AT)
    made.append("note", {"text": "4 µA"}, at=AT)
    return made


@pytest.fixture
def packed(log: CaseLog, tmp_path: Path) -> Path:
    log.attach(DATA)
    path = tmp_path / "one.hsplit.zip"
    with path.open("wb") as stream:
        bundle.pack(log, stream, board_text="R1 1k A B\n")
    return path


def unpacked(packed: Path, into: Path) -> CaseLog:
    with TemporaryDirectory() as scratch:
        return bundle.unpack(packed, into, scratch=Path(scratch), settle=lambda log: None)


def test_attachments_come_back_whole_and_are_kept_once(log: CaseLog) -> None:
    sha256 = log.attach(DATA)
    assert sha256 == hashlib.sha256(DATA).hexdigest()
    assert log.attach(DATA) == sha256
    assert log.attached() == {sha256: len(DATA)}
    assert log.attachment(sha256) == DATA
    with pytest.raises(CaseError, match="found none"):
        log.attachment("0" * 64)
    with pytest.raises(CaseError, match="1 to"):
        log.attach(b"")


def test_attachments_survive_a_copy_and_a_rescue(log: CaseLog, tmp_path: Path) -> None:
    sha256 = log.attach(DATA)
    log.copy(tmp_path / "two.hsplit")
    with CaseLog.open(tmp_path / "two.hsplit") as copy:
        assert copy.attachment(sha256) == DATA
        assert copy.events() == log.events()
    with rescue(log.path, tmp_path / "three.hsplit", at=AT) as rescued:
        assert rescued.attachment(sha256) == DATA
    with pytest.raises(CaseError, match="expected no file yet"):
        log.copy(tmp_path / "two.hsplit")


def test_several_undos_at_once_or_none(log: CaseLog) -> None:
    log.append("note", {"text": "b"}, at=AT)
    with pytest.raises(CaseError, match="taken back already"):
        log.take_back_all([2, 1, 1], at=AT)
    assert [event.number for event in log.live()] == [1, 2]
    log.take_back_all([2, 1], at=AT)
    assert log.live() == ()


def test_a_packed_case_comes_back_equal(log: CaseLog, packed: Path, tmp_path: Path) -> None:
    with unpacked(packed, tmp_path / "two.hsplit") as back:
        assert (back.events(), back.made, back.seal) == (log.events(), log.made, log.seal)
        assert back.attached() == log.attached()
    # The list of checksums is one that coreutils' sha256sum reads: sum, two blanks, name.
    with zipfile.ZipFile(packed) as opened:
        for line in opened.read("SHA256SUMS").decode().splitlines():
            sha256, name = line.split("  ")
            assert hashlib.sha256(opened.read(name)).hexdigest() == sha256


Change = Callable[[dict[str, bytes]], None]


def changed_log(members: dict[str, bytes]) -> None:
    """A forger who also corrects the checksum is met by the seals."""
    members["case.json"] = members["case.json"].replace("4 µA".encode(), "9 µA".encode())
    sums(members)


def sums(members: dict[str, bytes]) -> None:
    members["SHA256SUMS"] = "".join(
        f"{hashlib.sha256(data).hexdigest()}  {name}\n"
        for name, data in members.items()
        if name != "SHA256SUMS"
    ).encode()


def climbs(members: dict[str, bytes]) -> None:
    members["../evil.txt"] = b"x"
    sums(members)


def rooted(members: dict[str, bytes]) -> None:
    members["/evil.txt"] = b"x"
    sums(members)


def bomb(members: dict[str, bytes]) -> None:
    del members[next(name for name in members if name.startswith("attached/"))]
    members["case.json"] = b" " * 60_000_000
    sums(members)


def not_json(members: dict[str, bytes]) -> None:
    members["case.json"] = b"[" * 100_000
    sums(members)


def another_form(members: dict[str, bytes]) -> None:
    said = json.loads(members["case.json"])
    members["case.json"] = json.dumps(said | {"form": "halfsplit case 9"}).encode()
    sums(members)


def flipped(members: dict[str, bytes]) -> None:
    name = next(name for name in members if name.startswith("attached/"))
    members[name] = b"\0" + members[name][1:] if members[name][0] else b"\1" + members[name][1:]


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (changed_log, "last seal"),
        (climbs, "no packed case has"),
        (rooted, "no packed case has"),
        (bomb, "more than its size warrants"),
        (not_json, "not as a packed case has it"),
        (another_form, "expected 'halfsplit case 1'"),
        (flipped, "does not match its checksum"),
        (lambda members: members.pop("SHA256SUMS") and None, "has no SHA256SUMS"),
        (lambda members: members.pop("board.txt") and None, "does not name just what is in it"),
    ],
)
def test_a_damaged_or_hostile_file_harms_nothing(packed: Path, change: Change, why: str) -> None:
    with zipfile.ZipFile(packed) as opened:
        members = {name: opened.read(name) for name in opened.namelist()}
    change(members)
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as again:
        for name, data in members.items():
            again.writestr(name, data)
    refused(packed, why)


@pytest.mark.parametrize("size", [0, 10, 1000, -30])
def test_a_file_cut_short_is_refused(packed: Path, size: int) -> None:
    packed.write_bytes(packed.read_bytes()[:size])
    refused(packed, "cannot be unpacked|members|checksum")


def refused(packed: Path, why: str) -> None:
    """Nothing new lies in the folder or above it afterwards."""
    folder = packed.parent
    before = sorted(path.name for path in [*folder.iterdir(), *folder.parent.iterdir()])
    with pytest.raises(CaseError, match=why):
        unpacked(packed, folder / "two.hsplit")
    assert sorted(path.name for path in [*folder.iterdir(), *folder.parent.iterdir()]) == before


def test_a_case_there_already_is_left_alone(packed: Path, log: CaseLog) -> None:
    before = log.path.read_bytes()
    with pytest.raises(CaseError, match="expected no file yet"):
        unpacked(packed, log.path)
    assert log.path.read_bytes() == before


def chunk(kind: bytes, data: bytes) -> bytes:
    """A PNG chunk: length, kind, data, CRC-32 over both (W3C PNG, 5.3)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


PNG = (
    b"\x89PNG\r\n\x1a\n"
    + chunk(b"IHDR", struct.pack(">IIBBBBB", 3, 2, 8, 2, 0, 0, 0))
    + chunk(b"tEXt", b"Author\0Somebody")
    + chunk(b"IDAT", zlib.compress(b"\0" + b"\1" * 9 + b"\0" + b"\2" * 9))
    + chunk(b"IEND", b"")
)


def jpeg(way: int) -> bytes:
    """Segments as in ITU T.81 and Exif 2.32: camera's data with orientation ``way`` and a place."""
    entries = struct.pack(">HHIHH", 0x0112, 3, 1, way, 0) + struct.pack(">HHII", 0x8825, 4, 1, 99)
    exif = b"Exif\0\0MM\0*" + struct.pack(">IH", 8, 2) + entries + b"\0\0\0\0GPS 52.1 N"
    segments = [(0xE0, b"JFIF\0\1\2\0\0\1\0\1\0\0"), (0xE1, exif), (0xFE, b"a comment")]
    segments.append((0xC0, struct.pack(">BHHB", 8, 20, 30, 1) + b"\1\x11\0"))
    body = b"".join(bytes((0xFF, k)) + struct.pack(">H", len(d) + 2) + d for k, d in segments)
    return b"\xff\xd8" + body + b"\xff\xda\0\x08\1\1\0\0\x3f\0" + b"scan" + b"\xff\xd9"


def test_photos_lose_what_the_camera_wrote_beside_the_picture() -> None:
    picture = cleaned(PNG)
    assert (picture.media, picture.width, picture.height) == ("image/png", 3, 2)
    assert b"Somebody" not in picture.data
    assert picture.data.endswith(PNG[PNG.index(b"IDAT") :])
    picture = cleaned(jpeg(1))
    assert (picture.media, picture.width, picture.height) == ("image/jpeg", 30, 20)
    assert b"GPS" not in picture.data
    assert b"comment" not in picture.data
    assert b"Exif" not in picture.data
    assert picture.data.endswith(b"scan\xff\xd9")


def test_a_turned_photo_stays_turned() -> None:
    data = cleaned(jpeg(6)).data
    assert b"GPS" not in data
    at = data.index(b"Exif\0\0") + 6
    assert data[at : at + 4] == b"MM\0*"
    # Exif 2.32, 4.6.2: a count, then tag, type SHORT, one value, left in its four bytes.
    assert struct.unpack(">HHHIHH", data[at + 8 : at + 22]) == (1, 0x0112, 3, 1, 6, 0)
    assert cleaned(data).data == data


@pytest.mark.parametrize(
    "data", [b"", b"GIF89a....", b"<svg/>", PNG[:40], jpeg(1)[:30], b"\xff\xd8\xff\xe0\0\0"]
)
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    with pytest.raises(CaseError, match="expected a photo"):
        cleaned(data)


def test_packing_goes_to_any_stream(log: CaseLog) -> None:
    stream = io.BytesIO()
    bundle.pack(log, stream, board_text="")
    assert zipfile.ZipFile(stream).testzip() is None
