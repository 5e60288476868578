"""A bench supply: its volts, its current limit, its output, each set only when asked and read back.

SCPI-1999, volume 2: OUTPut, SOURce and INSTrument. A supply in constant voltage
takes ``SOURce:CURRent`` for its limit; where it has ``SOURce:CURRent:LIMit`` as well both are
set, since only it knows which of them is in force.
"""

from __future__ import annotations

import math
from dataclasses import asdict

from halfsplit.errors import AnswerError, ReadingError
from halfsplit.frozen import dataclass
from halfsplit.instruments.answers import number, shown
from halfsplit.instruments.kind import Way
from halfsplit.instruments.link import Link
from halfsplit.units import format_quantity

__all__ = ["KIND", "Standing", "Supply", "choose_output", "set_supply", "standing", "switch"]

_SAME, _LEAST = 0.02, 0.005
"""What is read back may differ by so much of it, or so many volts or amperes: a supply rounds to
its own steps."""
_LEVEL, _LIMIT, _PLAIN = "level", "limit", "level and limit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a supply stands: set ``volts`` and ``limit`` (ampere), whether its output is ``on``, and
    what it reads at its terminals."""

    volts: float
    limit: float
    on: bool
    volts_read: float
    amps_read: float

    @property
    def words(self) -> str:
        """In one line."""
        return (
            f"set to {format_quantity(self.volts, 'V')}, limit {format_quantity(self.limit, 'A')}, "
            f"output {'on' if self.on else 'off'}; reads {format_quantity(self.volts_read, 'V')}, "
            f"{format_quantity(self.amps_read, 'A')}"
        )

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return asdict(self)


class Supply:
    """It is switched on for a board with a current limit."""

    name = "supply"
    title = "bench supply"
    help = (
        "It is set to the volts and the current limit of the power-up plan, or to what is typed, "
        "after a yes; what it took is read back before anything else is done. Its output is "
        "switched only when that is asked for by name, and after a yes."
    )
    cautions = (
        "The current limit protects the board, not people: volts stay dangerous at any limit, "
        "and what the supply's own output capacitor holds comes first, without a limit.",
        "Keep a hand at the supply's own switch: a program can hang, a cable can fall out, and the "
        "output stays as it was.",
        "A rail below ground: the supply's plus goes to ground, its minus to the rail, and nothing "
        "else may tie that minus to earth.",
    )
    ways = (
        Way(name=_PLAIN, probe="SOUR:CURR:LIM?"),
        Way(name=_LEVEL, probe="SOUR:CURR?"),
        Way(name="plain", probe="CURR?"),
    )


KIND = Supply()


def choose_output(link: Link, channel: int) -> None:
    """Talk about that output of a supply that has several. Raises what `Link` raises."""
    link.tell(f"INST:NSEL {channel}")


def standing(link: Link, way: str) -> Standing:
    """Ask all of it. Raises what `Link` raises."""
    prefix = _prefix(way)
    on = link.ask("OUTP?")
    if number(on, link.address, what="0 or 1 for OUTP?") not in (0.0, 1.0):
        raise AnswerError(
            link.address, expected="0 or 1 for OUTP?", got=shown(on), do="look at the supply"
        )
    return Standing(
        volts=_finite(link, f"{prefix}VOLT?", "volts set"),
        limit=min(_finite(link, question, "current limit") for question in _limits(way)),
        on=number(on, link.address) == 1.0,
        volts_read=_finite(link, "MEAS:VOLT?", "volts at its terminals"),
        amps_read=_finite(link, "MEAS:CURR?", "amperes that flow"),
    )


def set_supply(
    link: Link, way: str, *, volts: float | None = None, limit: float | None = None
) -> Standing:
    """Set the limit, then the volts, and read both back; whoever calls has asked the person.

    Raises :class:`ReadingError` for less than 0, :class:`AnswerError` when the supply stands
    otherwise than it was told to, and what `Link` raises.
    """
    for what, value in (("volts", volts), ("limit", limit)):
        if value is not None and not (math.isfinite(value) and value >= 0.0):
            raise ReadingError(
                f"expected {what} from 0 up, got {value:g}; a rail below ground takes a supply "
                "whose plus goes to ground"
            )
    if limit is not None:
        headers = [question.removesuffix("?") for question in _limits(way)]
        now = min(_finite(link, f"{header}?", "current limit") for header in headers)
        # The outer of the two first when going up, last when going down, so that they never clash.
        for header in headers if limit > now else reversed(headers):
            link.tell(f"{header} {limit:.4f}")
            _same(link, f"{header}?", limit, "A")
    if volts is not None:
        link.tell(f"{_prefix(way)}VOLT {volts:.4f}")
        _same(link, f"{_prefix(way)}VOLT?", volts, "V")
    return standing(link, way)


def switch(link: Link, way: str, *, on: bool) -> Standing:
    """Switch the output; whoever calls has asked the person. Raises :class:`AnswerError` when it
    stands otherwise afterwards, and what `Link` raises."""
    link.tell(f"OUTP {'ON' if on else 'OFF'}")
    now = standing(link, way)
    if now.on != on:
        raise AnswerError(
            link.address, expected=f"its output {'on' if on else 'off'}",
            got=f"one that is {'on' if now.on else 'off'}",
            do="use its own switch, and look what it shows",
        )  # fmt: skip
    return now


def _prefix(way: str) -> str:
    return "" if way == "plain" else "SOUR:"


def _limits(way: str) -> tuple[str, ...]:
    """Questions for its current limit, the outer one first."""
    return {
        _PLAIN: ("SOUR:CURR:LIM?", "SOUR:CURR?"),
        _LEVEL: ("SOUR:CURR?",),
    }.get(way, ("CURR?",))


def _finite(link: Link, question: str, what: str) -> float:
    value = link.number(question, what)
    if not math.isfinite(value):
        raise AnswerError(
            link.address, expected=f"{what} for {question}", got="no number, or one out of range",
            do="look at the supply",
        )  # fmt: skip
    return value


def _same(link: Link, question: str, wanted: float, unit: str) -> None:
    now = _finite(link, question, "what was set")
    if abs(now - wanted) > max(_SAME * wanted, _LEAST):
        raise AnswerError(
            link.address, expected=f"{wanted:g} {unit} for {question} after setting it",
            got=f"{now:g} {unit}",
            do="its range may be smaller; set it by hand, and leave the output off until it stands",
        )  # fmt: skip
