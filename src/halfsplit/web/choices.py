"""What may be named in a free entry: kinds of check with what they take, places, parts, states."""

from __future__ import annotations

from halfsplit.board.model import Board
from halfsplit.build.wiring import with_far_sides
from halfsplit.checks.registry import CHECKS

__all__ = ["choices"]


def choices(board: Board) -> dict[str, object]:
    """Lists for completion, from the board's text alone, so that they are there at once."""
    wired = with_far_sides(board)
    legs = [f"{part.designator}.{pin}" for part in wired.parts for pin in part.pins]
    nets = [f"net {net}" for net in wired.nets()]
    pads = [f"{leg}/pad" for leg in legs]
    tails = [
        f"{part.designator}.{pin}/tail"
        for part in wired.parts
        if part.remarks.socketed
        for pin in part.pins
    ]
    return {
        "kinds": [
            {
                "name": kind.name,
                "title": kind.title,
                "takes": kind.takes,
                "stateful": kind.stateful,
                "unit": kind.unit,
            }
            for kind in CHECKS
        ],
        "place": [*board.testpoints, *legs, *nets, *pads, *tails],
        "part": [part.designator for part in board.parts],
        "output": [output.name for output in board.outputs],
        "states": [state.name for state in board.states if state.powered],
        "pins": {
            part.designator: [
                {"place": f"{part.designator}.{pin}", "net": net} for pin, net in part.pins.items()
            ]
            for part in wired.parts
        },
    }
