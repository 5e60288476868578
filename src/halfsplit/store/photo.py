"""Photos as bytes: what they are by their own header, and without what a camera writes beside.

A phone writes where it stood, when, and whose it is into every picture; a repair record that is
handed on must not carry that. The picture itself is copied as it is, never decoded.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from halfsplit.errors import CaseError
from halfsplit.frozen import dataclass

__all__ = ["MOST_BYTES", "Picture", "cleaned"]

MOST_BYTES = 25_000_000
MOST_PIXELS = 100_000_000

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT")
)
"""Chunks that the picture itself needs: W3C PNG, third edition, table 7 (from memory)."""
_JPEG_DROPPED = frozenset((*range(0xE1, 0xEE), 0xEF, 0xFE))
"""APP1 to APP13, APP15 and comments; APP0 (JFIF) and APP14 (colour transform) stay: ITU T.81."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A photo's bytes, media type, and size in pixels."""

    data: bytes
    media: str
    width: int
    height: int


def cleaned(data: bytes) -> Picture:
    """The picture of a JPEG (ITU T.81) or PNG (W3C PNG) file. Raises CaseError for anything else
    and for what is too large."""
    if len(data) > MOST_BYTES:
        raise CaseError(f"a photo has at most {MOST_BYTES // 1_000_000} MB, got {len(data)} bytes")
    if data.startswith(_PNG):
        media, parts, size = "image/png", *_png(data)
    elif data.startswith(b"\xff\xd8\xff"):
        media, parts, size = "image/jpeg", *_jpeg(data)
    else:
        raise CaseError("expected a photo as JPEG or PNG, got something else; save it as JPEG")
    width, height = size
    if not 0 < width * height <= MOST_PIXELS:
        raise CaseError(f"expected a photo of 1 to 100 megapixels, got {width} by {height}")
    return Picture(data=b"".join(parts), media=media, width=width, height=height)


def _png(data: bytes) -> tuple[list[bytes], tuple[int, int]]:
    parts, size, at = [_PNG], (0, 0), len(_PNG)
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, end = data[at + 4 : at + 8], at + 12 + length
        if end > len(data):
            break
        if kind == b"IHDR" and length >= 8:
            size = struct.unpack(">II", data[at + 8 : at + 16])
        if kind in _PNG_KEPT:
            parts.append(data[at:end])
        if kind == b"IEND":
            return parts, size
        at = end
    raise CaseError("expected a photo as PNG, got one that is cut short; save it anew")


def _jpeg(data: bytes) -> tuple[list[bytes], tuple[int, int]]:
    parts, size = [b"\xff\xd8"], (0, 0)
    for kind, start, end in _segments(data):
        if kind == 0xDA:
            if size == (0, 0):
                break
            return [*parts, data[start:]], size
        if 0xC0 <= kind <= 0xCF and kind not in (0xC4, 0xC8, 0xCC) and end - start >= 9:
            height, width = struct.unpack(">HH", data[start + 5 : start + 9])
            size = (width, height)
        if kind == 0xE1 and (turned := _orientation(data[start:end])):
            parts.append(turned)
        if kind not in _JPEG_DROPPED:
            parts.append(data[start:end])
    raise CaseError("expected a photo as JPEG, got one that is cut short; save it anew")


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """(marker, start, end) of each segment up to the first scan: ITU T.81, annex B."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        kind = data[at + 1]
        if kind == 0xFF:
            at += 1
            continue
        end = at + 2 + int(struct.unpack(">H", data[at + 2 : at + 4])[0])
        if end > len(data) or end < at + 4:
            return
        yield kind, at, end
        at = end


def _orientation(segment: bytes) -> bytes:
    """An APP1 that says only which way up the picture is, when this one says it is turned: Exif
    2.32, tag 0x0112 in the first directory of a TIFF header."""
    tiff = segment[10:]
    if segment[4:10] != b"Exif\0\0" or len(tiff) < 10:
        return b""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return b""
    (first,) = struct.unpack(order + "I", tiff[4:8])
    (count,) = struct.unpack(order + "H", tiff[first : first + 2].ljust(2, b"\0"))
    for n in range(min(count, 200)):
        entry = tiff[first + 2 + 12 * n : first + 14 + 12 * n]
        if len(entry) == 12 and struct.unpack(order + "H", entry[:2])[0] == 0x0112:
            (way,) = struct.unpack(order + "H", entry[8:10])
            if 2 <= way <= 8:
                body = b"Exif\0\0MM\0*\0\0\0\x08\0\x01" + struct.pack(
                    ">HHIHHI", 0x0112, 3, 1, way, 0, 0
                )
                return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
    return b""
