"""How bad a fault is, where that is a matter of degree.

A leak, a short, a poor joint, a weak output or a drifted value has no one size. Ten readings of
one leak are ten readings of the same size: the fault list therefore carries a slight, a middling
and a severe version of it, each a row that all readings move together. What is left within a row,
and the whole of it where a mode gets no rows of its own, is spread: the fault's milder and worse
version a few standard deviations away. What is all or nothing (open, stuck, missing) has neither.
"""

from __future__ import annotations

from halfsplit.build.parameters import Overlay, Setting
from halfsplit.solve.circuit import Circuit

__all__ = ["GRADES", "WITHIN", "Versions", "graded", "has_degrees", "versions"]

Versions = tuple[Overlay, Overlay] | None
"""Milder and worse."""

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
_WHOLE = frozenset({"open", "missing", "broken"})
"""Last words of modes of which there is no half."""
_ALL_OR_NOTHING = _WHOLE | {"bridged", "turns", "resistive"}
"""Last words of modes that get no rows of their own: there is no half of them, or (a poor joint)
what it does grows evenly with how poor it is."""

_HARD = "shorted to ground"
"""Of an input: its milder version is the leak, which has rows of its own."""

GRADES = (("slightly", -1.2, 0.27), ("", 0.0, 0.46), ("badly", 1.2, 0.27))
"""Versions of a fault that comes in degrees: adverb, standard deviations from the middling one,
share of its rate. With :data:`WITHIN` they have the mean and, nearly, the spread of a normal."""
WITHIN = 0.5
"""Standard deviations that are left within one of the versions."""


def graded(what: str) -> bool:
    """Whether a fault with this mode's name comes in degrees that are worth rows of their own."""
    return what.split()[-1] not in _ALL_OR_NOTHING and not what.endswith(_HARD)


def has_degrees(what: str) -> bool:
    """Whether there is a milder and a worse version of a fault with this mode's name."""
    return what.split()[-1] not in _WHOLE


def versions(circuit: Circuit, what: Overlay, sigmas: float = 1.0) -> Versions:
    """The milder and the worse version of a fault, so many standard deviations away, or ``None``
    when it has no degrees."""
    milder, worse = (tuple(_moved(circuit, one, by) for one in what) for by in (-sigmas, sigmas))
    return (milder, worse) if milder != what or worse != what else None


def _moved(circuit: Circuit, change: Setting, sigmas: float) -> Setting:
    """One change, milder (below 0) or worse by so many standard deviations."""
    group, row, member, value, scale = change
    name = circuit.groups[group].law.parameters[row]
    base = float(circuit.groups[group].base[row, member])
    moved = value
    if name in _CONDUCTANCES and not scale and value > _OPEN:
        poor = value < base  # a joint: worse is less conductance
        moved = min(value / _FACTOR**sigmas, base) if poor else value * _FACTOR**sigmas
    elif scale and value > 0.0:
        moved = value ** (1.0 + _SHARE * sigmas)
    elif name in _DEGREES and not scale and value != 0.0:
        moved = base + (1.0 + _SHARE * sigmas) * (value - base)
        if value * moved <= 0.0:
            moved = value
    return group, row, member, moved, scale
