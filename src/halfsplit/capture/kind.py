"""What a file format tells about itself, and what it found out about one file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from halfsplit.capture.record import Record
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.registry import Registry

__all__ = ["FORMATS", "Finding", "Format", "Opened", "check_choices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that was found out about a file, for a person to confirm or set right.

    ``value`` is as it is typed to choose another; ``words`` say it in full.
    """

    name: str
    value: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A file that was looked at but not yet read.

    ``parts`` reads it: records that follow each other in time, at least one, each small enough for
    memory. It raises :class:`halfsplit.errors.CaptureError` where the file is cut or damaged, after
    what was readable.
    """

    format: str
    source: str
    findings: tuple[Finding, ...]
    parts: Callable[[], Iterator[Record]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """One format. ``suits`` says from the first bytes and the ending how likely a file is of it,
    0 to 1; ``look`` opens a file, with choices (names of findings) in place of what it would find.
    """

    name: str
    title: str
    suffixes: tuple[str, ...]
    help: str
    choices: Mapping[str, str]
    """What may be chosen, and how it is typed."""
    suits: Callable[[bytes, str], float]
    look: Callable[[Path, Mapping[str, str]], Opened]


FORMATS: Registry[Format] = Registry("halfsplit.capture.formats", what="capture format")


def check_choices(format: Format, choices: Mapping[str, str]) -> None:
    """Raise :class:`UnknownName` for a choice that the format does not have."""
    for name in choices:
        if name not in format.choices:
            raise UnknownName(f"choice of {format.name}", name, format.choices)
