"""A jumper wire in place of a track: which gauge, what it drops, how warm it gets."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.frozen import dataclass
from halfsplit.replacement.copper import Track, Wire

__all__ = ["GAUGES", "Jumper", "choose", "jumpers"]

GAUGES = (30, 28, 26, 24, 22, 20, 18, 16)
"""Gauges that wires for jumpers are sold in (common practice, no source)."""
WARM = 10.0
"""Kelvin that a jumper may rise above the air (a choice of ours)."""
_FUSE_MARGIN = 5.0
"""A jumper that melts below so many times its current is not one (a choice of ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Jumper:
    """One gauge at one current and length. ``why_not`` is empty for one that will do."""

    wire: Wire
    length: float
    amps: float
    why_not: tuple[str, ...]

    @property
    def drop(self) -> float:
        """Volt from end to end."""
        return self.amps * self.wire.ohms(self.length)

    @property
    def watts(self) -> float:
        """Heat over its length."""
        return self.amps * self.drop

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON, SI units."""
        return {
            "gauge": self.wire.gauge,
            "diameter": self.wire.diameter,
            "ohms": self.wire.ohms(self.length),
            "drop": self.drop,
            "watts": self.watts,
            "rise": _finite(self.wire.rise(self.amps)),
            "fuses_at": self.wire.fuses_at,
            "will_do": not self.why_not,
            "why_not": list(self.why_not),
        }


def jumpers(
    amps: float, length: float, *, track: Track | None = None, most_drop: float | None = None
) -> tuple[Jumper, ...]:
    """Every gauge, finest first. ``most_drop`` volt may be lost; with a ``track`` to replace, no
    more than it lost itself. Raises ValueError for a current or length that is not above 0."""
    if amps <= 0.0 or length <= 0.0:
        raise ValueError(f"current and length must be above 0, got {amps:g} A and {length:g} m")
    allowed = [] if most_drop is None else [(most_drop, "asked for")]
    if track is not None:
        allowed.append((amps * track.ohms(length), "of the track it replaces"))
    return tuple(_jumper(Wire(gauge=gauge), amps, length, allowed) for gauge in GAUGES)


def choose(found: Sequence[Jumper]) -> Jumper | None:
    """The finest that will do: it is the easiest to dress and strains the pad least."""
    return next((one for one in found if not one.why_not), None)


def _jumper(wire: Wire, amps: float, length: float, allowed: Sequence[tuple[float, str]]) -> Jumper:
    why = []
    rise = wire.rise(amps)
    if rise > WARM:
        why.append(f"{rise:.0f} K above the air, more than {WARM:.0f} K")
    if wire.fuses_at < _FUSE_MARGIN * amps:
        why.append(f"melts at {wire.fuses_at:.1f} A, under {_FUSE_MARGIN:.0f} times the current")
    for limit, whose in allowed:
        drop = amps * wire.ohms(length)
        if drop > limit:
            why.append(f"drops {drop * 1e3:.1f} mV, more than the {limit * 1e3:.1f} mV {whose}")
    return Jumper(wire=wire, length=length, amps=amps, why_not=tuple(why))


def _finite(value: float) -> float | None:
    return value if value < float("inf") else None
