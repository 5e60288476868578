"""Pins of a numbered package from one line of text, and its supply current."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.vocabulary import PinWord
from halfsplit.parts._supply import supply_elements
from halfsplit.solve.law import Element, Spread

__all__ = ["draws", "numbered"]

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
