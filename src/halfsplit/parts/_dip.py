"""Pins of a numbered package from one line of text, its supply current, and ways of failing that
such chips share."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.vocabulary import PinWord
from halfsplit.parts._base import changed, failing
from halfsplit.parts._supply import supply_elements
from halfsplit.parts.kind import Change, Mode
from halfsplit.solve.law import Element, Spread

__all__ = ["draws", "numbered", "stuck", "supply_open"]

_DRAW = Spread(relative=0.4, shape="log", together="die")


def numbered(text: str) -> tuple[PinWord, ...]:
    """Pins 1, 2, 3 ... as words ``role/title`` or ``role/title/unit``, a blank between."""
    found = []
    for number, word in enumerate(text.split(), start=1):
        role, title, *unit = word.split("/")
        found.append(
            PinWord(
                name=str(number),
                role=role,
                title=title,
                unit=unit[0] if unit else "",
                other_names=(title,) if role != "nc" else (),
            )
        )
    return tuple(found)


def draws(supply: str, ground: str, amps: float) -> Sequence[Element]:
    """What the chip itself takes: ``amps`` at 5 V, nothing below two junctions. Elements ``own``
    and ``vcc``."""
    return supply_elements("own", supply, ground, amps, _DRAW)


def supply_open(
    row: str, asleep: Sequence[Change], lead: str = "its supply lead", *,
    entry: str = "supply open", of: float = 1.0,
) -> Mode:  # fmt: skip
    """A chip of :func:`draws` without supply; ``asleep`` is what its outputs then do. ``of`` is
    the share of the ``entry`` in the handbook's row."""
    return failing("supply open", f"open inside at {lead}", (*changed("own", k=0.0), *asleep),
                   row=(row, entry), of=of)  # fmt: skip


def stuck(row: str, out: str, element: str, of: float, low: float) -> tuple[Mode, Mode]:
    """Stuck at either level. The handbook's row has stuck low only; ``low`` is the share of that
    level in it."""
    both = (row, "output stuck low")
    return (
        failing(f"{out} stuck low", f"stuck low at {out}", changed(element, a0=0.0, a1=0.0),
                row=both, of=low * of, pin=out),
        failing(f"{out} stuck high", f"stuck high at {out}", changed(element, a0=1.0, a1=0.0),
                row=both, of=(1.0 - low) * of, pin=out),
    )  # fmt: skip
