"""Comparators with open-collector outputs."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, BaseKind, changed, connected, failing, terminal
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._supply import supply_elements
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.analog import Comparator
from halfsplit.solve.laws.junction import Diode

__all__ = ["KINDS", "ComparatorChip"]

_ROW = "Microcircuit linear"
_SHEET = "datasheet, from memory"
_FAR_OFF = 0.1
"""Offset of a failed input stage, volt: assumed."""
_TAKEN_SPREAD = Spread(relative=0.3, shape="log")
_LEAKY = 1e-5
"""A leaky input, S: what a few hundred kilohm before it feel."""


@dataclass(frozen=True, kw_only=True)
class ComparatorChip(BaseKind):
    """``units``: (letter, output, plus, minus) pins of each comparator."""

    units: tuple[tuple[str, str, str, str], ...]
    supply: str
    ground: str
    sink: float
    """Most current the output sinks, A (typical)."""
    ohms: float
    bias: float
    """Input bias, A out of each input."""
    offset: float
    """Largest offset, V."""
    taken: float
    """Supply current of the whole case at 5 V, A (typical)."""
    negative: str
    """The pin by which that leaves."""

    def elements(self, part: Part) -> Sequence[Element]:
        """The inputs of those with one ground pin, the substrate, have a junction from it as the
        outputs have (LM339 data sheet: an input driven below it is clamped by the collector-base
        junction of its PNP)."""
        substrate = tuple(
            Element(
                name=f"substrate {pin}",
                law=Diode(),
                terminals=(terminal(part, self.ground), terminal(part, pin)),
                params={"is_": 1e-12, "n": 1.0, "bv": 60.0, "nbv": 1.0, "gp": 0.0},
                spread={"is_": Spread(relative=0.7, shape="log", together="die")},
            )
            for _, *pins in self._used(part)
            for pin in (pins if self.ground == self.negative else pins[:1])
            if pin in part.pins
        )
        plus, minus = (terminal(part, pin) for pin in (self.supply, self.negative))
        own = supply_elements("icc", plus, minus, self.taken, _TAKEN_SPREAD) if substrate else ()
        comparators = (
            Element(
                name=f"u{letter}",
                law=Comparator(),
                terminals=tuple(
                    terminal(part, pin) for pin in (out, self.supply, self.ground, plus, minus)
                ),
                params={
                    "vos": 0.0, "steep": 500.0, "a0": 0.0, "a1": 1.0, "k": 1.0,
                    "il": self.sink, "rl": self.ohms, "on_at": 1.6, "ib": self.bias,
                    "gp": 1e-10, "gm": 1e-10, "leak": 1e-10,
                },
                spread={
                    "vos": Spread(absolute=self.offset),
                    "il": Spread(relative=0.4, shape="log", together="die"),
                    "rl": Spread(relative=0.3, shape="log", together="die"),
                    "ib": Spread(relative=0.8, shape="log", together="die"),
                },
            )
            for letter, out, plus, minus in self._used(part)
        )  # fmt: skip
        return (*substrate, *own, *comparators)

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found: list[Mode] = []
        for letter, out, plus, minus in used:
            element, of = f"u{letter}", 1.0 / len(used)
            wrong = (_ROW, "improper output")
            found += [
                failing(f"{out} stuck low", f"stuck low at {out}",
                        changed(element, a0=0.0, a1=0.0), row=wrong, of=0.4 * of, pin=out),
                failing(f"{out} output open", f"open at output {out} inside",
                        changed(element, k=0.0, leak=OPEN), row=(_ROW, "no output"), of=of,
                        pin=out),
                failing(f"{out} offset up", f"switching {_FAR_OFF:g} V low ({plus} against "
                        f"{minus})", changed(element, vos=_FAR_OFF), row=wrong, of=0.15 * of,
                        pin=out, test_out=0.7),
                failing(f"{out} offset down", f"switching {_FAR_OFF:g} V high ({plus} against "
                        f"{minus})", changed(element, vos=-_FAR_OFF), row=wrong, of=0.15 * of,
                        pin=out, test_out=0.7),
                failing(f"{out} leaky", f"leaking at output {out}", changed(element, leak=1e-3),
                        row=wrong, of=0.1 * of, pin=out, test_out=0.8),
                failing(f"{plus} input short", f"shorted to ground at input {plus}",
                        changed(element, gp=0.2), row=wrong, of=0.05 * of, pin=plus),
                failing(f"{minus} input short", f"shorted to ground at input {minus}",
                        changed(element, gm=0.2), row=wrong, of=0.05 * of, pin=minus),
                failing(f"{plus} input leaky", f"leaking at input {plus}",
                        changed(element, gp=_LEAKY), row=wrong, of=0.05 * of, pin=plus),
                failing(f"{minus} input leaky", f"leaking at input {minus}",
                        changed(element, gm=_LEAKY), row=wrong, of=0.05 * of, pin=minus),
            ]  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply", value=36.0, unit="V", source=_SHEET),
            Rating(name="output current", value=self.sink, unit="A", source=_SHEET),
        )

    def _used(self, part: Part) -> tuple[tuple[str, str, str, str], ...]:
        return tuple(unit for unit in self.units if any(pin in part.pins for pin in unit[1:]))


def _pin_words(
    count: int, units: tuple[tuple[str, str, str, str], ...], supply: str, ground: str,
    volts_minus: str = "",
) -> tuple[PinWord, ...]:  # fmt: skip
    known = {
        supply: PinWord(name=supply, role="supply", title="supply", other_names=("VCC", "V+")),
        ground: PinWord(name=ground, role="ground", title="ground", other_names=("GND",)),
    }
    if volts_minus:
        known[volts_minus] = PinWord(name=volts_minus, title="negative supply", other_names=("V-",))
    for letter, out, plus, minus in units:
        known[out] = PinWord(name=out, role="oc", title=f"output {letter}", unit=letter)
        known[plus] = PinWord(name=plus, role="in", title=f"input {letter}+", unit=letter)
        known[minus] = PinWord(name=minus, role="in", title=f"input {letter}-", unit=letter)
    numbers = (str(n) for n in range(1, count + 1))
    return tuple(known.get(n, PinWord(name=n, role="nc", title="balance")) for n in numbers)


_QUAD = (
    ("a", "2", "5", "4"), ("b", "1", "7", "6"), ("c", "14", "9", "8"), ("d", "13", "11", "10"),
)  # fmt: skip
_DUAL = (("a", "1", "3", "2"), ("b", "7", "5", "6"))
_SINGLE = (("a", "7", "2", "3"),)
"""Pins by the makers' datasheets, from memory."""


