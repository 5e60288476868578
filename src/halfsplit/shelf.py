"""The shelf: the cases of one folder. List, begin, copy, pack and unpack them."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO

from halfsplit.album import photos_of
from halfsplit.bench import Bench, Clock, utc_now
from halfsplit.board.reader import read_board
from halfsplit.diagnose.told import READING, tell
from halfsplit.errors import CaseError, HalfsplitError
from halfsplit.finding import findings_of
from halfsplit.frozen import dataclass
from halfsplit.opencase import ARCHIVE
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.recordings import DEVICES, Recordings
from halfsplit.store import bundle
from halfsplit.store.connection import is_writable
from halfsplit.store.event import Event
from halfsplit.store.log import SUFFIX, CaseLog
from halfsplit.store.replay import live

__all__ = ["Card", "Shelf", "duplicate_case", "name_of", "pack_case", "unpack_case"]

_NAME = re.compile(r"[^\W_](?:[\w .()+-]{0,78}[\w)+])?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What the list says of one case. ``trouble`` says why a case cannot be used, else empty."""

    name: str
    path: Path
    title: str = ""
    revision: str = ""
    made: str = ""
    last: str = ""
    """When the last event was, UTC."""
    readings: int = 0
    photos: int = 0
    archived: bool = False
    trouble: str = ""

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "name": self.name,
            "case": str(self.path),
            "title": self.title,
            "revision": self.revision,
            "made": self.made,
            "last": self.last,
            "readings": self.readings,
            "photos": self.photos,
            "archived": self.archived,
            "trouble": self.trouble,
        }


class Shelf:
    """The cases of a folder, named by their file names without the ending."""

    def __init__(self, folder: str | os.PathLike[str], *, clock: Clock = utc_now) -> None:
        self.folder = Path(folder)
        self._clock = clock
        self._known: dict[Path, tuple[tuple[int, int], Card]] = {}

    def cards(self) -> tuple[Card, ...]:
        """All cases, the one last worked on first, those archived at the end."""
        files = [file for file in self.folder.glob(f"*{SUFFIX}") if file.is_file()]
        cards = sorted((self._card(file) for file in files), key=lambda card: card.name)
        cards.sort(key=lambda card: card.last, reverse=True)
        return tuple(sorted(cards, key=lambda card: card.archived))

    def path(self, name: str) -> Path:
        """The file of a case. Raises CaseError for a name that cannot be one or is not there."""
        file = self._file(name)
        if not file.is_file():
            raise CaseError(f"expected the name of a case in {self.folder}, got {name!r}")
        return file

    def new(self, name: str, board_text: str, *, source: str = "board") -> Path:
        """Begin a case. Raises BoardError, and CaseError when there is one of that name."""
        file = self._file(name)
        Bench.create(file, board_text, source=source, clock=self._clock).close()
        return file

    def duplicate(self, name: str, copy: str, *, board_only: bool = False) -> Path:
        """Copy a case: all of it, or only what holds for another board of the kind (its text, the
        meter, what is left out), to begin anew. Raises CaseError."""
        into = self._file(copy)
        duplicate_case(self.path(name), into, board_only=board_only, clock=self._clock)
        return into

    def unpack(self, packed: str | os.PathLike[str], name: str) -> Path:
        """Take in a packed case under a name. Raises CaseError, BoardError; then nothing is
        left behind."""
        into = self._file(name)
        unpack_case(packed, into)
        return into

    def free_name(self, wanted: str) -> str:
        """A name like ``wanted`` that is free: ``pump``, else ``pump 2``, ``pump 3``."""
        stem = _tidy(wanted)
        names = [stem, *(f"{stem[:70]} {n}" for n in range(2, 1000))]
        free = next((name for name in names if not self._file(name).exists()), None)
        if free is None:
            raise CaseError(f"expected a free name like {stem!r}, found none; give another")
        return free

    def _file(self, name: str) -> Path:
        plain = name.removesuffix(SUFFIX)
        if not _NAME.fullmatch(plain) or plain.split(".")[0].casefold() in DEVICES:
            raise CaseError(
                "expected a name of letters, figures, blanks and . ( ) + - that begins with a "
                f"letter or figure, at most 80 long, got {name[:90]!r}"
            )
        return self.folder / f"{plain}{SUFFIX}"

    def _card(self, file: Path) -> Card:
        try:
            status = file.stat()
            mark = (status.st_mtime_ns, status.st_size)
        except OSError:
            mark = (0, 0)
        known = self._known.get(file)
        if known is None or known[0] != mark:
            known = self._known[file] = (mark, _card_of(file))
        return known[1]


def name_of(file: Path) -> str:
    """The name of a case, by its file."""
    return file.name.removesuffix(SUFFIX)


def duplicate_case(file: Path, into: Path, *, board_only: bool, clock: Clock = utc_now) -> None:
    """Copy a case file to one that must not exist; see `Shelf.duplicate`."""
    with Bench.open(file) as bench:
        if not board_only:
            Recordings(file).copy(into)
            bench.copy(into)
            return
        told = bench.told
    with Bench.create(into, told.board_text, source=told.source, clock=clock) as copy:
        copy.set_meter(told.meter)
        copy.set_limits(told.limits)


def pack_case(file: Path, into: IO[bytes]) -> None:
    """Write a case, with its captures, as one packed file for other hands. Raises CaseError."""
    with CaseLog.open(file) as log, TemporaryDirectory(prefix="halfsplit-") as scratch:
        bundle.pack(
            log,
            into,
            board_text=tell(log.live()).board_text,
            captured=Recordings(file).to_pack(Path(scratch)),
        )


def unpack_case(packed: str | os.PathLike[str], into: Path) -> None:
    """Make a case file, and its captures, of a packed one; one whose board cannot be read is not
    taken."""

    def settle(log: CaseLog) -> None:
        events = log.events()
        _board_of(events)
        photos_of(live(events))
        findings_of(live(events))
        Recordings(into).take_in(Path(scratch))

    if not into.parent.is_dir():
        raise CaseError(f"{into.parent}: expected a folder for the case, found none; make it")
    # Beside the case, since captures are renamed into their place.
    with TemporaryDirectory(prefix=f".{into.stem}.", dir=into.parent) as scratch:
        bundle.unpack(packed, into, scratch=Path(scratch), settle=settle).close()


def _card_of(file: Path) -> Card:
    name = name_of(file)
    try:
        with CaseLog.open(file, writable=is_writable(file), wait=2.0) as log:
            made, events = log.made, log.events()
        title, revision = _board_of(events)
    except HalfsplitError as error:
        return Card(name=name, path=file, trouble=str(error))
    counting = live(events)
    archived = [e.data.get("archived") is True for e in counting if e.kind == ARCHIVE]
    return Card(
        name=name,
        path=file,
        title=title,
        revision=revision,
        made=made,
        last=events[-1].at,
        readings=sum(event.kind == READING for event in counting),
        photos=len(photos_of(counting)),
        archived=bool(archived and archived[-1]),
    )


def _board_of(events: Iterable[Event]) -> tuple[str, str]:
    told = tell(live(tuple(events)))
    board = read_board(told.board_text, PartsVocabulary(), source=told.source)
    return board.title, board.revision


def _tidy(wanted: str) -> str:
    plain = re.sub(r"[^\w .()+-]", " ", wanted)
    plain = re.sub(r"\s+", " ", plain).strip(" ._-")[:70].rstrip(" .")
    return plain if _NAME.fullmatch(plain) else "case"
