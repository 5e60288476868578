"""What a drawing is made from: boxes with named pins on named nets, and no behaviour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from halfsplit.frozen import dataclass

__all__ = ["Box", "Pin", "Sheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A pin of a box. ``place`` is what a person calls it (``U3.6``); ``role`` as in the board's
    vocabulary: ``in`` goes left, ``out``, ``oc`` and ``tri`` right, ``passive`` where it suits."""

    name: str
    net: str
    place: str
    role: str = "passive"
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A part, or one unit of it. ``kind`` chooses the symbol, ``title`` says in words what it is
    (a gate is recognised by it), ``label`` is the value or type written beside it."""

    id: str
    part: str
    kind: str
    pins: tuple[Pin, ...]
    title: str = ""
    label: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All boxes. Nets in ``rails``, and ``ground``, are written as labels at each pin."""

    boxes: tuple[Box, ...]
    ground: str = "GND"
    rails: frozenset[str] = field(default_factory=frozenset)
    lanes: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    """Net of one of several like channels -> (group, which of them)."""

    def labelled(self, net: str) -> bool:
        """Whether a net is written at each pin, not drawn."""
        return net == self.ground or net in self.rails
