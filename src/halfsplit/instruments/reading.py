"""The reading of a check, from a meter, as it would be typed."""

from __future__ import annotations

import math
from dataclasses import asdict

from halfsplit.build.world import World
from halfsplit.checks.kind import Check
from halfsplit.checks.registry import CHECKS
from halfsplit.errors import AnswerError, ReadingError
from halfsplit.frozen import dataclass
from halfsplit.instruments.answers import TYPE_IT
from halfsplit.instruments.book import Entry, pick
from halfsplit.instruments.kinds.meter import FUNCTIONS, measure, require_dead
from halfsplit.units import format_quantity

__all__ = ["ANSWERED", "Shown", "read_check", "read_function"]

ANSWERED = {
    "volts": "dc volts",
    "ohms": "ohms",
    "diode": "diode",
    "capacitance": "capacitance",
}
"""Kind of check -> function of a meter that answers it."""
_DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a meter showed: ``value`` (SI, infinity for an overload), and the same as ``text`` that
    may be typed."""

    instrument: str
    function: str
    value: float
    text: str

    @property
    def source(self) -> str:
        """Where it came from, in words for the log."""
        return f"meter {self.instrument}"

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON, ``"open"`` for an overload."""
        return {
            **asdict(self),
            "value": "open" if math.isinf(self.value) else self.value,
            "source": self.source,
        }


def read_check(check: Check, world: World, *, name: str = "", four_wire: bool = False) -> Shown:
    """Ask the meter for the reading of a check; nothing is entered.

    Raises :class:`ReadingError` for a check that no meter answers and for a reading that the check
    does not take, and what `pick` and `measure` raise.
    """
    if check.kind not in ANSWERED:
        raise ReadingError(
            f"expected a check that a meter answers ({', '.join(ANSWERED)}), got {check.id}; "
            "type what came of it"
        )
    function = ANSWERED[check.kind]
    if four_wire and function == "ohms":
        function = "ohms 4-wire"
    kind = CHECKS.get(check.kind)
    entry = pick("meter", name)
    shown = read_function(function, entry)
    if math.isinf(shown.value) and "OL" not in kind.words:
        raise AnswerError(
            entry.address, expected=f"{function} for {check.id}", got="an overload (9.9E37)",
            do=f"look at the probes and the meter's terminals, {TYPE_IT}",
        )  # fmt: skip
    kind.read(check, shown.text, world)
    return shown


def read_function(function: str, entry: Entry) -> Shown:
    """Ask a meter for one of its functions. Raises what `measure` raises."""
    with entry.open() as link:
        if function in FUNCTIONS and FUNCTIONS[function].puts:
            require_dead(link, entry.way)
        value = measure(link, function, entry.way)
    text = "OL" if math.isinf(value) else format_quantity(value, FUNCTIONS[function].unit, _DIGITS)
    return Shown(instrument=entry.name, function=function, value=value, text=text)