def _several(
    name: str, title: str, pins: int, units: tuple[tuple[str, str, str, str], ...], supply: str,
    ground: str,
) -> ComparatorChip:  # fmt: skip
    _, out, plus, minus = units[0]
    return ComparatorChip(
        units=units, supply=supply, ground=ground, sink=16e-3, ohms=32.0, bias=25e-9, offset=5e-3,
        taken=0.2e-3 * len(units), negative=ground,
        word=KindWord(
            name=name, title=f"Comparator, {title}, open collector",
            pins=_pin_words(pins, units, supply, ground), supply_volts=(2.0, 36.0),
            help="The output sinks when minus is above plus; it needs a pull-up.",
            example=f"U4 {name} {out}=OUT {minus}=REF {plus}=SIG {supply}=+5 {ground}=GND",
        ),
    )  # fmt: skip


def _single(name: str) -> ComparatorChip:
    return ComparatorChip(
        units=_SINGLE, supply="8", ground="1", sink=100e-3, ohms=13.0, bias=100e-9, offset=7.5e-3,
        taken=5.1e-3, negative="4",
        word=KindWord(
            name=name, title="Comparator, single",
            pins=_pin_words(8, _SINGLE, "8", "1", "4"), supply_volts=(5.0, 36.0),
            help="Pin 1 is the emitter of the output, usually grounded; 4 the negative supply.",
            example=f"U4 {name} 7=OUT 2=SIG 3=REF 8=+5 1=GND 4=GND",
        ),
    )  # fmt: skip


KINDS = (
    *(
        _several(name, "quad", 14, _QUAD, "3", "12")
        for name in ("LM339", "LM239", "LM2901", "LM3302", "MC3302")
    ),
    *(_several(name, "dual", 8, _DUAL, "8", "4") for name in ("LM393", "LM293", "LM2903")),
    *(_single(name) for name in ("LM111", "LM211", "LM311")),
)  # fmt: skip
