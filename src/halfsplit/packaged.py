"""Files that come with the program."""

from __future__ import annotations

from pathlib import Path

__all__ = ["packaged"]

_ROOT = Path(__file__).parent


def packaged(path: str) -> Path:
    """Where the file or folder ``path`` of this package is, its parts parted by ``/``."""
    return _ROOT.joinpath(*path.split("/"))
