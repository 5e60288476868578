"""Switch: closed or open, as a state says."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, BaseKind, changed, failing, refuse
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Reading, Setting
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KIND", "Switch"]

_ROW = "Switch toggle"
_SETTINGS = {"closed": SHORT, "open": OPEN}


@dataclass(frozen=True, kw_only=True)
class Switch(BaseKind):
    """One contact. A fault's value is set after the state's, so a stuck switch stays stuck."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        rest = self.text(part, "rest")
        if rest not in _SETTINGS:
            raise refuse(part, f"rest must be open or closed, got {rest!r}")
        return (
            Element(name="contact", law=Conductance(), terminals=("1", "2"),
                    params={"g": _SETTINGS[rest]}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        return (
            failing("open", "never making contact", changed("contact", g=OPEN),
                    row=(_ROW, "open"), of=0.6, ageing="contact"),
            failing("resistive", "making a poor contact", changed("contact", g=0.01),
                    row=(_ROW, "open"), of=0.4, test_out=0.8, ageing="contact"),
            failing("sticking", "stuck closed", changed("contact", g=SHORT),
                    row=(_ROW, "sticking")),
            failing("short", "shorted", changed("contact", g=SHORT), row=(_ROW, "short")),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Switch toggle or pushbutton")

    def settings(self, part: Part) -> Sequence[Setting]:
        if len(part.pins) < 2:
            return ()
        return tuple(
            Setting(word=word, changes=changed("contact", g=g)) for word, g in _SETTINGS.items()
        )

    def current(self, part: Part) -> Reading | None:
        return Reading(element="contact") if len(part.pins) == 2 else None


KIND = Switch(
    word=KindWord(
        name="switch",
        title="Switch or push button",
        pins=(PinWord(name="1", title="one side"), PinWord(name="2", title="other side")),
        fields=(
            FieldWord(name="rest", default="open", help="open or closed when no state sets it"),
        ),
        settings=tuple(_SETTINGS),
        help="One contact; a state sets it to closed or open.",
        example="S1 switch rest=closed TRACK0 GND",
    ),
)
