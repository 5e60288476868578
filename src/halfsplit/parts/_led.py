"""The infrared LED of couplers and sensors, and how it fails."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from halfsplit.parts._base import JUNCTION_SHORT, changed, failing
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.smooth import VT

__all__ = ["LIGHT", "SAME", "led_element", "led_modes"]

_ROW = "Optoelectronic LED"
_N = 1.6
_DROP_20MA = 1.2
"""Drop at 20 mA, volt: datasheet typical, from memory."""
LIGHT: Mapping[str, float] = {"is_": 20e-3 * math.exp(-_DROP_20MA / (_N * VT)), "n": _N}
"""Its saturation current, A, and emission coefficient: what it draws, and what it lights."""
SAME: Mapping[str, Spread] = {"is_": Spread(relative=0.5, shape="log", together="led")}
"""Their spread, the same for the LED and for what it lights."""


def led_element(a: str, k: str, breakdown: float) -> Element:
    """``led`` from terminal ``a`` to ``k``, with its reverse ``breakdown``, V."""
    params = {**LIGHT, "bv": breakdown, "nbv": 1.0, "gp": 1e-9}
    return Element(name="led", law=Diode(), terminals=(a, k), spread=SAME, params=params)


def led_modes(unlit: Sequence[Change]) -> list[Mode]:
    """Open and shorted, half each (assumed); ``unlit`` is what follows where it shone."""
    return [
        failing("led open", "open in its LED", (*changed("led", **dead_diode()), *unlit),
                row=(_ROW, "open"), of=0.5, test_out=1.0),
        failing("led short", "shorted in its LED",
                (*changed("led", gp=JUNCTION_SHORT), *unlit), row=(_ROW, "short"), of=0.5,
                test_out=1.0),
    ]  # fmt: skip
