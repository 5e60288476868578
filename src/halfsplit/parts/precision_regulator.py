"""The 723: reference, error amplifier, pass transistor and current limit in one package."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, OPEN, BaseKind, changed, failing, scaled, terminal
from halfsplit.parts._bipolar import collector_open
from halfsplit.parts._dip import numbered
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.analog import Regulator
from halfsplit.solve.laws.junction import Bipolar, Diode

__all__ = ["KIND", "PrecisionRegulator"]

_ROW = "Microcircuit linear"
_SHEET = "datasheet of the 723, from memory"
_PASS = {"is_": 1e-9, "bf": 2000.0, "br": 1.0, "n": 2.0, "bvce": 60.0, "gbe": OPEN, "gbc": OPEN,
         "gce": 1e-9}  # fmt: skip
"""Two transistors one behind the other: 1.1 V from base to emitter."""
_LIMITER = {**_PASS, "bf": 100.0, "n": 1.0}


@dataclass(frozen=True, kw_only=True)
class PrecisionRegulator(BaseKind):
    """Pins by number; each function left out floats. ``tied`` are functions that lead to no pin of
    that title: (function, pin or inner node). ``limiter`` is the saturation current of the
    transistor that limits, ``high`` what the drive keeps from the supply, V."""

    reference: float = 7.15
    tied: tuple[tuple[str, str], ...] = ()
    limiter: float = 1e-14
    high: float = 1.5
    volts: float = 40.0
    amps: float = 0.15
    sheet: str = _SHEET

    def elements(self, part: Part) -> Sequence[Element]:
        at = {pin.title: terminal(part, pin.name) for pin in self.word.pins if pin.role != "nc"}
        at |= {what: pin if pin[0] == "~" else terminal(part, pin) for what, pin in self.tied}
        if not part.pins:
            return ()
        drive = {
            "vos": 0.0, "steep": 3000.0, "high": self.high, "low": 0.2, "ro": 500.0, "ilim": 2e-3,
            "k": 1.0, "on_at": 4.0, "ib": -1e-6, "gp": 1e-12, "gm": 1e-12, "leak": 1e-9,
        }  # fmt: skip
        found = [
            Element(
                name="reference", law=Regulator(), terminals=(at["V+"], at["VREF"], at["V-"]),
                params={"vset": self.reference, "drop": 2.0, "r": 5.0, "ilim": 15e-3, "iq": 1.6e-3,
                        "k": 1.0, "gio": 0.0, "gog": 1e-4},
                spread={"vset": Spread(relative=0.04)},
            ),
            Element(name="error", law=Amplifier(),
                    terminals=(at["COMP"], at["V+"], at["V-"], at["IN+"], at["IN-"]),
                    params=drive, spread={"vos": Spread(absolute=2e-3)}),
            Element(name="pass", law=Bipolar(), terminals=(at["VC"], at["COMP"], at["VOUT"]),
                    params=_PASS, spread={"bf": Spread(relative=0.4, shape="log")}),
            Element(name="limit", law=Bipolar(), terminals=(at["COMP"], at["CL"], at["CS"]),
                    params={**_LIMITER, "is_": self.limiter},
                    spread={"is_": Spread(relative=0.3, shape="log")}),
        ]  # fmt: skip
        if "VZ" in at:
            found.append(
                Element(name="zener", law=Diode(), terminals=(at["VZ"], at["VOUT"]),
                        params={"is_": 1e-14, "n": 1.0, "bv": 6.2, "nbv": 1.0, "gp": OPEN})
            )  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        if not part.pins:
            return ()
        wrong = (_ROW, "improper output")
        return (
            failing("dead", "dead (no output)",
                    (*changed("error", k=0.0), *changed("reference", k=0.0, iq=1e-6)),
                    row=(_ROW, "no output"), of=0.6, test_out=1.0),
            failing("pass open", "open in its pass transistor",
                    changed("pass", **collector_open(_PASS["is_"], _PASS["bf"], _PASS["br"])),
                    row=(_ROW, "no output"), of=0.4, test_out=1.0),
            failing("pass short", "shorted in its pass transistor",
                    changed("pass", gce=JUNCTION_SHORT), row=wrong, of=0.35, test_out=1.0),
            failing("reference low", "a quarter low in its reference",
                    scaled("reference", vset=0.75),
                    row=wrong, of=0.15),
            failing("reference high", "a quarter high in its reference",
                    scaled("reference", vset=1.25),
                    row=wrong, of=0.1),
            failing("offset up", "off by 0.1 V at its inputs, output high",
                    changed("error", vos=0.1), row=wrong, of=0.1, test_out=0.8),
            failing("offset down", "off by 0.1 V at its inputs, output low",
                    changed("error", vos=-0.1), row=wrong, of=0.1, test_out=0.8),
            failing("limiter short", "always limiting (limit transistor shorted)",
                    changed("limit", gce=JUNCTION_SHORT), row=wrong, of=0.1),
            failing("weak", "weak in its pass transistor",
                    scaled("pass", bf=0.05), row=wrong,
                    of=0.1, test_out=0.5),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="input voltage", value=self.volts, unit="V", source=self.sheet),
            Rating(name="output current", value=self.amps, unit="A", source=self.sheet),
        )


KIND = PrecisionRegulator(
    types=tuple(TypeWord(name=name, kind="723") for name in ("LM723", "uA723", "MC1723")),
    word=KindWord(
        name="723", title="Regulator, adjustable, 14 pins",
        pins=numbered(
            "nc/NC1 in/CL passive/CS in/IN- in/IN+ passive/VREF supply/V- nc/NC2 passive/VZ "
            "passive/VOUT passive/VC supply/V+ passive/COMP nc/NC3"
        ),
        help="A 7.15 V reference, an amplifier and a pass transistor for 150 mA, mostly with a "
        "larger one outside. Output = reference x (1 + upper / lower divider resistor).",
        example="U1 723 5=VREF 6=VREF 4=FB 10=OUT 2=OUT 3=OUT 11=RAW 12=RAW 7=GND 13=CMP 9=-",
    ),
)  # fmt: skip
"""Pins of the dual in-line package by the datasheet, from memory."""
