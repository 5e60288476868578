"""A bench meter: volts, ohms, amperes, diodes, farads and hertz by SCPI's MEASure or its kin.

SCPI-1999, volume 2: measurement instructions and SENSe:FUNCtion. Every reading leaves the range to
the meter.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from halfsplit.errors import AnswerError, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.instruments.answers import TYPE_IT
from halfsplit.instruments.kind import Way
from halfsplit.instruments.link import Link

__all__ = ["CHARGED", "FUNCTIONS", "KIND", "Function", "Meter", "measure", "require_dead"]

CHARGED = 0.1
"""Volt between the probes above which ohms are not asked for (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Function:
    """One thing a meter measures; ``puts`` says that it puts a current of its own on the board."""

    name: str
    header: str
    unit: str
    puts: bool = False


FUNCTIONS: Mapping[str, Function] = {
    one.name: one
    for one in (
        Function(name="dc volts", header="VOLT:DC", unit="V"),
        Function(name="ac volts", header="VOLT:AC", unit="V"),
        Function(name="ohms", header="RES", unit="Ω", puts=True),
        Function(name="ohms 4-wire", header="FRES", unit="Ω", puts=True),
        Function(name="dc amps", header="CURR:DC", unit="A"),
        Function(name="ac amps", header="CURR:AC", unit="A"),
        Function(name="diode", header="DIOD", unit="V", puts=True),
        Function(name="capacitance", header="CAP", unit="F", puts=True),
        Function(name="frequency", header="FREQ", unit="Hz"),
    )
}


class Meter:
    """It fills the reading of a check."""

    name = "meter"
    title = "bench meter"
    help = (
        "It fills the reading of a check: DC volts, ohms with two or four wires, the diode test, "
        "capacitance; AC volts, amperes and frequency when they are asked for by name. Before "
        "it puts a current of its own on a board it reads the volts between the probes, and stops "
        "when there are any."
    )
    cautions = (
        "Never above what its leads and terminals are rated for; mains and what hangs on it only "
        "by those who may, local codes and licensed practice first.",
        "Amperes have terminals of their own: with the leads left there, the next volts reading is "
        "a short.",
    )
    ways = (
        Way(name="measure", probe="MEAS:VOLT:DC?"),
        Way(name="configure", probe="CONF?", blind=False),
        Way(name="function", probe="SENS:FUNC?", blind=False),
    )


KIND = Meter()


def measure(link: Link, function: str, way: str) -> float:
    """What the meter reads, SI; infinity for an overload. Raises :class:`UnknownName` for what no
    meter measures, :class:`RefusedError` for what this one does not, :class:`AnswerError` when it
    says that it has no reading, and what `Link` raises."""
    if function not in FUNCTIONS:
        raise UnknownName("function of a meter", function, FUNCTIONS)
    one = FUNCTIONS[function]
    if way == "configure":
        link.tell(f"CONF:{one.header}")
    elif way == "function":
        link.tell(f'SENS:FUNC "{one.header}"')
    question = "READ?" if way in ("configure", "function") else f"MEAS:{one.header}?"
    value = link.number(question, one.name)
    link.accepted(question)
    if math.isnan(value):
        raise AnswerError(
            link.address, expected=one.name, got="9.91E37, which says that it has none: unresolved",
            do=f"look at the probes and measure again, {TYPE_IT}",
        )  # fmt: skip
    return value


def require_dead(link: Link, way: str) -> None:
    """Raises :class:`AnswerError` when there are volts between the probes, which would spoil
    ohms and may hurt the meter."""
    volts = measure(link, "dc volts", way)
    if not abs(volts) <= CHARGED:
        raise AnswerError(
            link.address, expected=f"less than {CHARGED:g} V between the probes before it puts a "
            "current of its own on the board",
            got=f"{volts:.3g} V", do="take the power off, empty the capacitors, and read again",
        )  # fmt: skip
