"""Cables: the far sides of connectors and cables, as the parts that hang on them name them."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.board.model import Board, Part
from halfsplit.parts.connector import FAR

__all__ = ["with_far_sides"]


def with_far_sides(board: Board) -> Board:
    """The board with pin ``n'`` on net ``J2/n`` added to J2 (a connector or cable) wherever that
    net is used."""
    used = {net for part in board.parts for net in part.pins.values()}
    used |= {leaving.net for leaving in board.offsheet} | set(board.testpoints.values())
    parts = tuple(_with_far_side(part, used) for part in board.parts)
    return replace(board, parts=parts)


def _with_far_side(part: Part, used: set[str]) -> Part:
    if part.kind not in ("connector", "cable"):
        return part
    pins = dict(part.pins)
    for pin in part.pins:
        net = f"{part.designator}/{pin}"
        if not pin.endswith(FAR) and net in used:
            pins.setdefault(pin + FAR, net)
    return replace(part, pins=pins)
