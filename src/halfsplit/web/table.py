"""The table of readings: every net in the states chosen, with what a good board reads."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.bench import Bench
from halfsplit.build.wiring import with_far_sides
from halfsplit.diagnose.expected import Expected

__all__ = ["table_of"]


def table_of(bench: Bench, states: Sequence[str]) -> dict[str, object]:
    """``rows`` [nets], each with its ``cells`` [states]. Raises UnknownName for a state that is
    not on the board."""
    board = with_far_sides(bench.board)
    points: dict[str, list[str]] = {}
    for name, net in board.testpoints.items():
        points.setdefault(net, []).append(name)
    nets = {
        net: [*points.get(net, ()), *(f"{part}.{pin}" for part, pin in pins)]
        for net, pins in board.nets().items()
        if net != board.ground and (pins or net in points)
    }
    found = bench.expected([f"net {net}" for net in nets], states)
    by_net: dict[str, list[Expected]] = {net: [] for net in nets}
    for one, net in zip(found, [net for net in nets for _ in states], strict=True):
        by_net[net].append(one)
    rows = [
        {
            "net": net,
            "places": places,
            "cells": [
                {
                    "state": one.state,
                    "check": bench.check(f"volts net {net} @{one.state}").id,
                    "words": _words(one),
                }
                for one in by_net[net]
            ],
        }
        for net, places in nets.items()
    ]
    return {"states": list(states), "rows": rows}


def _words(one: Expected) -> str:
    if one.unresolved:
        return "unresolved"
    if one.floating:
        return "floats"
    said = _volts(one.mean)
    return said if math.isnan(one.other) else f"{said} or {_volts(one.other)}"


def _volts(value: float) -> str:
    return f"{value:.2f} V".replace("-0.00", "0.00")
