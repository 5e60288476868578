"""Faults, suspects, places: what can be wrong, what one repair puts right, where a probe goes."""

from __future__ import annotations

from typing import Literal

from halfsplit.frozen import dataclass
from halfsplit.parts.joints import lead_of
from halfsplit.parts.kind import Change

__all__ = ["ELSE", "HEALTHY", "Fault", "PinRef", "Place", "Suspect"]

HEALTHY = "healthy"
"""Id of row 0 of every fault axis: nothing wrong. Its prior is 0 while a case is open."""

ELSE = "something-else"
"""Id of the last suspect: a fault that the list does not hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PinRef:
    """A pin of a part."""

    designator: str
    pin: str

    def __str__(self) -> str:
        """``U3.6``."""
        return f"{self.designator}.{self.pin}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a probe goes.

    ``name`` is what people type: ``U3.6`` (the leg of the pin), ``U3.6/pad`` (the board side of
    its joint), ``U3.6/tail`` (where the pin of its socket comes out on the solder side), ``TP1``
    (a test point) or ``net PHA`` (anywhere on the net, when every joint is
    taken as good; offered only for convenience). ``trouble PHA`` is no place for a probe: its
    volts are the trouble of a block's net (``solve.laws.stage``).
    """

    name: str
    net: str
    kind: Literal["leg", "pad", "tail", "testpoint", "net", "trouble"]
    pin: PinRef | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One way one part, joint, socket, track or rail can be wrong.

    ``id`` is stable text (``R7 open``, ``U3.6 joint open``, ``U3.5-U3.6 bridged``, ``+5 missing``).
    ``where`` says what sort of thing is wrong; ``mode`` the part mode's name (or ``open``,
    ``resistive``, ``bridged``, ``broken``, ``missing``, ``low``). ``pins`` are the pins concerned
    (joint, contact, bridge, track). ``changes`` are by part: (designator or ``"*"`` for the
    builder's own elements, Change). ``rate`` is failures per million hours with ageing in.
    ``test_out`` is the chance that a usual test of the part out of circuit shows it (0 when the
    fault is not in a part). ``stored`` are changes of what the part stores. ``visible`` is the
    chance that a good look shows it; ``touch`` that pressing or flexing changes it; ``reseat`` that
    pulling and plugging back cures it. A fault that comes in degrees has several rows, ``grades``
    of them: the middling one, and others whose ``version_of`` is its id.
    """

    id: str
    suspect: str
    where: Literal["part", "joint", "contact", "bridge", "track", "rail", "off-board", "none"]
    mode: str
    words: str
    rate: float
    source: str
    designator: str = ""
    pins: tuple[PinRef, ...] = ()
    changes: tuple[tuple[str, Change], ...] = ()
    stored: tuple[tuple[str, Change], ...] = ()
    test_out: float = 0.0
    visible: float = 0.02
    touch: float = 0.0
    reseat: float = 0.0
    grades: int = 1
    version_of: str = ""

    @property
    def parted(self) -> tuple[PinRef, ...]:
        """Pins that it parts wholly from their net, outside the part or inside."""
        if self.where not in ("joint", "contact", "track"):
            return self.leads
        return self.pins if self.mode.split()[-1] in ("open", "broken") else ()

    @property
    def leads(self) -> tuple[PinRef, ...]:
        """Pins whose lead is open inside the part."""
        if self.where != "part":
            return ()
        return tuple(
            PinRef(designator=owner, pin=lead_of(change))
            for owner, change in self.changes
            if lead_of(change)
        )

    @property
    def plain_id(self) -> str:
        """The id without the degree: that of the middling version."""
        return self.version_of or self.id


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """What one repair would put right: its probability is the sum over its faults.

    ``id`` is stable text (``R7``, ``joint U3.6``, ``contact U1.21``, ``bridge U3.5-U3.6``,
    ``track U3.6``, ``rail +5``, ``something-else``); ``repair`` the action in words.
    """

    id: str
    repair: str
    designator: str = ""
    minutes: float = 10.0
    price: float = 0.0
