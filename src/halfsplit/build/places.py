"""Where a probe may go on a board."""

from __future__ import annotations

from halfsplit.board.model import BLOCK, Board
from halfsplit.build.assemble import Assembly
from halfsplit.build.fault import Place

__all__ = ["places_of"]


def places_of(board: Board, assembly: Assembly) -> dict[str, Place]:
    """Legs, pads, tails of sockets, nets and test points by name."""
    found: dict[str, Place] = {}
    for ref in assembly.leg_node:
        part = board.part(ref.designator)
        assert part is not None
        net = part.pins[ref.pin]
        if part.kind == BLOCK:
            continue
        found[str(ref)] = Place(name=str(ref), net=net, kind="leg", pin=ref)
        found[f"{ref}/pad"] = Place(name=f"{ref}/pad", net=net, kind="pad", pin=ref)
        if part.remarks.socketed:
            found[f"{ref}/tail"] = Place(name=f"{ref}/tail", net=net, kind="tail", pin=ref)
    for name, net in board.testpoints.items():
        found[name] = Place(name=name, net=net, kind="testpoint")
    for net in assembly.net_node:
        found[f"net {net}"] = Place(name=f"net {net}", net=net, kind="net")
    return found
