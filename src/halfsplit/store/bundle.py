"""A case packed for other hands: one ZIP with the log, the board's text, what is attached, and
files of its captures.

``SHA256SUMS`` in it, as ``sha256sum -c`` reads it, covers every other member. Nothing is unpacked
under a name from the file: members are read by the names that a bundle has, within limits, and a
new case is made of them once everything has been checked.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import zipfile
import zlib
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import IO
from uuid import uuid4

from halfsplit.errors import CaseError
from halfsplit.store.event import Event, check_at
from halfsplit.store.log import CaseLog

__all__ = ["SUFFIX", "pack", "unpack"]

SUFFIX = ".hsplit.zip"
FORM = "halfsplit case 1"
SUMS, LOG, BOARD = "SHA256SUMS", "case.json", "board.txt"
MOST_MEMBERS = 20_000
MOST_TEXT = 64_000_000
MOST_WHOLE = 8_000_000_000
MOST_ATTACHED = 2_000_000_000
SLIGHT = 1_000_000
"""Bytes that may be unpacked of the smallest file."""
MOST_RATIO = 200
"""Unpacked to packed: text packs to a twentieth or so; a bomb to a thousandth and less."""
_PIECE = 1 << 20

_ATTACHED = re.compile(r"attached/([0-9a-f]{64})\.(jpg|png|bin)")
_CAPTURED = re.compile(
    r"captures/([0-9]{1,3})/((?:about|kept)\.json|[0-9]{1,4}\.(?:ticks|values|samples|times))"
)
_SUM = re.compile(r"([0-9a-f]{64})  ([^\r\n]+)")


def pack(
    log: CaseLog, into: IO[bytes], *, board_text: str, captured: Mapping[str, Path] | None = None
) -> None:
    """Write the case to ``into``. ``board_text`` is there for readers; the log holds it too.
    ``captured`` are files of captures, ``captures/0/kept.json`` and the like. Raises CaseError
    when they are more than a bundle takes."""
    captured = captured or {}
    size = sum(path.stat().st_size for path in captured.values())
    if size + MOST_ATTACHED > MOST_WHOLE or len(captured) > MOST_MEMBERS // 2:
        raise CaseError(
            f"expected captures of at most {(MOST_WHOLE - MOST_ATTACHED) / 1e9:g} GB to pack, got "
            f"{size / 1e9:.1f}; remove the longest on the page and hand over its file by itself"
        )
    sums: dict[str, str] = {}
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, path in captured.items():
            sums[name], method = _looked_through(path)
            bundle.write(path, name, method, 1)
        for sha256 in log.attached():
            data = log.attachment(sha256)
            name = f"attached/{sha256}.{_ending(data)}"
            bundle.writestr(name, data, zipfile.ZIP_STORED)
            sums[name] = sha256
        for name, text in ((LOG, _log_text(log)), (BOARD, board_text)):
            bundle.writestr(name, text)
            sums[name] = hashlib.sha256(text.encode()).hexdigest()
        bundle.writestr(SUMS, "".join(f"{sha}  {name}\n" for name, sha in sorted(sums.items())))


def unpack(
    bundle: str | os.PathLike[str],
    into: str | os.PathLike[str],
    *,
    scratch: Path,
    settle: Callable[[CaseLog], None],
) -> CaseLog:
    """Make a new case at ``into`` of a bundle. Raises CaseError, and makes nothing, when anything
    in the bundle is not as it should be or there is a file at ``into``.

    Files of captures go to ``scratch``, an empty folder, as ``0/kept.json`` and the like.
    ``settle`` looks at the case, and puts captures in their place, before the case gets its
    name; what it raises undoes the case.
    """
    file = Path(into)
    if file.exists():
        raise CaseError(f"{file}: expected no file yet, got one; choose another name")
    # Under a name of its own until it is whole, so that a killed program leaves no half case.
    passing = file.with_name(f".{file.name}.{uuid4().hex[:8]}")
    try:
        _make(Path(bundle), passing, scratch, settle)
        _give_name(passing, file)
    finally:
        with suppress(OSError):
            passing.unlink(missing_ok=True)
    return CaseLog.open(file)


def _make(source: Path, into: Path, scratch: Path, settle: Callable[[CaseLog], None]) -> None:
    try:
        with zipfile.ZipFile(source) as bundle:
            members = _members(bundle, source.stat().st_size)
            sums = _sums(_read(bundle, members, SUMS, MOST_TEXT), members)
            said = _parsed(_checked(bundle, members, LOG, MOST_TEXT, sums))
            _checked(bundle, members, BOARD, MOST_TEXT, sums)
            made, events, seal = said
            with CaseLog.create(into, at=made, events=events) as log:
                if log.seal != seal:
                    raise _refused(f"the last seal of the log is not the one that {LOG} says")
                for name in members:
                    if _ATTACHED.fullmatch(name):
                        log.attach(_checked(bundle, members, name, MOST_ATTACHED, sums))
                    elif found := _CAPTURED.fullmatch(name):
                        place = scratch / str(int(found[1])) / found[2]
                        _stream(bundle, members[name], place, sums[name])
                settle(log)
    except FileNotFoundError:
        raise CaseError(
            f"{source}: expected a packed case (*{SUFFIX}), got no file; check the name"
        ) from None
    except (
        zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError,
        UnicodeDecodeError,
    ) as error:  # fmt: skip
        raise _refused(f"it cannot be unpacked ({error})") from error


def _members(bundle: zipfile.ZipFile, size: int) -> dict[str, zipfile.ZipInfo]:
    """Name -> member; CaseError for names that no bundle has, and for what would be too much."""
    found = bundle.infolist()
    if len(found) > MOST_MEMBERS:
        raise _refused(f"it has {len(found)} members, at most {MOST_MEMBERS} are taken")
    members: dict[str, zipfile.ZipInfo] = {}
    for member in found:
        name = member.filename
        if name not in (SUMS, LOG, BOARD) and not (
            _ATTACHED.fullmatch(name) or _CAPTURED.fullmatch(name)
        ):
            raise _refused(f"it has a member {name[:60]!r}, which no packed case has")
        if name in members:
            raise _refused(f"it has {name!r} twice")
        members[name] = member
    whole = sum(member.file_size for member in found)
    if whole > min(MOST_WHOLE, MOST_RATIO * size + SLIGHT):
        raise _refused(f"it would unpack to {whole / 1e6:.0f} MB, more than its size warrants")
    return members


def _sums(raw: bytes, members: Mapping[str, zipfile.ZipInfo]) -> dict[str, str]:
    sums: dict[str, str] = {}
    for line in raw.decode().splitlines():
        found = _SUM.fullmatch(line)
        if found is None or found[2] in sums:
            raise _refused(f"{SUMS} has a line that is none of a checksum: {line[:80]!r}")
        sums[found[2]] = found[1]
    if sums.keys() != members.keys() - {SUMS}:
        raise _refused(f"{SUMS} does not name just what is in it")
    return sums


def _checked(
    bundle: zipfile.ZipFile,
    members: Mapping[str, zipfile.ZipInfo],
    name: str,
    most: int,
    sums: Mapping[str, str],
) -> bytes:
    data = _read(bundle, members, name, most)
    found = hashlib.sha256(data).hexdigest()
    attached = _ATTACHED.fullmatch(name)
    if found != sums[name] or (attached and found != attached[1]):
        raise _refused(f"{name} does not match its checksum")
    return data


def _read(
    bundle: zipfile.ZipFile, members: Mapping[str, zipfile.ZipInfo], name: str, most: int
) -> bytes:
    if name not in members:
        raise _refused(f"it has no {name}")
    with bundle.open(members[name]) as stream:
        data = stream.read(most + 1)
    if len(data) > most:
        raise _refused(f"{name} is larger than {most / 1e6:.0f} MB")
    return data


def _stream(bundle: zipfile.ZipFile, member: zipfile.ZipInfo, into: Path, expected: str) -> None:
    """A large member to a file, piece by piece; never over a file that is there."""
    into.parent.mkdir(exist_ok=True)
    found, left = hashlib.sha256(), member.file_size
    with bundle.open(member) as stream, into.open("xb") as file:
        while piece := stream.read(min(_PIECE, left + 1)):
            left -= len(piece)
            if left < 0:
                raise _refused(f"{member.filename} is larger than it says")
            found.update(piece)
            file.write(piece)
    if found.hexdigest() != expected:
        raise _refused(f"{member.filename} does not match its checksum")


def _looked_through(path: Path) -> tuple[str, int]:
    """SHA-256 of a file, and how to pack it: as it is where packing would look like a bomb."""
    found, packer, size, packed = hashlib.sha256(), zlib.compressobj(1), 0, 0
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            found.update(piece)
            size += len(piece)
            packed += len(packer.compress(piece))
    packed += len(packer.flush())
    bomb = size > MOST_RATIO // 2 * packed
    return found.hexdigest(), zipfile.ZIP_STORED if bomb else zipfile.ZIP_DEFLATED


def _log_text(log: CaseLog) -> str:
    events = [
        {"number": e.number, "at": e.at, "kind": e.kind, "data": e.data} for e in log.events()
    ]
    said = {"form": FORM, "made": log.made, "events": events, "seal": log.seal}
    return json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _parsed(raw: bytes) -> tuple[str, list[Event], str]:
    """When the case was made, its events, and the seal of the last."""
    try:
        said = json.loads(raw)
        if said["form"] != FORM:
            raise _refused(f"it is of the form {said['form']!r}; expected {FORM!r}")
        events = [
            Event(number=e["number"], at=e["at"], kind=e["kind"], data=dict(e["data"]))
            for e in said["events"]
        ]
        return check_at(said["made"]), events, str(said["seal"])
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _refused(f"{LOG} is not as a packed case has it ({error!r:.80})") from error


def _give_name(passing: Path, file: Path) -> None:
    """Rename without ever putting it in place of another file."""
    try:
        os.link(passing, file)
    except FileExistsError:
        raise CaseError(f"{file}: expected no file yet, got one; choose another name") from None
    except OSError as error:  # a disk without links
        if file.exists():
            raise CaseError(f"{file}: expected no file yet, got one") from error
        passing.rename(file)


def _ending(data: bytes) -> str:
    if data.startswith(b"\xff\xd8\xff"):
        return "jpg"
    return "png" if data.startswith(b"\x89PNG\r\n\x1a\n") else "bin"


def _refused(why: str) -> CaseError:
    return CaseError(
        f"expected a packed case (*{SUFFIX}), but {why}; nothing was changed, ask for it again"
    )
