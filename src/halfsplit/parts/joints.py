"""Solder joints, bridges between neighbouring pins, and tracks: faults of the board itself.

Element names that the changes refer to (the builder makes the elements, conductances all):
``joint:21`` from leg to pad of pin 21, ``track:21`` from its pad to the rest of the net,
``bridge:5-6`` between the pads of pins 5 and 6.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, changed, failing
from halfsplit.parts.connector import FAR
from halfsplit.parts.kind import Change, Mode, Rate

__all__ = [
    "GOOD", "GOOD_SPREAD", "RESISTIVE", "WITH_HAIRLINE", "PinFaults", "bridge_element",
    "joint_element", "joint_modes", "lead_of", "lead_open", "package_pins", "track_element",
]  # fmt: skip

GOOD = 100.0
"""Conductance of a good joint or contact with the track to it, S."""
GOOD_SPREAD = 0.7
"""Natural log of the factor, either way, by which that varies with the track's length and width:
two (assumed)."""
RESISTIVE = 0.01
"""Conductance of a poor one, S: 100 ohm, assumed."""

_JOINT = "joint:"
_ROW = "Printed wiring assembly"
_PER_JOINT = 4.1e-5
"""A plated-through hole, wave soldered, per million hours."""
_QUALITY = 2.0
_OPEN, _POOR, _TRACK, _HAIRLINE = 0.4, 0.27, 0.25, 0.08
"""How the handbook's "open" is split between joint open, joint resistive, track broken and track
resistive (assumed)."""
WITH_HAIRLINE = (_POOR + _HAIRLINE) / _POOR
"""What the rate of a poor joint is multiplied by where it stands for a hairline beside it too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PinFaults:
    """Faults around the pins of one part; each mode's share is a fraction of ``rate``."""

    rate: Rate
    modes: tuple[Mode, ...] = ()


def joint_element(pin: str) -> str:
    """Name of the conductance from the leg to the pad."""
    return f"{_JOINT}{pin}"


def lead_open(pin: str) -> tuple[Change, ...]:
    """Changes of a part whose lead or bond wire at ``pin`` is open inside: what is behind it has
    lost the net as it does by an open joint, and the leg outside still reads the net."""
    return changed(joint_element(pin), g=OPEN)


def lead_of(change: Change) -> str:
    """The pin of :func:`lead_open`, or ``""`` for any other change."""
    return change.element.removeprefix(_JOINT) if change.element.startswith(_JOINT) else ""


def track_element(pin: str) -> str:
    """Name of the conductance from the pad to the rest of the net."""
    return f"track:{pin}"


def bridge_element(first: str, second: str) -> str:
    """Name of the conductance between two neighbouring pads."""
    return f"bridge:{first}-{second}"


def joint_modes(part: Part, package: int = 0) -> PinFaults:
    """Joints, tracks and bridges of the connected pins.

    ``package`` is the number of pins of a dual in-line package (see :func:`package_pins`); 0
    means no neighbours to be bridged to. Shares add up to 1, or to the opens' part without
    neighbours.
    """
    pins = [pin for pin in part.pins if not pin.endswith(FAR)]
    if not pins:
        return PinFaults(rate=_rate(0))
    found: list[Mode] = []
    for pin in pins:
        of = 1.0 / len(pins)
        joint, track = joint_element(pin), track_element(pin)
        found += [
            failing(f"{pin} joint open", f"open at the joint of pin {pin}",
                    changed(joint, g=OPEN), row=(_ROW, "open"), of=_OPEN * of, pin=pin,
                    test_out=0.0, ageing="contact"),
            failing(f"{pin} joint resistive", f"poor at the joint of pin {pin}",
                    changed(joint, g=RESISTIVE), row=(_ROW, "open"), of=_POOR * of, pin=pin,
                    test_out=0.0, ageing="contact"),
            failing(f"{pin} track broken", f"cut off at the track to pin {pin} "
                    "(a crack, or its pad lifted)",
                    changed(track, g=OPEN), row=(_ROW, "open"), of=_TRACK * of, pin=pin,
                    test_out=0.0, ageing="contact"),
            failing(f"{pin} track resistive", f"poor at the track to pin {pin} (a hairline crack)",
                    changed(track, g=RESISTIVE), row=(_ROW, "open"), of=_HAIRLINE * of, pin=pin,
                    test_out=0.0, ageing="contact"),
        ]  # fmt: skip
    pairs = neighbours(part, package)
    for first, second in pairs:
        found.append(
            failing(f"{first}-{second} bridged", f"bridged from pin {first} to pin {second}",
                    changed(bridge_element(first, second), g=SHORT), row=(_ROW, "short"),
                    of=1.0 / len(pairs), pin=first, test_out=0.0)
        )  # fmt: skip
    return PinFaults(rate=_rate(len(pins)), modes=tuple(found))


def neighbours(part: Part, package: int) -> Sequence[tuple[str, str]]:
    """Pins side by side in one row of a dual in-line package, on different nets."""
    half = package // 2
    pairs = ((str(n), str(n + 1)) for n in range(1, package) if n != half)
    return tuple(
        (a, b)
        for a, b in pairs
        if a in part.pins and b in part.pins and part.pins[a] != part.pins[b]
    )


def package_pins(word: KindWord, part: Part | None = None) -> int:
    """Pins of the dual in-line package of a kind: all pins numbered, six or more; else 0. A
    described ``part`` has the pins of its description."""
    described = part.description if part is not None else None
    names = [pin.name for pin in (described.pins if described is not None else word.pins)]
    numbered = len(names) >= 6 and all(name.isdecimal() for name in names)
    if not numbered:
        return 0
    most = max(int(name) for name in names)
    return most + most % 2


def _rate(pins: int) -> Rate:
    return Rate(
        per_million_hours=_PER_JOINT * _QUALITY * pins,
        source="MIL-HDBK-217F section 16.1, plated-through hole wave soldered "
        f"{_PER_JOINT:g}, pi_Q {_QUALITY:g}, times {pins} pins",
    )
