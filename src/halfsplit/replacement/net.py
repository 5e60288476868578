"""What a net carries, from the prediction."""

from __future__ import annotations

import numpy as np

from halfsplit.errors import UnknownName
from halfsplit.replacement.operating import Operation

__all__ = ["net_current"]


def net_current(operation: Operation, net: str) -> tuple[float, str]:
    """The most amperes that flow from some pins of a net to the others on a good board, and when.
    Raises :class:`UnknownName`."""
    nets = operation.world.board.nets()
    if net not in nets:
        raise UnknownName("net", net, nets)
    rows = [
        row
        for ref, row in operation.leg.items()
        if (part := operation.world.board.part(ref.designator)) and part.pins.get(ref.pin) == net
    ]
    best, label = 0.0, ""
    for points in (operation.good, operation.corner):
        into = np.nan_to_num(points.amps[rows])
        most = np.maximum(np.maximum(into, 0.0).sum(axis=0), np.maximum(-into, 0.0).sum(axis=0))
        at = int(np.argmax(most)) if most.size else 0
        if most.size and most[at] > best:
            best, label = float(most[at]), points.label[at]
    return best, label
