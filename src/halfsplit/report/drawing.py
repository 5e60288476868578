"""The drawing of the board as a picture of its own, on white paper."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.schematic.picture import picture

__all__ = ["drawing"]

STYLE = """\
.drawing { font-family: "DejaVu Sans", "Noto Sans", sans-serif; }
text { fill: #1d2425; font-size: 9px; }
.name { font-size: 11px; font-weight: bold; }
.pin-number { fill: #4d585b; font-size: 7.5px; }
.net-name { fill: #4d585b; }
.stroke, .wire { fill: none; stroke: #33403f; stroke-width: 1.3; }
.shape { fill: #fff; stroke: #33403f; stroke-width: 1.3; }
.dot { fill: #33403f; }
.hit, .hit-box, .pin { fill: none; stroke: none; }
"""


def drawing(board: Board) -> str:
    """SVG that carries its own style, for an ``<img>``, for print and for PDF."""
    head, _, rest = str(picture(board)).partition(">")
    return f"{head}><style>{STYLE}</style>{rest}"
