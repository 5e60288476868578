"""Quad amplifiers of the 3900 class, which compare the currents of their inputs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    JUNCTION_SHORT,
    OPEN,
    BaseKind,
    changed,
    connected,
    failing,
    scaled,
    terminal,
)
from halfsplit.parts._bipolar import collector_open
from halfsplit.parts._dip import draws, numbered, supply_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Source

__all__ = ["KIND", "NortonAmplifier"]

_ROW = "Microcircuit linear"
_SHEET = "LM2900, LM3900 (TI SLOS059; National, 1995): absolute maximum ratings"
_PLUS, _GROUND = "14", "7"
_UNITS = (("a", "5", "1", "6"), ("b", "4", "2", "3"), ("c", "9", "13", "8"),
          ("d", "10", "12", "11"))  # fmt: skip
"""Letter, output, plus, minus."""
_MIRROR = {"is_": 2e-15, "bf": 100.0, "br": 1.0, "n": 1.0, "bvce": 40.0, "gbe": OPEN,
           "gbc": OPEN, "gce": OPEN}  # fmt: skip
_BALANCE = 0.577
"""Volts at the minus input when its amplifier is at rest: those of the mirror at 10 uA."""
_BIAS = 6e-18
"""Saturation current of the minus input's junction: 30 nA at that voltage."""
_FOLLOWER = {**_MIRROR, "is_": 1e-14, "bf": 40.0}
_SINK = 1.3e-3
"""What an output takes; its law lets 1 mS more through beyond it, as overdriving does."""
_BASE = 0.5e-3
"""Most current into the base of the output's follower: 20 mA out of it."""
_STAGE = {"vos": 0.0, "steep": 300.0, "high": 0.7, "low": 0.1, "ro": 300.0, "ilim": _SINK,
          "k": 1.0, "on_at": 3.0, "ib": 0.0, "gp": 1e-12, "gm": 1e-12,
          "leak": 1e-9}  # fmt: skip
"""A tenth of its gain of 70 dB: at most 20 mV off at the minus input, and five times as quick."""
_END = 99.0


@dataclass(frozen=True, kw_only=True)
class NortonAmplifier(BaseKind):
    """Each unit: two mirror transistors ``m``, the minus input's junction ``j``, the stage ``u``
    that gives and takes 1.3 mA, and ``b`` with the follower ``q`` that gives more."""

    def elements(self, part: Part) -> Sequence[Element]:
        used = _used(part)
        if not used:
            return ()
        plus, ground = terminal(part, _PLUS), terminal(part, _GROUND)
        rest = Element(name="rest", law=Source(), terminals=("~rest", ground),
                       params={"g": 1e-3, "volts": _BALANCE})  # fmt: skip
        units = (element for unit in used for element in _unit(part, unit, plus, ground))
        return (rest, *units, *draws(plus, ground, 6.2e-3))

    def modes(self, part: Part) -> Sequence[Mode]:
        used = _used(part)
        found = [mode for unit in used for mode in _of_unit(unit, 1.0 / len(used))]
        if used:
            asleep = [one for letter, *_ in used for one in _both(letter, k=0.0)]
            found.append(supply_open(_ROW, asleep, "a supply lead", entry="no output", of=0.3))
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply voltage", value=32.0, unit="V", source=_SHEET),
            Rating(name="input current", value=20e-3, unit="A", source=_SHEET),
        )


def _used(part: Part) -> tuple[tuple[str, str, str, str], ...]:
    return tuple(unit for unit in _UNITS if any(pin in part.pins for pin in unit[1:]))


