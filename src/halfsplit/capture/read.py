"""Read a capture file of any known format: all at once, or part by part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from halfsplit.capture.kind import FORMATS, Format, Opened, check_choices
from halfsplit.capture.record import Record, evened, join
from halfsplit.errors import CaptureError

__all__ = ["look", "read", "stream"]

_HEAD = 1 << 16
_ENOUGH = 0.1


def look(
    path: str | Path, *, format: str | None = None, choices: Mapping[str, str] | None = None
) -> Opened:
    """Find out what a file is, without reading all of it.

    ``format`` and ``choices`` overrule what would be found. Raises :class:`CaptureError` for a
    file that is missing, empty or of no known format, :class:`UnknownName` for an unknown format
    or choice.
    """
    path = Path(path)
    head = _head(path)
    kind = FORMATS.get(format) if format else _likeliest(head, path)
    chosen = dict(choices or {})
    check_choices(kind, chosen)
    return kind.look(path, chosen)


def stream(opened: Opened, *, keep_readable: bool = False) -> Iterator[Record]:
    """The parts of a record, one after the other in time.

    Raises :class:`CaptureError` where the file is damaged; with ``keep_readable`` the last part
    carries that as a remark instead, unless nothing was readable at all.
    """
    last: Record | None = None
    try:
        for part in opened.parts():
            last = part
            yield part
    except CaptureError as error:
        if last is None or not keep_readable:
            raise
        rest = last.window(last.end, last.end)
        yield replace(rest, remarks=(*last.remarks, f"read only up to here: {error}"))
    except OSError as error:
        raise CaptureError(f"cannot be read: {error.strerror}", source=opened.source) from error


def read(
    path: str | Path,
    *,
    format: str | None = None,
    choices: Mapping[str, str] | None = None,
    keep_readable: bool = False,
) -> Record:
    """The whole record of a file, in memory; see :func:`look` and :func:`stream`."""
    opened = look(path, format=format, choices=choices)
    return evened(join(stream(opened, keep_readable=keep_readable)))


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError as error:
        raise CaptureError(f"cannot be read: {error.strerror}", source=path.name) from error
    except ValueError as error:
        raise CaptureError(f"cannot be read: {error}", source=path.name) from error
    if not head:
        raise CaptureError("expected a capture, got an empty file", source=path.name)
    return head


def _likeliest(head: bytes, path: Path) -> Format:
    suffix = path.suffix.lower()
    sure, best = max(
        ((kind.suits(head, suffix), kind) for kind in FORMATS), key=lambda pair: pair[0]
    )
    if sure < _ENOUGH:
        known = ", ".join(kind.title for kind in FORMATS)
        raise CaptureError(
            f"expected one of {known}; this file looks like none of them", source=path.name
        )
    return best
