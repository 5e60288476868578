"""The moment of power-on: capacitors are still empty, and hold resets until they are full."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.build.assemble import Assembly
from halfsplit.build.parameters import Overlay, overlay
from halfsplit.build.settings import Owned
from halfsplit.parts.kind import Change
from halfsplit.solve.law import Array

__all__ = ["empty_capacitors"]

SLOW = 10e-3
"""Seconds; a net that takes longer comes up after its supply (assumed)."""
_EMPTY = 10.0
"""What stands for an empty capacitor, S."""


def empty_capacitors(assembly: Assembly, ohms: Array) -> Overlay:
    """What is set at power-on: capacitors between a supply or ground and a net that takes long to
    charge. ``ohms`` [N] are source resistances of the nodes."""
    return overlay(assembly.circuit, _slow(assembly, ohms))


def _slow(assembly: Assembly, ohms: Array) -> Iterator[Owned]:
    fixed = {assembly.board.ground, *(rail.net for rail in assembly.board.rails)}
    for part in assembly.board.parts:
        for store in assembly.kinds[part.designator].stores(part):
            nets = {part.pins.get(pin) for pin in store.terminals}
            held = nets - fixed - {None}
            if store.what != "capacitor" or len(held) != 1 or not nets & fixed:
                continue
            node = assembly.net_node[str(held.pop())]
            if store.value * ohms[node] >= SLOW:
                yield part.designator, Change(element=store.beside, param="g", value=_EMPTY)
