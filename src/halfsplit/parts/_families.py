"""Inputs and outputs of the logic families for black boxes and off-sheet nets.

The families of logic chips are in ``_logic_families``; those that only black boxes have are here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.errors import UnknownName
from halfsplit.parts._base import changed
from halfsplit.parts._logic_families import FAMILIES as CHIP_FAMILIES
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts.kind import Change
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.laws.logic import LogicOutput, TtlInput

__all__ = [
    "FAMILIES", "clamp_elements", "family", "input_elements", "let_go", "output_element", "set_to",
]  # fmt: skip

_MOS_CLAMP = Junction(is_=1e-14)

_BLACK_BOXES = (
    Family(
        name="nmos", title="NMOS controller", vth=1.4, leak=1e-7, clamp=_MOS_CLAMP, drop=0.3,
        icc=60e-3, mos=True,
        drives={"standard": Drive(il=0.008, rl=150.0, ih=1.5e-3, rh=2500.0, iol=2e-3,
                                  ioh=0.4e-3)},
    ),
)  # fmt: skip
"""Typical values from memory: 8-bit NMOS controllers (2 mA at 0.45 V, 0.4 mA at 2.4 V)."""

FAMILIES: Mapping[str, Family] = {**{each.name: each for each in _BLACK_BOXES}, **CHIP_FAMILIES}
"""Family name -> behaviour."""

_STRENGTH = Spread(relative=0.5, shape="log", together="die")
"""Of a pin that nobody has a data sheet for: within a factor of 1.65 either way, mostly."""
_LOST = Spread(absolute=0.25, shape="normal", together="die")


def family(name: str) -> Family:
    """The family of that name. Raises :class:`UnknownName`."""
    if name not in FAMILIES:
        raise UnknownName("logic family", name, FAMILIES)
    return FAMILIES[name]


def input_elements(
    name: str, family_name: str, pin: str, supply: str, ground: str, count: int = 1
) -> Sequence[Element]:
    """What ``count`` inputs of a family take from ``pin``."""
    load = family(family_name)
    if not load.r:
        spread = {"g": Spread(relative=0.7, shape="log")}
        params = {"g": load.leak * count}
        return (
            Element(name=name, law=Conductance(), terminals=(pin, ground), params=params,
                    spread=spread),
            Element(name=f"{name} up", law=Conductance(), terminals=(pin, supply), params=params,
                    spread=spread),
        )  # fmt: skip
    return (
        Element(
            name=name,
            law=TtlInput(),
            terminals=(pin, supply, ground),
            params={
                "r": load.r / count, "drop": load.in_drop, "off_at": load.off_at, "k": 1.0,
                "g": load.leak * count,
            },
            spread={"r": _STRENGTH},
        ),
    )  # fmt: skip


def clamp_elements(
    name: str, family_name: str, pin: str, supply: str, ground: str
) -> Sequence[Element]:
    """Clamp diodes of a pin: to ground, and to the supply where the family has one."""
    load = family(family_name)
    ends = [(f"{name} clamp", ground, pin)]
    if load.clamp_high:
        ends.append((f"{name} clamp up", pin, supply))
    return tuple(
        Element(
            name=each,
            law=Diode(),
            terminals=(anode, cathode),
            params={"is_": load.clamp.is_, "n": load.clamp.n, "bv": load.clamp.bv, "nbv": 1.0,
                    "gp": 0.0},
            spread={"is_": Spread(relative=0.5, shape="log", together="clamps")},
        )
        for each, anode, cathode in ends
    )  # fmt: skip


def output_element(
    name: str, family_name: str, pin: str, supply: str, ground: str, *, pulls_up: bool = True
) -> Element:
    """An output whose level only states (or faults) set, see :func:`set_to`; let go until then."""
    source = family(family_name)
    drive = source.drive("standard")
    return Element(
        name=name,
        law=LogicOutput(inputs=(), level="1", high=source.high if pulls_up else "none"),
        terminals=(pin, supply, ground),
        params={
            "vth": source.vth, "rel": source.rel, "steep": 20.0,
            "a0": 1.0, "a1": 0.0, "e0": 0.0, "e1": 0.0, "bit": 0.0, "kl": 1.0, "kh": 1.0,
            "il": drive.il, "rl": drive.rl, "off": drive.off,
            "ih": max(drive.ih, 1e-3), "rh": drive.rh, "drop": source.drop,
            "on_at": source.on_at, "leak": source.leak, "swing": 0.0,
        },
        spread={"il": _STRENGTH, "rl": _STRENGTH, "ih": _STRENGTH, "rh": _STRENGTH,
                "drop": _LOST},
    )  # fmt: skip


def set_to(element: str, level: float) -> tuple[Change, ...]:
    """Changes that make an :func:`output_element` drive (0 low, 1 high, between: a fraction)."""
    return changed(element, a0=level, a1=0.0, e0=1.0, e1=0.0)


def let_go(element: str) -> tuple[Change, ...]:
    """Changes that make an :func:`output_element` let its pin go."""
    return changed(element, e0=0.0, e1=0.0)
