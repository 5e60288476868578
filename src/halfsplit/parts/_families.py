"""Input load and output strength of the logic families, for black boxes and off-sheet nets.

Fitted by hand to the typical values of the sources named; limits in ``tests/truth``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from halfsplit.errors import UnknownName
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.laws.logic import LogicOutput, TtlInput

__all__ = ["FAMILIES", "LogicFamily", "family", "input_element", "output_element"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogicFamily:
    """One family at its usual supply (5 V).

    Input: ``r`` ohm from the supply less ``drop`` V (bipolar; ``r`` 0 for none) and ``leak`` S to
    ground. Output: ``il`` A, ``rl`` ohm, ``off`` V pulling down; ``ih`` A, ``rh`` ohm from
    ``up_drop`` V below the supply pulling up.
    """

    name: str
    r: float = 0.0
    drop: float = 0.0
    leak: float = 1e-9
    high: Literal["follower", "mos"] = "mos"
    vth: float = 1.3
    rel: float = 0.0
    il: float = 0.03
    rl: float = 25.0
    off: float = 0.0
    ih: float = 0.03
    rh: float = 50.0
    up_drop: float = 0.0
    source: str = ""


_TTL = "standard TTL levels; IOS from the 04 datasheet, from memory"
_ALL = (
    LogicFamily(name="74", r=4000.0, drop=0.7, high="follower", vth=1.35, il=0.05, rl=8.0,
                off=0.08, ih=0.045, rh=110.0, up_drop=1.4, source=_TTL),
    LogicFamily(name="74LS", r=20000.0, drop=0.4, high="follower", vth=1.1, il=0.03, rl=25.0,
                off=0.14, ih=0.045, rh=110.0, up_drop=1.4, source=_TTL),
    LogicFamily(name="74S", r=2800.0, drop=0.7, high="follower", vth=1.3, il=0.06, rl=8.0,
                off=0.2, ih=0.08, rh=50.0, up_drop=1.4, source=_TTL),
    LogicFamily(name="74HC", vth=0.5, rel=1.0, il=0.04, rl=40.0, ih=0.04, rh=45.0,
                source="74HC output drive 4 mA at 5 V; resistance from memory"),
    LogicFamily(name="74HCT", vth=1.4, il=0.04, rl=40.0, ih=0.04, rh=45.0,
                source="74HCT VOH 4.3 V typical at 4 mA, 4.5 V"),
    LogicFamily(name="nmos", leak=1e-7, vth=1.4, il=0.008, rl=150.0, ih=0.0015, rh=2500.0,
                up_drop=0.3, source="8-bit controllers of the 1970s-80s: 1.6-2 mA at 0.45 V, "
                "0.4 mA at 2.4 V; from memory"),
    LogicFamily(name="cmos", vth=0.5, rel=1.0, il=0.003, rl=400.0, ih=0.003, rh=600.0,
                source="4000B at 5 V: 1 mA class typical, from memory"),
)  # fmt: skip

FAMILIES: Mapping[str, LogicFamily] = {each.name: each for each in _ALL}
"""Family name -> strengths."""

_STRENGTH = 0.2


def family(name: str) -> LogicFamily:
    """The family of that name. Raises :class:`UnknownName`."""
    if name not in FAMILIES:
        raise UnknownName("logic family", name, FAMILIES)
    return FAMILIES[name]


def input_element(
    name: str, family_name: str, pin: str, supply: str, ground: str, count: int = 1
) -> Element:
    """What ``count`` inputs of a family take from ``pin``."""
    load = family(family_name)
    if not load.r:
        return Element(
            name=name,
            law=Conductance(),
            terminals=(pin, ground),
            params={"g": load.leak * count},
            spread={"g": Spread(relative=0.7, shape="log")},
        )
    return Element(
        name=name,
        law=TtlInput(),
        terminals=(pin, supply, ground),
        params={
            "r": load.r / count, "drop": load.drop, "off_at": 1.5, "k": 1.0,
            "g": load.leak * count,
        },
        spread={"r": Spread(relative=0.2, together="die")},
    )  # fmt: skip


def output_element(
    name: str, family_name: str, pin: str, supply: str, ground: str, *, pulls_up: bool = True
) -> Element:
    """An output whose level only states (or faults) set: let go until then (``e0`` = 0)."""
    drive = family(family_name)
    return Element(
        name=name,
        law=LogicOutput(inputs=(), level="1", high=drive.high if pulls_up else "none"),
        terminals=(pin, supply, ground),
        params={
            "vth": drive.vth, "rel": drive.rel, "steep": 20.0,
            "a0": 1.0, "a1": 0.0, "e0": 0.0, "e1": 0.0, "bit": 0.0, "kl": 1.0, "kh": 1.0,
            "il": drive.il, "rl": drive.rl, "off": drive.off,
            "ih": drive.ih, "rh": drive.rh, "drop": drive.up_drop,
            "on_at": 2.5, "leak": drive.leak,
        },
        spread={
            "il": Spread(relative=_STRENGTH, together="die"),
            "rl": Spread(relative=_STRENGTH, together="die"),
            "ih": Spread(relative=_STRENGTH, together="die"),
            "rh": Spread(relative=_STRENGTH, together="die"),
        },
    )  # fmt: skip
