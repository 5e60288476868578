"""Captures of a case: kept records in a folder beside the case file, and what their channels are.

``lamp.hsplit`` has ``lamp.captures/``, and in it one folder for each capture with a file of the
nets that a person gave to channels.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from halfsplit.board.model import Board
from halfsplit.capture.foreign import foreign
from halfsplit.capture.keep import keep
from halfsplit.capture.kept import INDEX, RAW, Kept
from halfsplit.capture.names import match_names
from halfsplit.capture.read import look, stream
from halfsplit.capture.record import Channel, Digital, Record
from halfsplit.errors import CaptureError, UnknownName

__all__ = ["DEVICES", "MOST_CHANNELS", "Recordings", "size_of"]

DEVICES = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}
"""Names that one of the desktop systems keeps for devices."""

MOST_CHANNELS = 64
"""Of one question for columns."""
_MOST_OPEN = 8
_NETS = "nets.json"
_ABOUT = "about.json"
_MOST_ABOUT = 1_000_000
"""Bytes of what a packed case says about one capture."""


class Recordings:
    """The captures of one case."""

    def __init__(self, case: Path) -> None:
        self.folder = case.with_suffix(".captures")
        self._open: dict[str, Kept] = {}

    def names(self) -> list[str]:
        """By age, the oldest first."""
        found = [one.parent for one in self.folder.glob(f"*/{INDEX}") if one.parent.name[0] != "."]
        return [one.name for one in sorted(found, key=lambda one: (one.stat().st_mtime, one.name))]

    def get(self, name: str) -> Kept:
        """Open it. Raises UnknownName, CaptureError."""
        if name not in self._open:
            known = self.names()
            if name not in known:
                raise UnknownName("capture", name, known)
            kept = Kept.open(self.folder / name)
            while len(self._open) >= _MOST_OPEN:
                self._open.pop(next(iter(self._open)))
            self._open[name] = kept
        return self._open[name]

    def fresh(self, file_name: str) -> Path:
        """A new empty file in the captures' folder, for an upload; its suffix helps to tell the
        format. Whoever asked removes it."""
        self.folder.mkdir(exist_ok=True)
        suffix = re.sub(r"[^A-Za-z0-9.]", "", Path(file_name).suffix)[:8]
        handle, path = tempfile.mkstemp(prefix=".upload-", suffix=suffix, dir=self.folder)
        os.close(handle)
        return Path(path)

    def add(self, file_name: str, path: Path) -> str:
        """Read the file at ``path`` and keep it; the name it got. Raises CaptureError."""
        try:
            return self.add_parts(file_name, stream(look(path)))
        except CaptureError as error:
            said = str(error).replace(path.name, file_name)
            raise CaptureError(said.replace(f"{file_name}: ", "", 1), source=file_name) from error

    def add_parts(self, file_name: str, parts: Iterable[Record]) -> str:
        """Keep the parts of a record, which follow each other in time; the name it got. Raises
        CaptureError."""
        name = self._free(file_name)
        keep(parts, self.folder / name)
        return name

    def remove(self, name: str) -> None:
        """Put a capture away for good. Raises UnknownName."""
        self.get(name)
        del self._open[name]
        gone = self.folder / f".{name}.gone"
        (self.folder / name).rename(gone)
        shutil.rmtree(gone, ignore_errors=True)

    def told(self, name: str, board: Board) -> dict[str, object]:
        """What is in a capture, for the page."""
        record = self.get(name).record
        nets = [net for net in board.nets() if net != board.ground]
        matches = match_names([channel.name for channel in record.channels], nets)
        given = self._given(name)
        return {
            "name": name,
            "begin": record.begin,
            "end": record.end,
            "remarks": list(record.remarks),
            "channels": [
                {
                    "name": channel.name,
                    "digital": isinstance(channel, Digital),
                    "unit": "" if isinstance(channel, Digital) else channel.unit,
                    "count": len(
                        channel.ticks if isinstance(channel, Digital) else channel.samples
                    ),
                    "net": given.get(channel.name, match.net or ""),
                    "suggestions": list(match.suggestions),
                }
                for channel, match in zip(record.channels, matches, strict=True)
            ],
        }

    def give(self, name: str, channel: str, net: str, board: Board) -> None:
        """Say which net a channel was clipped to, empty for none. Raises UnknownName."""
        self.get(name).record.channel(channel)
        if net and net not in board.nets():
            raise UnknownName("net", net, list(board.nets()))
        self._write_nets(name, self._given(name) | {channel: net})

    def nets(self, name: str, board: Board) -> dict[str, str]:
        """Channel -> net, as given, else by name. Raises UnknownName, CaptureError."""
        told = self.told(name, board)["channels"]
        assert isinstance(told, list)
        return {channel["name"]: channel["net"] for channel in told if channel["net"]}

    def to_pack(self, scratch: Path) -> dict[str, Path]:
        """The files that a packed case has of all captures, by their names there: of each its
        record alone. ``scratch`` is an empty folder for what is not there yet."""
        found: dict[str, Path] = {}
        for number, name in enumerate(self.names()):
            about = scratch / f"{number}.json"
            said = {"name": name, "nets": self._given(name)}
            about.write_text(json.dumps(said), encoding="utf-8")
            found[f"captures/{number}/{_ABOUT}"] = about
            for file in sorted((self.folder / name).iterdir()):
                if file.name == INDEX or file.name.rpartition(".")[2] in RAW:
                    found[f"captures/{number}/{file.name}"] = file
        return found

    def take_in(self, unpacked: Path) -> None:
        """Make the captures of a new case of what a packed one had, one numbered folder each: all
        or none. What they say is looked at, and kept anew. Raises CaptureError."""
        if self.folder.exists():
            raise CaptureError(
                "expected no folder of captures yet, got one; choose another name for the case",
                source=self.folder.name,
            )
        fresh = Recordings(unpacked / "fresh")
        for folder in sorted(unpacked.glob("[0-9]*"), key=lambda one: int(one.name)):
            name, nets = _about(folder / _ABOUT)
            fresh._write_nets(fresh.add_parts(name, [foreign(folder)]), nets)
        if fresh.folder.exists():
            fresh.folder.rename(self.folder)

    def copy(self, case: Path) -> None:
        """The same captures for another case. Raises CaptureError."""
        other = Recordings(case).folder
        if not self.folder.exists():
            return
        try:
            shutil.copytree(self.folder, other, ignore=shutil.ignore_patterns(".*"))
        except OSError as error:
            raise CaptureError(
                f"captures cannot be copied ({error}); make room, or choose another name",
                source=other.name,
            ) from error

    def _write_nets(self, name: str, nets: Mapping[str, str]) -> None:
        path = self.folder / name / _NETS
        beside = path.with_suffix(".new")
        beside.write_text(json.dumps(nets), encoding="utf-8")
        beside.replace(path)

    def columns(
        self, name: str, channels: Sequence[str], begin: float, end: float, count: int
    ) -> bytes:
        """The channels one after the other, little-endian: of samples ``low`` [W] and ``high`` [W]
        float32; of levels ``seen`` [W] uint8, filled up to a multiple of four."""
        kept = self.get(name)
        pieces: list[bytes] = []
        for channel in channels:
            found = kept.columns(channel, begin, end, count)
            if found.low is not None and found.high is not None:
                pieces += [found.low.astype("<f4").tobytes(), found.high.astype("<f4").tobytes()]
            elif found.seen is not None:
                pieces += [found.seen.tobytes(), bytes(-count % 4)]
        return b"".join(pieces)

    def measured(self, name: str, begin: float, end: float) -> list[dict[str, object]]:
        """Each channel between two times: least and most, or how many edges and their rate."""
        kept = self.get(name)
        told: list[dict[str, object]] = []
        for channel in kept.record.channels:
            found = kept.columns(channel.name, begin, end, 1)
            if found.low is not None and found.high is not None:
                values = {"low": float(found.low[0]), "high": float(found.high[0])}
                told.append({"name": channel.name, **values})
            elif found.edges is not None:
                edges = int(found.edges[0])
                told.append(
                    {"name": channel.name, "edges": edges, "hertz": edges / 2 / (end - begin)}
                )
        return told

    def _given(self, name: str) -> dict[str, str]:
        with contextlib.suppress(OSError, ValueError):
            found = json.loads((self.folder / name / _NETS).read_text(encoding="utf-8"))
            return {str(channel): str(net) for channel, net in found.items()}
        return {}

    def _free(self, file_name: str) -> str:
        stem = re.sub(r"[^\w -]+", "-", Path(file_name).stem).strip(" .-_")[:60]
        if not stem or stem.casefold() in DEVICES:
            stem = f"capture {stem}".strip()
        taken = {name.casefold() for name in self.names()}
        tries = (stem if at == 1 else f"{stem} {at}" for at in range(1, len(taken) + 2))
        return next(name for name in tries if name.casefold() not in taken)


def _about(path: Path) -> tuple[str, dict[str, str]]:
    """Name and nets of a capture of a packed case."""
    try:
        if path.stat().st_size > _MOST_ABOUT:
            raise ValueError("it is too long")
        said = json.loads(path.read_text(encoding="utf-8"))
        return str(said["name"]), {str(one): str(net) for one, net in said["nets"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise CaptureError(
            f"expected what a packed case says about a capture, got none ({error})",
            source=path.name,
        ) from error


def size_of(channel: Channel) -> int:
    """How many samples or edges."""
    return len(channel.ticks if isinstance(channel, Digital) else channel.samples)
