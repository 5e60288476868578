"""How bad a fault is, where that is a matter of degree.

A leak, a short, a poor joint, a weak output or a drifted value has no one size. The fault list
carries a middling one; here are its milder and its worse version, one standard deviation away,
so that the predicted reading gets the spread of not knowing. What is all or nothing (open, stuck,
missing) has no versions.
"""

from __future__ import annotations

from halfsplit.build.parameters import Overlay
from halfsplit.solve.circuit import Circuit

__all__ = ["versions"]

_CONDUCTANCES = frozenset(
    {"g", "gp", "gbe", "gbc", "gce", "gds", "ggs", "ggd", "gio", "gog", "gm", "leak", "dark"}
)
_DEGREES = frozenset({"kl", "kh", "bf", "br", "ctr", "light", "vos", "bv", "vset", "volts", "ilim"})
_OPEN = 1e-8
"""A conductance below this is an open, S."""
_FACTOR = 3.5
"""One standard deviation of a leak, a short or a poor joint, a factor (assumed)."""
_SHARE = 0.4
"""One standard deviation of any other change: 40 % of how far it goes (assumed)."""


def versions(circuit: Circuit, what: Overlay) -> tuple[Overlay, Overlay] | None:
    """The milder and the worse version of a fault, or ``None`` when it has no degrees."""
    milder, worse, soft = [], [], False
    for group, row, member, value, scale in what:
        name = circuit.groups[group].law.parameters[row]
        base = float(circuit.groups[group].base[row, member])
        less, more = value, value
        if name in _CONDUCTANCES and not scale and value > _OPEN:
            toward_open = value < base  # a poor joint: worse is less conductance
            less, more = value / _FACTOR, value * _FACTOR
            if toward_open:
                less, more = min(value * _FACTOR, base), value / _FACTOR
        elif scale and value > 0.0:
            less, more = value ** (1.0 - _SHARE), value ** (1.0 + _SHARE)
        elif name in _DEGREES and not scale and value != 0.0:
            less = base + (1.0 - _SHARE) * (value - base)
            more = base + (1.0 + _SHARE) * (value - base)
            if value * more <= 0.0:
                more = value
        soft = soft or less != value or more != value
        milder.append((group, row, member, less, scale))
        worse.append((group, row, member, more, scale))
    return (tuple(milder), tuple(worse)) if soft else None
