"""What a kind of instrument tells about itself, and how one that is new is got to know."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from halfsplit.errors import AnswerError
from halfsplit.frozen import dataclass
from halfsplit.instruments.answers import error_entry
from halfsplit.instruments.link import ERROR_WAYS, Link
from halfsplit.registry import Registry

__all__ = ["ERRORS", "INSTRUMENTS", "IN_VAIN", "TALK", "InstrumentKind", "Way", "introduce"]

ERRORS, TALK, IN_VAIN = "errors", "talk", "in vain"
"""What is remembered of how an instrument is talked to: where it tells of errors, which way of
its kind it knows, and the questions that it did not answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One dialect of a kind: ``probe`` is a harmless question that only it answers.

    ``blind`` says that it may be used where an instrument tells of no errors.
    """

    name: str
    probe: str
    blind: bool = True


class InstrumentKind(Protocol):
    """One kind of instrument. Implementations are stateless."""

    @property
    def name(self) -> str: ...

    @property
    def title(self) -> str: ...

    @property
    def help(self) -> str:
        """What it does for a case, two or three sentences."""
        ...

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt board or person."""
        ...

    @property
    def ways(self) -> tuple[Way, ...]:
        """Dialects, tried in this order by their questions."""
        ...


INSTRUMENTS: Registry[InstrumentKind] = Registry(
    "halfsplit.instruments.kinds", what="kind of instrument"
)


def introduce(link: Link, kind: InstrumentKind) -> Mapping[str, str]:
    """Find out by asking how this instrument tells of errors and which way of its kind it knows.

    Raises :class:`AnswerError` when it knows none of them, and what `Link` raises.
    """
    link.errors_by = next((way for way in ERROR_WAYS if _tells(link, way)), "")
    in_vain: list[str] = []
    for way in kind.ways:
        if not way.blind and not link.errors_by:
            continue
        if link.knows(way.probe) is not None:
            return {ERRORS: link.errors_by, TALK: way.name, IN_VAIN: ", ".join(in_vain)}
        in_vain.append(way.probe)
    raise AnswerError(
        link.address,
        expected=f"a {kind.name}, which answers {' or '.join(in_vain)}",
        got=f"no answer to any of them from {link.name!r}",
        do="say which --kind it is, or type what it shows",
    )


def _tells(link: Link, way: str) -> bool:
    answer = link.knows(way)
    if answer is None:
        return False
    return answer.isdecimal() if way == "*ESR?" else error_entry(answer) is not None
