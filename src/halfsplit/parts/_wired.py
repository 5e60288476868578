"""Chips made like those of the logic table but typed as kinds of their own: drivers, memories,
parts that a board file describes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._logic_chips import Chip, ChipOutput, ChipPin
from halfsplit.parts._logic_elements import Wiring
from halfsplit.parts._logic_families import Family
from halfsplit.parts._logic_modes import modes
from halfsplit.parts.kind import Defaults, Mode, Rate, Rating
from halfsplit.solve.law import Element

__all__ = ["FIVE_VOLTS", "WiredChip", "chip_of", "pin_words"]

FIVE_VOLTS = (4.5, 5.5)
"""Rail that implied supply pins take, V."""


@dataclass(frozen=True, kw_only=True)
class WiredChip(Defaults):
    """A chip of a family of its own. ``rate_name`` is a row of the handbook's rates."""

    word: KindWord
    chip: Chip
    family: Family
    rate_name: str
    limits: tuple[Rating, ...] = ()
    types: tuple[TypeWord, ...] = ()

    @property
    def name(self) -> str:
        return self.word.name

    def elements(self, part: Part) -> Sequence[Element]:
        return self.wiring(part).elements()

    def modes(self, part: Part) -> Sequence[Mode]:
        return modes(self.wiring(part))

    def rate(self, part: Part) -> Rate:
        return part_count_rate(self.rate_name)

    def ratings(self, part: Part) -> Sequence[Rating]:
        return self.limits

    def wiring(self, part: Part) -> Wiring:
        """The chip as this part is wired."""
        return Wiring(chip=self.chip, family=self.family, part=part)


def chip_of(
    number: str,
    title: str,
    pins: str,
    outputs: Sequence[ChipOutput],
    *,
    output: str = "totem",
    units: Mapping[str, str] | None = None,
) -> Chip:
    """A chip from its pins' names in order (``VCC``, ``GND`` and ``NC`` as such).

    ``units`` maps a pin's name to the letter of its unit.
    """
    driven = {each.name for each in outputs}
    looked_at = {name for each in outputs for name in each.inputs()}
    roles = {"VCC": "supply", "GND": "ground", "NC": "nc"}
    found = []
    for place, name in enumerate(pins.split(), start=1):
        if name in driven:
            role = "io" if name in looked_at else {"totem": "out"}.get(output, output)
        else:
            role = roles.get(name, "in")
        unit = (units or {}).get(name, "")
        found.append(ChipPin(number=str(place), name=name, role=role, unit=unit))
    return Chip(number=number, title=title, families=(), pins=tuple(found),
                outputs=tuple(outputs), output=output)  # fmt: skip


def pin_words(chip: Chip) -> tuple[PinWord, ...]:
    """The pins as the board file may name them: by number or by function."""
    return tuple(
        PinWord(name=pin.number, role="nc", title="not connected")
        if pin.role == "nc"
        else PinWord(name=pin.number, role=pin.role, title=pin.name, unit=pin.unit,
                     other_names=(pin.name,))
        for pin in chip.pins
    )  # fmt: skip
