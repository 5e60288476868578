"""WAV: sound files of RIFF form, integer samples of 8 to 32 bits or floating point.

Layout from memory of the RIFF specification of 1991 and its extensible form: chunks of four
letters, a 32-bit size and an even number of bytes.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.formats._grid import as_samples
from halfsplit.capture.kind import Finding, Format, Opened
from halfsplit.capture.record import Analog, Record
from halfsplit.errors import CaptureError
from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity, parse

__all__ = ["KIND"]

_INTEGER, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_UNKNOWN_SIZE = 0xFFFFFFFF
_BLOCK = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wave:
    """What the head of a file says; ``start`` and ``size`` are bytes of the samples."""

    path: Path
    channels: int
    rate: int
    bits: int
    floating: bool
    start: int
    size: int
    full: float

    @property
    def frame(self) -> int:
        """Bytes of one sample of all channels."""
        return self.channels * self.bits // 8

    def parts(self) -> Iterator[Record]:
        """Records of about a megabyte each."""
        done = 0
        with self.path.open("rb") as file:
            file.seek(self.start)
            total = self.size // self.frame
            while done < total or not done:
                wanted = min(max(1, _BLOCK // self.frame), total - done) * self.frame
                raw = file.read(wanted)
                count = len(raw) // self.frame
                if count or not done:
                    yield self._record(raw[: count * self.frame], done)
                done += count
                if len(raw) < wanted:
                    raise CaptureError(
                        f"expected {total} samples of each channel, got {done}; the file is cut",
                        source=self.path.name,
                        byte=self.start + len(raw) + (done - count) * self.frame + 1,
                    )
                if not total:
                    return

    def _record(self, raw: bytes, done: int) -> Record:
        samples = self._samples(raw).reshape(-1, self.channels)
        step = 1.0 / self.rate
        return Record(
            source=self.path.name,
            begin=done * step,
            end=(done + len(samples)) * step,
            channels=tuple(
                Analog(
                    name=f"channel {k + 1}",
                    unit="V" if self.full != 1.0 else "",
                    samples=np.ascontiguousarray(samples[:, k]),
                    start=done * step,
                    step=step,
                )
                for k in range(self.channels)
            ),
        )

    def _samples(self, raw: bytes) -> NDArray[np.float32]:
        if self.floating:
            plain = np.frombuffer(raw, dtype=f"<f{self.bits // 8}")
            return as_samples(plain, self.full)
        if self.bits == 8:
            whole = np.frombuffer(raw, dtype=np.uint8).astype(np.int32) - 128
        elif self.bits == 24:
            three = np.frombuffer(raw, dtype=np.uint8).reshape(-1, 3)
            four = np.zeros((len(three), 4), dtype=np.uint8)
            four[:, 1:] = three
            whole = four.view("<i4").ravel() >> 8
        else:
            whole = np.frombuffer(raw, dtype=f"<i{self.bits // 8}").astype(np.int32)
        return as_samples(whole, self.full / (1 << (self.bits - 1)))


def look(path: Path, choices: Mapping[str, str]) -> Opened:
    """Read the head. Raises :class:`CaptureError`."""
    full = parse(choices["full-scale"], "V") if "full-scale" in choices else 1.0
    with path.open("rb") as file:
        wave = _head(file, path, full)
    words = "floating point" if wave.floating else "integers"
    findings = (
        Finding(
            name="full-scale", value=f"{full:g}V",
            words=f"full scale is {format_quantity(full, 'V')}" if full != 1.0
            else "samples are shares of full scale, which the file does not tell in volts",
        ),
        Finding(name="rate", value=str(wave.rate), words=f"{wave.rate} samples a second"),
        Finding(name="bits", value=str(wave.bits), words=f"{wave.bits}-bit {words}"),
    )  # fmt: skip
    return Opened(format=KIND.name, source=path.name, findings=findings, parts=wave.parts)


def _head(file: BinaryIO, path: Path, full: float) -> _Wave:
    def wrong(said: str, at: int) -> CaptureError:
        return CaptureError(said, source=path.name, byte=at + 1)

    top = file.read(12)
    if len(top) < 12 or top[:4] != b"RIFF" or top[8:] != b"WAVE":
        raise wrong(f"expected RIFF and WAVE, got {top[:4]!r} and {top[8:]!r}", 0)
    form: bytes | None = None
    while len(chunk := file.read(8)) == 8:
        name, size = chunk[:4], struct.unpack("<I", chunk[4:])[0]
        at = file.tell()
        if name == b"data":
            if form is None:
                raise wrong("expected the format chunk before the samples", at - 8)
            left = path.stat().st_size - at
            return _wave(form, path, at, left if size == _UNKNOWN_SIZE else size, full)
        if name == b"fmt ":
            form = file.read(size) if size < 1 << 16 else b""
        file.seek(at + size + size % 2)
    raise wrong("expected a chunk of samples, got the end of the file; it is cut", file.tell())


def _wave(form: bytes, path: Path, start: int, size: int, full: float) -> _Wave:
    if len(form) < 16:
        raise CaptureError("expected 16 bytes of format, got fewer", source=path.name, byte=start)
    code, channels, rate, _, _, bits = struct.unpack("<HHIIHH", form[:16])
    if code == _EXTENSIBLE and len(form) >= 26:
        code = struct.unpack("<H", form[24:26])[0]
    known = {_INTEGER: (8, 16, 24, 32), _FLOAT: (32, 64)}
    if bits not in known.get(code, ()) or not channels or not rate or channels > 1024:
        raise CaptureError(
            "expected plain samples (8, 16, 24, 32 bits or floating point), got coding "
            f"{code} with {bits} bits, {channels} channels, {rate} samples a second; "
            "save it uncompressed",
            source=path.name,
            byte=start,
        )
    return _Wave(
        path=path, channels=channels, rate=rate, bits=bits, floating=code == _FLOAT,
        start=start, size=size, full=full,
    )  # fmt: skip


def suits(head: bytes, suffix: str) -> float:
    """The first twelve bytes are always the same."""
    return 1.0 if head[:4] == b"RIFF" and head[8:12] == b"WAVE" else 0.5 * (suffix == ".wav")


KIND = Format(
    name="wav",
    title="sound (WAV)",
    suffixes=(".wav", ".wave"),
    help="Integers of 8, 16, 24 and 32 bits, or floating point. Samples are shares of full scale "
    "unless full-scale gives the volts.",
    choices={"full-scale": "volts at full scale"},
    suits=suits,
    look=look,
)
