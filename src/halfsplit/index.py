"""Which module of a folder has which names, kept between runs so that few need to be imported.

What is kept is named after the contents of the folder's files: one that changes, comes or goes
makes another name, so that nothing stale is ever found. A kept file is a convenience: whatever
is wrong with it, the folder is simply gone through again.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable, Mapping
from importlib.util import source_hash
from pathlib import Path

from halfsplit.frozen import dataclass
from halfsplit.kept import kept_folder

__all__ = ["Index", "keep", "kept"]

_READ = frozenset({".py", ".toml"})
"""Files whose contents count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Index:
    """``modules``: name -> the module that has it; ``others``: further name -> the name it
    stands for."""

    modules: Mapping[str, str]
    others: Mapping[str, str]


def kept(package: str, folders: Iterable[str]) -> Index | None:
    """What was kept for the package as its files are now, or ``None``."""
    try:
        text = _place(package, folders).read_bytes()
        found = json.loads(text)
        index = Index(modules=found["modules"], others=found["others"])
        if all(type(name) is str for name in (*index.modules.values(), *index.others.values())):
            return index
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        pass
    return None


def keep(package: str, folders: Iterable[str], index: Index) -> None:
    """Keep it for the next run, in place of what was kept for these files as they were before."""
    with contextlib.suppress(OSError):
        place = _place(package, folders)
        place.parent.mkdir(parents=True, exist_ok=True)
        scratch = place.with_suffix(f".{os.getpid()}")
        scratch.write_text(
            json.dumps({"modules": dict(index.modules), "others": dict(index.others)})
        )
        os.replace(scratch, place)
        for other in place.parent.glob(f"{package}-*.json"):
            if other != place:
                other.unlink(missing_ok=True)


def _place(package: str, folders: Iterable[str]) -> Path:
    read = bytearray()
    for folder in folders:
        for path in sorted(Path(folder).iterdir()):
            if path.suffix in _READ:
                text = path.read_bytes()
                read += b"%s\0%d\0" % (path.name.encode(), len(text)) + text
    return kept_folder() / "kinds" / f"{package}-{source_hash(read).hex()}.json"
