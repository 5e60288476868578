"""The owner's meter from three resistors and a diode: what it puts on a board without power."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfsplit.checks.kind import Meter
from halfsplit.errors import ReadingError
from halfsplit.frozen import dataclass
from halfsplit.units import parse

__all__ = ["FEWEST", "DiodeReading", "ResistorReading", "calibrated", "calibrated_as_typed"]

FEWEST = 3
_EMISSION = 1.8 * 0.025852
"""Volt a factor of e in current: a small silicon switching diode at 27 degC (from memory of the
1N4148 data sheet: 0.62 V at 1 mA, 0.72 V at 10 mA)."""
_MOST_VOLTS = 20.0
"""A meter that holds its current to the display's end counts as so many volts open."""
_OFF = 0.2
_LEAST_ERROR = 0.002
_RANGES = (1e2, 1e7)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistorReading:
    """A resistor of ``known`` ohm: what the ohms range shows, and the diode test in volt (inf for
    OL)."""

    known: float
    ohms: float
    volts: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DiodeReading:
    """A silicon diode, forward: what the diode test shows, volt, and the ohms range, ohm (inf for
    OL)."""

    volts: float
    ohms: float


def calibrated(
    meter: Meter, resistors: Sequence[ResistorReading], diode: DiodeReading | None
) -> Meter:
    """``meter`` with what was measured on it.

    The diode test is ``volts`` behind ``ohms``: 1/V = 1/volts + (ohms/volts)/R, a straight line
    through the resistors. That gives the diode's current there, and so its law; the current at
    which it has the resistance that the ohms range shows gives that range's open-circuit volts,
    its range resistor taken as the next power of ten. Raises :class:`ReadingError`.
    """
    if len(resistors) < FEWEST:
        raise ReadingError(
            f"expected readings of {FEWEST} resistors at least, got {len(resistors)}: take some "
            "between 330 Ω and 2.2 kΩ"
        )
    errors = [one.ohms / one.known - 1.0 for one in resistors]
    for one, error in zip(resistors, errors, strict=True):
        if not abs(error) < _OFF:
            raise ReadingError(
                f"expected about {one.known:g} Ω on the ohms range, got {one.ohms:g}: is it the "
                "resistor you think, and is its value in ohms?"
            )
    volts, ohms = _diode_test(resistors)
    found = replace(
        meter,
        ohms_relative=max(_LEAST_ERROR, math.sqrt(sum(e * e for e in errors) / len(errors))),
        diode_volts=volts,
        diode_ohms=ohms,
        diode_limit=min(meter.diode_limit, 0.97 * volts),
        calibrated=1.0,
    )
    return found if diode is None else replace(found, ohms_volts=_ohms_volts(found, diode))


def calibrated_as_typed(
    meter: Meter, resistors: Sequence[Sequence[str]], diode: Sequence[str] | None
) -> Meter:
    """As :func:`calibrated`, from what was typed: of each resistor its value, what the ohms range
    shows and what the diode test shows; of the diode the diode test and the ohms range; ``OL``
    where it shows that. Raises UnitError too."""
    if diode and not resistors:
        raise ReadingError(f"expected {FEWEST} resistors beside the diode, got none")
    return calibrated(
        meter,
        [ResistorReading(known=parse(value, "Ω"), ohms=_shown(ohms, "Ω"), volts=_shown(volts, "V"))
         for value, ohms, volts in resistors],
        DiodeReading(volts=_shown(diode[0], "V"), ohms=_shown(diode[1], "Ω")) if diode else None,
    )  # fmt: skip


def _shown(text: str, unit: str) -> float:
    return math.inf if text.strip().casefold() == "ol" else parse(text, unit)


def _diode_test(resistors: Sequence[ResistorReading]) -> tuple[float, float]:
    """Open-circuit volts and source resistance."""
    told = [one for one in resistors if 0.0 < one.volts < math.inf]
    if len({one.known for one in told}) < 2:
        raise ReadingError(
            "expected two different resistors at least that the diode test shows in volts, got OL "
            "or nought: take smaller ones, 330 Ω to 1 kΩ"
        )
    rows = np.array([[1.0, 1.0 / one.known] for one in told])
    weight = np.array([one.volts for one in told])[:, None]
    line = np.linalg.lstsq(rows * weight, np.ones(len(told)), rcond=None)[0]
    if line[1] <= 0.0:
        raise ReadingError(
            "expected more volts across a larger resistor in the diode test, got fewer: were the "
            "readings mixed up?"
        )
    volts = float(1.0 / max(line[0], 1.0 / _MOST_VOLTS))
    return volts, float(line[1] * volts)


def _ohms_volts(meter: Meter, diode: DiodeReading) -> float:
    """Open-circuit volts of the ohms ranges, by a diode whose law the diode test told."""
    if not 0.2 < diode.volts < 1.0:
        raise ReadingError(
            f"expected 0.4 to 0.8 V across a silicon diode in the diode test, got {diode.volts:g}: "
            "is red on its anode?"
        )
    if math.isinf(diode.ohms):
        return meter.ohms_volts
    at_test = (meter.diode_volts - diode.volts) / meter.diode_ohms
    saturation = at_test / math.expm1(diode.volts / _EMISSION)

    def excess(amps: float) -> float:
        return _EMISSION * math.log1p(amps / saturation) - amps * diode.ohms

    low, high = 1e-3 * saturation, at_test
    if diode.ohms <= 0.0 or excess(high) > 0.0 or excess(low) < 0.0:
        raise ReadingError(
            f"expected {diode.volts / at_test:.2g} to {_EMISSION / saturation:.2g} Ω or OL across "
            f"the diode on the ohms range, got {diode.ohms:g}: red on its anode, nothing beside it"
        )
    for _ in range(200):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if excess(middle) > 0.0 else (low, middle)
    amps = math.sqrt(low * high)
    reference = min(max(10.0 ** math.ceil(math.log10(diode.ohms)), _RANGES[0]), _RANGES[1])
    return amps * (diode.ohms + reference)
