"""Value change dump, the four-state form of IEEE 1364-2005, clause 18."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator, Mapping
from dataclasses import replace
from io import FileIO
from pathlib import Path

import numpy as np

from halfsplit.capture.compiled import load_readers
from halfsplit.capture.formats import _vcd_body, _vcd_compiled, _vcd_sort
from halfsplit.capture.formats._grid import as_samples
from halfsplit.capture.formats._place import line_of
from halfsplit.capture.formats._vcd_changes import DONE, PROBLEMS, Changes, Codes
from halfsplit.capture.formats._vcd_header import Header, parse_header
from halfsplit.capture.kind import Finding, Format, Opened
from halfsplit.capture.record import Analog, Channel, Digital, Record
from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity, parse

__all__ = ["KIND"]

_BLOCK = 1 << 19
_MOST_HEADER = 1 << 26
_CUT = "the file does not end with a line end: it may be cut, and the last time or code with it"
_OPENING = tuple(b"bBrRsS")


def look(path: Path, choices: Mapping[str, str]) -> Opened:
    """Read the declarations. Raises :class:`CaptureError`."""
    header = _read_header(path)
    tick = parse(choices["tick"], "s") if "tick" in choices else header.tick
    if tick <= 0:
        raise CaptureError(f"expected a tick above 0 s, got {choices['tick']}", source=path.name)
    findings = (
        Finding(name="tick", value=f"{tick:.9g}s", words=f"{format_quantity(tick, 's')} a tick"),
    )
    reading = _Reading(path=path, header=header, tick=tick, codes=Codes(header.variables))
    return Opened(format=KIND.name, source=path.name, findings=findings, parts=reading.parts)


def suits(head: bytes, suffix: str) -> float:
    """Every VCD file begins with a keyword."""
    if b"$var" in head or b"$enddefinitions" in head:
        return 0.9 if head.lstrip()[:1] == b"$" else 0.3
    return 0.5 if suffix == ".vcd" else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """One file with its declarations known; ``parts`` may be called again and again."""

    path: Path
    header: Header
    tick: float
    codes: Codes

    def parts(self) -> Iterator[Record]:
        """Records of some megabytes of the file each."""
        library = load_readers()
        every = np.zeros(max(1, self.header.bits), dtype=np.uint8)
        every[[line.slot for line in self.header.lines if line.kind == "event"]] = 1
        last = np.full(every.size, 255, dtype=np.uint8)
        begin, now, given = 0, 0, 0
        parse = _vcd_compiled.Parser(library).parse if library else _vcd_body.parse
        with FileIO(self.path) as file:
            file.seek(self.header.size)
            rest = b""
            for at, block, final in _blocks(file, self.header.size, self.header.bits):
                at, block, rest = at - len(rest), rest + block, b""
                changes = parse(block, self.codes, now)
                if not final and block.startswith(b"$comment", changes.at):
                    rest, changes = block[changes.at :], replace(changes, problem=DONE)
                if not given:
                    early = changes.slot.size and changes.tick[0] == 0
                    begin = 0 if early or changes.first < 0 else changes.first
                now, given = changes.now, given + 1
                record = self._record(library, changes, every, last, begin)
                cut = final and block[-1:] > b" "
                yield replace(record, remarks=(*record.remarks, _CUT)) if cut else record
                begin = now
                if changes.problem != DONE:
                    raise self._error(changes, block, at)
        if not given:
            yield self._record(library, parse(b"", self.codes, 0), every, last, 0)

    def _record(
        self,
        library: ctypes.CDLL | None,
        changes: Changes,
        every: np.ndarray[tuple[int], np.dtype[np.uint8]],
        last: np.ndarray[tuple[int], np.dtype[np.uint8]],
        begin: int,
    ) -> Record:
        turned = last.copy()
        if library is None:
            starts, counts, ticks, values = _vcd_sort.group(changes, every, last)
        else:
            starts, counts, ticks, values = _vcd_compiled.group(library, changes, every, last)
        channels: list[Channel] = []
        for line in self.header.lines:
            if line.kind == "real":
                channels.append(self._real(line.name, line.slot, changes))
                continue
            start = int(starts[line.slot])
            stop = start + int(counts[line.slot])
            own = values[start:stop]
            if line.kind == "event":
                level = 1 if turned[line.slot] == 255 else int(turned[line.slot]) ^ 1
                own = ((np.arange(own.size) + level) & 1).astype(np.uint8)
                if own.size:
                    last[line.slot] = own[-1]
            channels.append(
                Digital(name=line.name, tick=self.tick, ticks=ticks[start:stop], values=own)
            )
        return Record(
            source=self.path.name,
            begin=begin * self.tick,
            end=changes.now * self.tick,
            channels=tuple(channels),
            remarks=self.header.remarks,
        )

    def _real(self, name: str, slot: int, changes: Changes) -> Analog:
        mine = np.flatnonzero(changes.real_slot == slot).tolist()
        return Analog(
            name=name,
            unit="",
            samples=as_samples(np.array([_number(changes.real[k]) for k in mine], dtype=float)),
            times=np.multiply(changes.real_tick[mine], self.tick, dtype=np.float64),
            held=True,
        )

    def _error(self, changes: Changes, block: bytes, at: int) -> CaptureError:
        words = b" ".join(block[changes.at : changes.at + 200].split()[:2])[:40].decode("latin-1")
        byte = at + changes.at
        return CaptureError(
            f"{PROBLEMS[changes.problem]} {words!r} (byte {byte + 1})",
            source=self.path.name,
            line=line_of(self.path, byte),
            byte=byte + 1,
        )


def _read_header(path: Path) -> Header:
    with path.open("rb") as file:
        text, more = b"", True
        while more and len(text) < _MOST_HEADER:
            piece = file.read(max(1 << 16, len(text)))
            more, text = bool(piece), text + piece
            if b"$enddefinitions" in text or not more:
                header = parse_header(text, path.name)
                if header is not None:
                    return header
    raise CaptureError(
        "expected $enddefinitions $end after the declarations, got the end of the file; "
        "it is cut or no VCD file",
        source=path.name,
        byte=len(text) + 1,
    )


def _blocks(file: FileIO, at: int, bits: int) -> Iterator[tuple[int, bytes, bool]]:
    """Byte, text, and whether it is the last, of blocks that end where a time begins.

    Small enough for the processor's cache; larger for many channels, each of which costs something
    in every block.
    """
    text, more = b"", True
    size = min(max(_BLOCK, bits << 12), 1 << 23)
    while more:
        piece = file.read(size) or b""
        more, text = bool(piece), text + piece
        cut = _cut(text) if more and len(text) < _MOST_HEADER else len(text)
        if cut:
            hole = text.find(b"\0", 0, cut)
            whole = text[:cut] if hole < 0 else text[:hole] + b" \x7f" + text[hole:cut]
            yield at, whole, not more
            at, text = at + cut, text[cut:]


def _cut(text: bytes) -> int:
    """Where the last time begins that is surely one; 0 when there is none."""
    at = len(text)
    while (at := text.rfind(b"#", 1, at)) > 0:
        if text[at - 1] > 32:
            continue
        before = text[max(0, at - 4096) : at].rsplit(None, 1)[-1:]
        if before and before[0][0] not in _OPENING:
            break
    return max(at, 0)


def _number(text: bytes) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


KIND = Format(
    name="vcd",
    title="value change dump (VCD)",
    suffixes=(".vcd",),
    help="IEEE 1364-2005, clause 18: every bit of a vector is a channel, a real is an analog one, "
    "an event turns its channel over.",
    choices={"tick": "seconds of one tick, in place of the file's $timescale"},
    suits=suits,
    look=look,
)
