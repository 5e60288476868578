"""Hall switch: an open-collector output that a magnet pulls low."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, BaseKind, changed, connected, failing, terminal
from halfsplit.parts._dip import draws
from halfsplit.parts._families import output_element, set_to
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating, Setting
from halfsplit.solve.law import Element

__all__ = ["KIND", "HallSwitch"]

_ROW = "Microcircuit interface"
_SHEET = "datasheet typical, from memory"
_AWAY = 1.0
_SETTINGS = {"magnet": 0.0, "clear": _AWAY}
_AWAKE = 3.5


@dataclass(frozen=True, kw_only=True)
class HallSwitch(BaseKind):
    """Supply, ground, output. A state brings the magnet or takes it away; clear until then."""

    def elements(self, part: Part) -> Sequence[Element]:
        if "out" not in part.pins:
            return ()
        supply, ground = terminal(part, "vcc"), terminal(part, "gnd")
        out = output_element("out", "74", "out", supply, ground, pulls_up=False)
        params = {**out.params, "il": 2.0 * self.number(part, "amps"), "rl": 6.0, "off": 0.1,
                  "on_at": _AWAKE, "leak": 1e-8, "e0": 1.0, "a0": _AWAY}  # fmt: skip
        spread = {name: out.spread[name] for name in ("il", "rl")}
        kept = Element(name="out", law=out.law, terminals=out.terminals, params=params,
                       spread=spread)  # fmt: skip
        return (kept, *draws(supply, ground, 4e-3))

    def modes(self, part: Part) -> Sequence[Mode]:
        if "out" not in part.pins:
            return ()
        found = (
            failing("stuck low", "stuck low (sees a magnet always)", set_to("out", 0.0),
                    row=(_ROW, "output stuck low"), of=0.6, pin="out"),
            failing("blind", "blind (sees no magnet: dead, or misaligned)", set_to("out", 1.0),
                    row=(_ROW, "output stuck low"), of=0.4, pin="out", test_out=0.8),
            failing("output open", "open at its output inside",
                    changed("out", kl=0.0, leak=OPEN), row=(_ROW, "output open"), pin="out"),
            failing("leaky", "leaking at its output", changed("out", leak=1e-3),
                    row=(_ROW, "input open"), pin="out", test_out=0.8),
            failing("supply open", "open inside at its supply lead",
                    (*changed("out", on_at=99.0), *changed("own", k=0.0)),
                    row=(_ROW, "supply open")),
        )  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply", value=24.0, unit="V", source=_SHEET),
            Rating(name="output current", value=self.number(part, "amps"), unit="A",
                   source=_SHEET),
        )  # fmt: skip

    def settings(self, part: Part) -> Sequence[Setting]:
        if "out" not in part.pins:
            return ()
        return tuple(
            Setting(word=word, changes=set_to("out", level)) for word, level in _SETTINGS.items()
        )


KIND = HallSwitch(
    types=tuple(
        TypeWord(name=name, kind="hall-switch", fields={"amps": "25m"})
        for name in ("UGN3019", "UGN3020", "UGN3040", "A3144")
    ),
    word=KindWord(
        name="hall-switch", title="Hall switch, open collector",
        pins=(
            PinWord(name="vcc", role="supply", title="supply", other_names=("1", "VCC")),
            PinWord(name="gnd", role="ground", title="ground", other_names=("2", "GND")),
            PinWord(name="out", role="oc", title="output", other_names=("3", "OUT")),
        ),
        fields=(FieldWord(name="amps", unit="A", default="25m", help="rated output current"),),
        settings=tuple(_SETTINGS),
        help="Low near a magnet's pole; it needs a pull-up. A state sets it to magnet or clear.",
        example="HS1 hall-switch vcc=+5 gnd=GND out=INDEX",
    ),
)  # fmt: skip
