"""Logic chips of the 74 and 4000 families: every row of the table in every family that made it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._logic_chips import Chip, ChipPin, chip, listed
from halfsplit.parts._logic_elements import Wiring
from halfsplit.parts._logic_families import FAMILIES, Family
from halfsplit.parts._logic_modes import modes
from halfsplit.parts.kind import Defaults, Mode, Rate, Rating
from halfsplit.solve.law import Element

__all__ = ["KINDS", "LogicChip"]

_SWAPPED = re.compile(r"(n?[A-Z]+)(\d)")
_LIMITS = "family data sheets, from memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogicChip(Defaults):
    """One chip number of one family, e.g. ``74LS38``. Pins are named by their number."""

    name: str
    key: str
    family: Family

    @property
    def chip(self) -> Chip:
        """Its row of the table."""
        return chip(self.key)

    @property
    def word(self) -> KindWord:
        return _word(self)

    def _describe(self) -> KindWord:
        chip = self.chip
        hints = ["Pins by number or by function (3 or Y1); an n in front means active low."]
        if chip.output == "oc":
            hints.append("The outputs only pull low: they need a pull-up.")
        if chip.schmitt:
            up, down = (self.family.threshold(share) for share in self.family.schmitt)
            hints.append(
                f"Its inputs have two thresholds, {up:.2g} V on the way up and {down:.2g} V on the "
                "way down at 5 V; between them it keeps what it was."
            )
        if chip.note:
            hints.append(chip.note)
        connected = [pin for pin in chip.pins if pin.role not in ("nc", "supply", "ground")]
        example = " ".join(f"{pin.number}={pin.name}" for pin in connected[:3])
        return KindWord(
            name=self.name,
            title=f"{chip.title[0].upper()}{chip.title[1:]}, {self.family.title}",
            pins=tuple(_pin_word(pin) for pin in chip.pins),
            family=self.family.name,
            supply_volts=self.family.rail,
            help=" ".join(hints),
            example=f"U1 {self.name} {example}",
        )

    def elements(self, part: Part) -> Sequence[Element]:
        return self._wiring(part).elements()

    def modes(self, part: Part) -> Sequence[Mode]:
        return modes(self._wiring(part))

    def rate(self, part: Part) -> Rate:
        return part_count_rate(
            "IC digital MOS 1-100 gates" if self.family.mos else "IC digital bipolar 1-100 gates"
        )

    def ratings(self, part: Part) -> Sequence[Rating]:
        drive = self._wiring(part).drive()
        low, high = self.family.supply
        found = [
            ("supply voltage, least", low, "V"),
            ("supply voltage, most", high, "V"),
            ("low output current", drive.iol, "A"),
        ]
        if self.chip.output == "oc":
            found.append(("output voltage when off", drive.volts_off, "V"))
        else:
            found.append(("high output current", drive.ioh, "A"))
        return tuple(
            Rating(name=name, value=value, unit=unit, source=_LIMITS) for name, value, unit in found
        )

    def _wiring(self, part: Part) -> Wiring:
        return Wiring(chip=self.chip, family=self.family, part=part)


@cache
def _word(kind: LogicChip) -> KindWord:
    return kind._describe()


def _pin_word(pin: ChipPin) -> PinWord:
    if pin.role == "nc":
        return PinWord(name=pin.number, role="nc", title="not connected")
    others = [pin.name]
    swapped = _SWAPPED.fullmatch(pin.name)
    if pin.unit and swapped:
        others.append(f"{swapped[2]}{swapped[1]}")
    return PinWord(
        name=pin.number, role=pin.role, title=pin.name, unit=pin.unit, other_names=tuple(others)
    )


KINDS: tuple[LogicChip, ...] = tuple(
    LogicChip(
        name=FAMILIES[family].prefix + key.rstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"),
        key=key,
        family=FAMILIES[family],
    )
    for key, families in listed().items()
    for family in families
)