def _unit(part: Part, unit: tuple[str, str, str, str], plus: str, ground: str) -> Iterator[Element]:
    letter = unit[0]
    out, into, minus = (terminal(part, pin) for pin in unit[1:])
    alike = {"is_": Spread(relative=0.05)}
    base = f"~b{letter}"
    yield Element(name=f"m1{letter}", law=Bipolar(), terminals=(into, into, ground),
                  params=_MIRROR, spread=alike)  # fmt: skip
    yield Element(name=f"m2{letter}", law=Bipolar(), terminals=(minus, into, ground),
                  params=_MIRROR, spread=alike)  # fmt: skip
    yield Element(name=f"j{letter}", law=Diode(), terminals=(minus, ground),
                  params={"is_": _BIAS, "n": 1.0, "bv": 7.0, "nbv": 1.0, "gp": OPEN},
                  spread={"is_": Spread(relative=0.7, shape="log", together="die")})  # fmt: skip
    for pin in (into, minus):
        yield Element(name=f"clamp {letter} {'plus' if pin == into else 'minus'}", law=Diode(),
                      terminals=(ground, pin),
                      params={"is_": 1e-9, "n": 1.0, "bv": 60.0, "nbv": 1.0,
                              "gp": OPEN})  # fmt: skip
    yield Element(name=f"u{letter}", law=Amplifier(),
                  terminals=(out, plus, ground, "~rest", minus), params=_STAGE,
                  spread={"vos": Spread(absolute=5e-3),
                          "ilim": Spread(relative=0.25, shape="log", together="die")})  # fmt: skip
    yield Element(name=f"b{letter}", law=Amplifier(),
                  terminals=(base, plus, ground, "~rest", minus),
                  params={**_STAGE, "high": 0.1, "ilim": _BASE})  # fmt: skip
    yield Element(name=f"q{letter}", law=Bipolar(), terminals=(plus, base, out),
                  params=_FOLLOWER)  # fmt: skip


def _both(letter: str, **to: float) -> tuple[Change, ...]:
    return (*changed(f"u{letter}", **to), *changed(f"b{letter}", **to))


def _of_unit(unit: tuple[str, str, str, str], of: float) -> Iterator[Mode]:
    letter, out, plus, minus = unit
    wrong, none = (_ROW, "improper output"), (_ROW, "no output")

    yield failing(f"{out} stuck high", f"stuck at its highest at {out}",
                  _both(letter, vos=_END), row=wrong, of=0.25 * of, pin=out)  # fmt: skip
    yield failing(f"{out} stuck low", f"stuck at its lowest at {out}",
                  _both(letter, vos=-_END), row=wrong, of=0.3 * of, pin=out)  # fmt: skip
    yield failing(f"{out} short to ground", f"shorted at {out} to ground",
                  changed(f"u{letter}", leak=0.2), row=wrong, of=0.1 * of, pin=out)  # fmt: skip
    yield failing(f"{out} weak", f"weak at output {out}", scaled(f"q{letter}", bf=0.05),
                  row=wrong, of=0.1 * of, pin=out, test_out=0.5)  # fmt: skip
    yield failing(f"{plus} mirror off", f"without its current mirror (input {plus} does nothing)",
                  changed(f"m2{letter}", **collector_open(_MIRROR["is_"], _MIRROR["bf"],
                                                          _MIRROR["br"])),
                  row=wrong, of=0.1 * of, pin=plus)  # fmt: skip
    yield failing(f"{plus} short to ground", f"shorted to ground at input {plus}",
                  changed(f"m1{letter}", gce=JUNCTION_SHORT), row=wrong, of=0.05 * of,
                  pin=plus)  # fmt: skip
    yield failing(f"{minus} short to ground", f"shorted to ground at input {minus}",
                  changed(f"j{letter}", gp=JUNCTION_SHORT), row=wrong, of=0.1 * of,
                  pin=minus)  # fmt: skip
    yield failing(f"{out} output open", f"open at output {out} inside",
                  _both(letter, k=0.0, leak=0.0), row=none, of=0.7 * of,
                  pin=out)  # fmt: skip


KIND = NortonAmplifier(
    types=tuple(TypeWord(name=name, kind="3900") for name in ("LM2900", "LM3900", "LM3301")),
    word=KindWord(
        name="3900", title="Quad amplifier that compares input currents",
        pins=numbered("in/1IN+/a in/2IN+/b in/2IN-/b out/2OUT/b out/1OUT/a in/1IN-/a ground/GND "
                      "in/3IN-/c out/3OUT/c out/4OUT/d in/4IN-/d in/4IN+/d in/3IN+/c supply/V+"),
        help="Its inputs stand near 0.55 V and take currents, not voltages: resistors in front of "
        "them belong to it. It gives 10 mA and more but takes 1.3 mA only.",
        example="U4 3900 1=REF 6=SUM 5=OUT 7=GND 14=+12",
    ),
)  # fmt: skip
"""Pins: SLOS059. Bias 30 nA, open-loop gain 70 dB, inputs alike at a mirror current of 10 uA,
mirror gain 0.9 to 1.1, clamps 0.3 V below ground (National, 1995, read); sink 1.3 mA (schematic,
SLOS059, read); 6.2 mA of its own and 18 mA out (typical, from memory)."""
