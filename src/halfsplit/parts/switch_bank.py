"""Several contacts in one case: DIP switches and key matrices."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, BaseKind, changed, failing, refuse
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Setting
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "DipSwitch", "Keypad"]

_ROW = "Switch toggle"


def _contacts(pairs: Sequence[tuple[str, str, str]], closed: frozenset[str]) -> Iterator[Element]:
    """``pairs``: (name, one pin, other pin); ``closed`` holds names."""
    for name, one, other in pairs:
        yield Element(name=name, law=Conductance(), terminals=(one, other),
                      params={"g": SHORT if name in closed else OPEN})  # fmt: skip


def _worn(pairs: Sequence[tuple[str, str, str]]) -> Iterator[Mode]:
    """Ways of failing of each contact."""
    of = 1.0 / max(len(pairs), 1)
    for name, one, other in pairs:
        where = f"between {one} and {other}"
        yield failing(f"{name} open", f"never making contact {where}", changed(name, g=OPEN),
                      row=(_ROW, "open"), of=0.6 * of, ageing="contact")  # fmt: skip
        yield failing(f"{name} resistive", f"making a poor contact {where}",
                      changed(name, g=0.01), row=(_ROW, "open"), of=0.4 * of, test_out=0.8,
                      ageing="contact")  # fmt: skip
        yield failing(f"{name} closed", f"stuck closed {where}", changed(name, g=SHORT),
                      row=(_ROW, "short"), of=of)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class DipSwitch(BaseKind):
    """Pole n lies between pins n and 2 * poles + 1 - n."""

    poles: int

    def elements(self, part: Part) -> Sequence[Element]:
        closed = self.text(part, "on")
        wrong = [each for each in closed if each not in "123456789"[: self.poles]]
        if wrong:
            raise refuse(part, f"on must be digits from 1 to {self.poles}, got {closed!r}")
        return tuple(_contacts(self._pairs(part), frozenset(f"pole {each}" for each in closed)))

    def modes(self, part: Part) -> Sequence[Mode]:
        return tuple(_worn(self._pairs(part)))

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Switch toggle or pushbutton", self.poles)

    def _pairs(self, part: Part) -> tuple[tuple[str, str, str], ...]:
        every = ((f"pole {n}", str(n), str(2 * self.poles + 1 - n))
                 for n in range(1, self.poles + 1))  # fmt: skip
        return tuple(each for each in every if each[1] in part.pins and each[2] in part.pins)


@dataclass(frozen=True, kw_only=True)
class Keypad(BaseKind):
    """A contact where a row crosses a column; a state presses one."""

    rows: int
    columns: int

    def elements(self, part: Part) -> Sequence[Element]:
        return tuple(_contacts(self._pairs(part), frozenset()))

    def modes(self, part: Part) -> Sequence[Mode]:
        return tuple(_worn(self._pairs(part)))

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Switch toggle or pushbutton", self.rows * self.columns)

    def settings(self, part: Part) -> Sequence[Setting]:
        return tuple(Setting(word=name, changes=changed(name, g=SHORT))
                     for name, *_ in self._pairs(part))  # fmt: skip

    def _pairs(self, part: Part) -> tuple[tuple[str, str, str], ...]:
        return tuple(
            (f"{row}{column}", row, column)
            for row in _names("r", self.rows)
            for column in _names("c", self.columns)
            if row in part.pins and column in part.pins
        )


def _names(letter: str, count: int) -> list[str]:
    return [f"{letter}{n}" for n in range(1, count + 1)]


def _dip(poles: int) -> DipSwitch:
    return DipSwitch(
        poles=poles,
        word=KindWord(
            name=f"dip-switch-{poles}", title=f"DIP switch, {poles} poles",
            pins=tuple(PinWord(name=str(n)) for n in range(1, 2 * poles + 1)),
            fields=(FieldWord(name="on", default="", help="the poles that are closed, as digits: "
                              "13 for 1 and 3"),),
            help="Pole 1 lies between the first and the last pin, and so on.",
            example=f"SW2 dip-switch-{poles} on=1 1=A0 {2 * poles}=GND",
        ),
    )  # fmt: skip


def _pad(rows: int, columns: int) -> Keypad:
    words = tuple(f"{row}{column}" for row in _names("r", rows) for column in _names("c", columns))
    return Keypad(
        rows=rows, columns=columns,
        word=KindWord(
            name=f"keypad-{rows}x{columns}", title=f"Key matrix, {rows} rows of {columns}",
            pins=(
                *(PinWord(name=each, title=f"row {each[1:]}") for each in _names("r", rows)),
                *(PinWord(name=each, title=f"column {each[1:]}") for each in
                  _names("c", columns)),
            ),
            settings=words,
            help="A state presses one key: its row and column, as r1c2.",
            example=f"SW3 keypad-{rows}x{columns} r1=ROW1 r2=ROW2 c1=COL1 c2=COL2",
        ),
    )  # fmt: skip


KINDS = (_dip(4), _dip(8), _pad(4, 3), _pad(4, 4))
