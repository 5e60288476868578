"""Readings and setups in words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from halfsplit.checks.kind import Meter, Reading
from halfsplit.units import format_quantity, format_span

__all__ = ["SETUPS", "meter_lines", "reading_words", "state_by_state"]

SETUPS = {
    "powered": "board powered",
    "off": "switched off, unplugged, capacitors empty",
    "pin lifted": "switched off, one pin lifted",
    "part out": "switched off, part taken out",
    "watching": "board powered, hands off: only watch",
    "touching": "board powered, with an insulated stick",
}
"""What must be true of the bench, in words."""
_MILLIVOLTS = 0.01
"""V below which a reading is told in millivolts."""


def reading_words(reading: Reading, unit: str) -> str:
    """How a reading was understood: ``4.7 V``, ``under 1 V``, ``low``, ``could not tell``."""
    if reading.nothing:
        return "could not tell"
    if reading.word:
        return reading.word
    if reading.value is not None:
        if unit == "V" and not 0.0 < abs(reading.value) < _MILLIVOLTS:
            return f"{reading.value:.4g} V"
        return format_quantity(reading.value, unit, 4)
    if reading.low is not None and reading.high is not None:
        return format_span(reading.low, reading.high, unit)
    if reading.high is not None:
        return f"under {format_quantity(reading.high, unit)}"
    if reading.low is not None:
        return f"above {format_quantity(reading.low, unit)}"
    return reading.text


def meter_lines(meter: Meter) -> Iterator[str]:
    """What a meter puts on a board without power, and what else it can measure."""
    amps = format_quantity(meter.diode_volts / meter.diode_ohms, "A")
    yield f"ohms: {meter.ohms_volts:.2g} V open, {meter.ohms_relative:.1%} of the reading"
    yield (
        f"diode test: {meter.diode_volts:.3g} V open, {amps} into a short, "
        f"OL above {meter.diode_limit:.2g} V"
    )
    yield f"continuity: beeps below {format_quantity(meter.continuity_ohms, 'Ω')}"
    for what, hertz in (("capacitance", meter.capacitance_hertz), ("ESR", meter.esr_hertz)):
        yield f"{what}: {f'at {hertz:g} Hz' if hertz else 'not measured'}"


def state_by_state(told: Iterable[str]) -> tuple[str, ...]:
    """What was told of an output in each state, in one line: ``lamp lit: seen right in rest and
    home`` for ``lamp lit in rest: seen right`` and ``lamp lit in home: seen right``."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in told:
        parts = re.fullmatch(r"(.+) in (\S+): (.+)", one)
        output, state, what = parts.groups() if parts else (one, "", "")
        found.setdefault((output, what), []).append(state)
    return tuple(
        f"{output}: {what} in {_listed(states)}" if what else output
        for (output, what), states in found.items()
    )


def _listed(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
