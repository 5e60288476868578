"""Where the text of a board comes from: a file, or an example that comes with the program."""

from __future__ import annotations

from pathlib import Path

from halfsplit.board.reader import decode
from halfsplit.errors import BoardError, Problem, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.packaged import packaged

__all__ = ["SUFFIX", "Source", "examples", "find_source"]

SUFFIX = ".board"
_MOST_BYTES = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A board's text and where it was found; ``name`` is short, for files made from it."""

    name: str
    where: str
    text: str


def examples() -> tuple[str, ...]:
    """Names of the boards that come with the program."""
    folder = packaged("examples")
    if not folder.is_dir():
        return ()
    return tuple(
        sorted(f.name.removesuffix(SUFFIX) for f in folder.iterdir() if f.name.endswith(SUFFIX))
    )


def find_source(name: str) -> Source:
    """The text of a board file, or of the example of that name; a file goes before an example.

    Raises :class:`UnknownName` for a bare word that is neither, :class:`BoardError` for a file
    that cannot be read.
    """
    path = Path(name)
    if not _exists(path) and name in (known := examples()):
        found = packaged("examples") / f"{name}{SUFFIX}"
        return Source(name=name, where=f"example {name}", text=decode(found.read_bytes()))
    if not _exists(path) and path.name == name and not path.suffix:
        raise UnknownName("board file or example", name, known)
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= _MOST_BYTES else b""
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _unusable(name, f"expected a board file, but it cannot be read ({reason})") from error
    if size > _MOST_BYTES:
        raise _unusable(name, f"expected a board file of at most 4 MB, got {size / 1e6:.0f} MB")
    return Source(name=path.stem or "board", where=name, text=decode(data, source=name))


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _unusable(name: str, message: str) -> BoardError:
    return BoardError([Problem(line=0, column=0, severity="error", message=message)], source=name)
