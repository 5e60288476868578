"""Connector: its contacts, between the board's side and the cable's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, BaseKind, changed, failing, refuse
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Setting
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["FAR", "KIND", "Connector"]

FAR = "'"
"""Ends the name of a pin's cable side: ``1'`` is the far side of pin ``1``."""

_ROW = "Connector/connection"
_MADE = 50.0
"""A good contact, S."""
_POOR = 0.01
"""A poor contact, S: 100 ohm, assumed."""
_WRONG = 0.3
"""Part of the shorts that are a connector without a key plugged in wrongly: assumed."""
_CONTACTS = 40.0
"""Contacts of the connector that the part-count rate stands for, assumed."""


@dataclass(frozen=True, kw_only=True)
class Connector(BaseKind):
    """Pin ``n`` is the board side, ``n'`` the cable side; a contact where both are there.

    One that is not keyed can be plugged in the wrong way round, or shifted by one pin.
    """

    def elements(self, part: Part) -> Sequence[Element]:
        found = [
            Element(name=f"contact {pin}", law=Conductance(), terminals=(pin, pin + FAR),
                    params={"g": _MADE})
            for pin in self.contacts(part)
        ]  # fmt: skip
        wrong = dict.fromkeys(pair for pairs in self._misplugged(part).values() for pair in pairs)
        found += [
            Element(name=_stray(pair), law=Conductance(), terminals=(pair[0], pair[1] + FAR),
                    params={"g": 0.0})
            for pair in wrong
        ]  # fmt: skip
        return (*found, *self.bridges(part))

    def modes(self, part: Part) -> Sequence[Mode]:
        pins, pairs = self.contacts(part), self.neighbours(part)
        found: list[Mode] = []
        for pin in pins:
            share, element = 1.0 / len(pins), f"contact {pin}"
            found += [
                failing(f"{pin} contact open", f"open at contact {pin}",
                        changed(element, g=OPEN), row=(_ROW, "open"), of=share, pin=pin,
                        test_out=0.6, ageing="contact"),
                failing(f"{pin} contact resistive", f"making a poor contact at {pin} (corroded)",
                        changed(element, g=_POOR), row=(_ROW, "poor contact/intermittent"),
                        of=share, pin=pin, test_out=0.4, ageing="contact"),
            ]  # fmt: skip
        misplugged = self._misplugged(part)
        left = 1.0 - (_WRONG if misplugged else 0.0)
        for first, second in pairs:
            found.append(
                failing(f"{first}-{second} bridged", f"bridged from {first} to {second}",
                        changed(f"bridge {first}-{second}", g=SHORT), row=(_ROW, "short"),
                        of=left / len(pairs), pin=first)
            )  # fmt: skip
        apart = tuple(change for pin in pins for change in changed(f"contact {pin}", g=OPEN))
        for way, wrong in misplugged.items():
            made = tuple(change for pair in wrong for change in changed(_stray(pair), g=_MADE))
            found.append(
                failing(way, f"plugged in {way}", (*apart, *made), row=(_ROW, "short"),
                        of=_WRONG / len(misplugged), test_out=1.0)
            )  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        contacts = max(1, len(self.contacts(part)))
        return part_count_rate("Connector PCB edge", max(0.1, contacts / _CONTACTS))

    def settings(self, part: Part) -> Sequence[Setting]:
        changes: list[Change] = []
        for pin in self.contacts(part):
            changes += changed(f"contact {pin}", g=OPEN)
        return (Setting(word="out", changes=tuple(changes)),)

    def bridges(self, part: Part) -> Sequence[Element]:
        """Between neighbours, open until a fault closes one."""
        return tuple(
            Element(name=f"bridge {first}-{second}", law=Conductance(), terminals=(first, second),
                    params={"g": 0.0})
            for first, second in self.neighbours(part)
        )  # fmt: skip

    def contacts(self, part: Part) -> tuple[str, ...]:
        """Pins with both sides connected."""
        return tuple(pin for pin in part.pins if pin + FAR in part.pins)

    def neighbours(self, part: Part) -> tuple[tuple[str, str], ...]:
        """Pairs of pins with numbers that follow each other, on different nets."""
        numbers = sorted(int(pin) for pin in part.pins if pin.isdecimal())
        pairs = ((str(n), str(n + 1)) for n in numbers if n + 1 in numbers)
        return tuple((a, b) for a, b in pairs if part.pins[a] != part.pins[b])

    def _misplugged(self, part: Part) -> Mapping[str, tuple[tuple[str, str], ...]]:
        """Way of plugging it in wrongly -> which board pin then meets which cable pin."""
        keyed = self.text(part, "keyed")
        if keyed not in ("yes", "no"):
            raise refuse(part, f"keyed must be yes or no, got {keyed!r}")
        numbers = sorted(int(pin) for pin in self.contacts(part) if pin.isdecimal())
        if keyed == "yes" or len(numbers) < 2:
            return {}
        ends = numbers[0] + numbers[-1]
        ways = {
            "the wrong way round": [(n, ends - n) for n in numbers],
            "one pin down": [(n, n + 1) for n in numbers],
            "one pin up": [(n, n - 1) for n in numbers],
        }
        return {
            way: tuple((str(n), str(to)) for n, to in pairs if to in numbers)
            for way, pairs in ways.items()
        }


def _stray(pair: tuple[str, str]) -> str:
    return f"stray {pair[0]}-{pair[1]}"


KIND = Connector(
    word=KindWord(
        name="connector",
        title="Connector, edge connector or header",
        free_pins=True,
        fields=(
            FieldWord(
                name="keyed",
                default="yes",
                help="yes, or no when it can be plugged in the "
                "wrong way round or shifted by one pin",
            ),
        ),
        settings=("out",),
        help="Each pin by its number: the net on the board's side. Its cable side is the net "
        "J2/n for pin n of J2, for parts that hang on the cable. A state may set it to out.",
        example="J2 connector 1=PHA 2=PHB 3=+24",
    ),
)
