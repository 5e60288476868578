"""Delay line module with TTL ends: for levels that stand still, a buffer with five outputs."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.board.vocabulary import KindWord
from halfsplit.parts._logic_chips import ChipOutput
from halfsplit.parts._logic_families import FAMILIES
from halfsplit.parts._wired import FIVE_VOLTS, WiredChip, chip_of, pin_words
from halfsplit.parts.kind import Rating

__all__ = ["KIND"]

_PINS = "IN NC NC T2 NC T4 GND T5 NC T3 NC T1 NC VCC"
"""The usual five-tap module of 14 pins, from memory."""
_TAPS = ("T1", "T2", "T3", "T4", "T5")
_CHIP = chip_of("delay-line", "", _PINS, [ChipOutput(name=tap, level="IN") for tap in _TAPS])

KIND = WiredChip(
    chip=_CHIP,
    family=replace(FAMILIES["74S"], icc=60e-3),
    rate_name="IC digital bipolar 1-100 gates",
    limits=(
        Rating(name="low output current", value=0.02, unit="A", source="from memory"),
    ),
    word=KindWord(
        name="delay-line", title="Delay line, five taps, TTL", pins=pin_words(_CHIP),
        supply_volts=FIVE_VOLTS,
        help="Each tap follows the input; the delay itself is not predicted.",
        example="U9 delay-line 1=IN 12=TAP1",
    ),
)  # fmt: skip
