"""Modes of one bipolar transistor as parameter changes, for transistors and Darlingtons.

With ``is_`` the transport current and gains ``bf``, ``br``, a lead broken inside leaves:

* base: nothing but breakdown (no base current), so ``is_`` = 0;
* collector: the base-emitter diode of saturation current is (1/bf + 1/(1 + br));
* emitter: the base-collector diode of is (1/br + 1/(1 + bf)).

Both follow from setting the current of the broken lead to 0 in the Ebers-Moll equations. They
are made by dividing the transport current by a million and the gain of the junction that stays
by as much, so no inner node is needed.
"""

from __future__ import annotations

from halfsplit.parts._base import OPEN

__all__ = ["base_open", "collector_open", "emitter_open"]

_AWAY = 1e-6
_NO_BREAKDOWN = 1e6


def base_open() -> dict[str, float]:
    """Parameters with the base lead broken: only collector to emitter is left."""
    return {"is_": 0.0, "gbe": OPEN, "gbc": OPEN}


def collector_open(is_: float, bf: float, br: float) -> dict[str, float]:
    """Parameters with the collector lead broken."""
    return {
        "is_": is_ * _AWAY,
        "bf": _AWAY / (1.0 / bf + 1.0 / (1.0 + br)),
        "br": 1e9,
        "bvce": _NO_BREAKDOWN,
        "gbc": OPEN,
        "gce": OPEN,
    }


def emitter_open(is_: float, bf: float, br: float) -> dict[str, float]:
    """Parameters with the emitter lead broken."""
    return {
        "is_": is_ * _AWAY,
        "br": _AWAY / (1.0 / br + 1.0 / (1.0 + bf)),
        "bf": 1e9,
        "bvce": _NO_BREAKDOWN,
        "gbe": OPEN,
        "gce": OPEN,
    }
