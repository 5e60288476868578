"""Where in a file something stands, worked out only when it is to be told."""

from __future__ import annotations

from pathlib import Path

__all__ = ["line_of"]

_BLOCK = 1 << 20


def line_of(path: Path, byte: int) -> int:
    """Number of the line (from 1) that has byte ``byte`` (from 0) of the file."""
    line = 1
    with path.open("rb") as file:
        while byte > 0 and (piece := file.read(min(byte, _BLOCK))):
            line, byte = line + piece.count(b"\n"), byte - len(piece)
    return line
