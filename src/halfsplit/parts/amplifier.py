"""Operational amplifiers: single, dual and quad."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    BaseKind,
    changed,
    connected,
    failing,
    refuse,
    scaled,
    terminal,
    types_of,
)
from halfsplit.parts._dip import draws, numbered, supply_open
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.amplifier import Amplifier

__all__ = ["KINDS", "AmplifierChip"]

_ROW = "Microcircuit linear"
_SHEET = "datasheet, from memory"
_END = 99.0
"""Offset that holds an output at the end of its swing, V."""
_FAR_OFF = 0.05
"""Offset of a failed input stage, V: assumed."""
_LOST = 1e-4
"""What a failed stage leaves of the gain: assumed."""
_AWAKE = 2.5
_INPUTS = {"npn": -1.0, "pnp": 1.0, "fet": 1.0}

Unit = tuple[str, str, str, str]
"""Letter, output, plus, minus."""


@dataclass(frozen=True, kw_only=True)
class AmplifierChip(BaseKind):
    """``units`` between the supply pins ``plus`` and ``minus``."""

    units: tuple[Unit, ...]
    plus: str
    minus: str

    def elements(self, part: Part) -> Sequence[Element]:
        plus, minus = terminal(part, self.plus), terminal(part, self.minus)
        if not self._used(part):
            return ()
        into = self.text(part, "input")
        if into not in _INPUTS:
            raise refuse(part, f"input must be npn, pnp or fet, got {into!r}")
        params = {
            "vos": 0.0, "steep": self.number(part, "gain"), "high": self.number(part, "high"),
            "low": self.number(part, "low"), "ro": self.number(part, "ohms"),
            "ilim": self.number(part, "amps"), "k": 1.0, "on_at": _AWAKE,
            "ib": _INPUTS[into] * self.number(part, "bias"), "gp": 1e-12, "gm": 1e-12,
            "leak": 1e-9,
        }  # fmt: skip
        spread = {
            "vos": Spread(absolute=self.number(part, "offset")),
            "ilim": Spread(relative=0.25, shape="log", together="die"),
            "ib": Spread(relative=0.5, shape="log", together="die"),
            "high": Spread(relative=0.2, together="die"),
            "low": Spread(relative=0.2, together="die"),
        }
        found = [
            Element(
                name=f"u{letter}",
                law=Amplifier(),
                terminals=(terminal(part, out), plus, minus, terminal(part, into_plus),
                           terminal(part, into_minus)),
                params=params,
                spread=spread,
            )
            for letter, out, into_plus, into_minus in self._used(part)
        ]  # fmt: skip
        return (*found, *draws(plus, minus, self.number(part, "own")))

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found = [mode for unit in used for mode in _of_unit(unit, 1.0 / len(used))]
        if used:
            asleep = [one for unit in used for one in changed(f"u{unit[0]}", k=0.0, ib=0.0)]
            found.append(supply_open(_ROW, asleep, "a supply lead", entry="no output", of=0.3))
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply, end to end", value=self.number(part, "volts"), unit="V",
                   source=_SHEET),
            Rating(name="output current", value=self.number(part, "amps"), unit="A",
                   source=_SHEET),
        )  # fmt: skip

    def _used(self, part: Part) -> tuple[Unit, ...]:
        return tuple(unit for unit in self.units if any(pin in part.pins for pin in unit[1:]))


def _of_unit(unit: Unit, of: float) -> Iterator[Mode]:
    letter, out, plus, minus = unit
    element, wrong = f"u{letter}", (_ROW, "improper output")

    def mode(
        name: str, words: str, share: float, pin: str, test_out: float = 0.9, **to: float
    ) -> Mode:
        return failing(name, words, changed(element, **to), row=wrong, of=share * of, pin=pin,
                       test_out=test_out)  # fmt: skip

    yield mode(f"{out} stuck high", f"stuck at its highest at {out}", 0.22, out, vos=_END)
    yield mode(f"{out} stuck low", f"stuck at its lowest at {out}", 0.25, out, vos=-_END)
    yield mode(f"{out} offset up", f"off by {_FAR_OFF:g} V at its inputs, output {out} high",
               0.1, out, 0.7, vos=_FAR_OFF)  # fmt: skip
    yield mode(f"{out} offset down", f"off by {_FAR_OFF:g} V at its inputs, output {out} low",
               0.1, out, 0.7, vos=-_FAR_OFF)  # fmt: skip
    yield failing(f"{out} lost gain", f"almost without gain at {out}",
                  scaled(element, steep=_LOST), row=wrong,
                  of=0.1 * of, pin=out, test_out=0.8)  # fmt: skip
    yield failing(f"{out} weak", f"weak at output {out}",
                  scaled(element, ilim=0.05), row=wrong,
                  of=0.08 * of, pin=out, test_out=0.5)  # fmt: skip
    yield mode(f"{plus} input leaky", f"leaking at input {plus}", 0.05, plus, gp=1e-5)
    yield mode(f"{minus} input leaky", f"leaking at input {minus}", 0.05, minus, gm=1e-5)
    yield mode(f"{out} short to minus", f"shorted at {out} to the negative supply", 0.05, out,
               leak=0.2)  # fmt: skip
    yield failing(f"{out} output open", f"open at output {out} inside",
                  changed(element, k=0.0, leak=0.0), row=(_ROW, "no output"), of=0.7 * of,
                  pin=out)  # fmt: skip


_FIELDS = (
    FieldWord(name="gain", unit="1", default="100k", help="open-loop gain"),
    FieldWord(name="offset", unit="V", default="6m", help="largest input offset"),
    FieldWord(name="bias", unit="A", default="80n", help="input bias current"),
    FieldWord(name="input", default="npn", help="npn (bias flows in), pnp (out) or fet"),
    FieldWord(name="high", unit="V", default="1", help="how near the positive supply it swings"),
    FieldWord(name="low", unit="V", default="1", help="how near the negative supply it swings"),
    FieldWord(name="ohms", unit="Ω", default="75", help="output resistance, loop open"),
    FieldWord(name="amps", unit="A", default="25m", help="output current limit"),
    FieldWord(name="own", unit="A", default="1m", help="supply current of the package at 5 V"),
    FieldWord(name="volts", unit="V", default="36", help="most supply, end to end"),
)

_NAMES = ("gain", "offset", "bias", "input", "high", "low", "ohms", "amps", "own", "volts")
_SINGLES = (
    ("LM741", "200k", "6m", "80n", "npn", "1", "1", "75", "25m", "1.7m", "36"),
    ("LM301A", "160k", "7.5m", "70n", "npn", "1", "1", "75", "25m", "1.8m", "36"),
    ("LM308", "300k", "7.5m", "1.5n", "npn", "1", "1", "75", "5m", "0.3m", "36"),
    ("LF351", "100k", "10m", "50p", "fet", "1.5", "1.5", "75", "25m", "1.8m", "36"),
    ("LF356", "200k", "10m", "30p", "fet", "2", "2", "40", "25m", "5m", "36"),
    ("TL071", "200k", "10m", "65p", "fet", "1.5", "1.5", "100", "40m", "1.4m", "36"),
    ("TL081", "200k", "15m", "30p", "fet", "1.5", "1.5", "100", "40m", "1.4m", "36"),
    ("CA3140", "100k", "15m", "10p", "fet", "2.5", "0.15", "60", "10m", "1.6m", "36"),
    ("NE5534", "100k", "4m", "500n", "npn", "2", "2", "30", "38m", "4m", "44"),
    ("uA748", "150k", "6m", "80n", "npn", "1", "1", "75", "25m", "1.9m", "36"),
    ("LM318", "200k", "10m", "150n", "npn", "2", "2", "75", "21m", "5m", "40"),
    ("LF355", "200k", "10m", "30p", "fet", "2", "2", "40", "20m", "2m", "36"),
    ("LF357", "200k", "10m", "30p", "fet", "2", "2", "40", "25m", "5m", "36"),
    ("CA3130", "320k", "15m", "5p", "fet", "0.1", "0.1", "600", "20m", "2m", "16"),
    ("OP07", "400k", "150u", "2n", "npn", "2", "2", "60", "25m", "2.7m", "44"),
    ("TL061", "6k", "15m", "30p", "fet", "1.5", "1.5", "220", "15m", "0.2m", "36"),
    ("uA709", "45k", "7.5m", "300n", "npn", "1", "1", "150", "10m", "2.7m", "36"),
    ("LM709", "45k", "7.5m", "300n", "npn", "1", "1", "150", "10m", "2.7m", "36"),
    ("uA741", "200k", "6m", "80n", "npn", "1", "1", "75", "25m", "1.7m", "36"),
    ("MC1741", "200k", "6m", "80n", "npn", "1", "1", "75", "25m", "1.7m", "36"),
    ("LM301", "160k", "7.5m", "70n", "npn", "1", "1", "75", "25m", "1.8m", "36"),
    ("LF411", "200k", "2m", "50p", "fet", "1.5", "1.5", "75", "25m", "1.8m", "36"),
    ("OP27", "1M", "100u", "15n", "npn", "2", "2", "70", "25m", "3m", "44"),
)
_DUALS = (
    ("LM358", "100k", "7m", "45n", "pnp", "1.5", "20m", "100", "20m", "0.7m", "32"),
    ("LM2904", "100k", "7m", "45n", "pnp", "1.5", "20m", "100", "20m", "0.7m", "26"),
    ("MC1458", "200k", "6m", "80n", "npn", "1", "1", "75", "20m", "2.3m", "36"),
    ("RC4558", "200k", "6m", "150n", "npn", "1", "1", "75", "20m", "3.5m", "36"),
    ("LF353", "100k", "10m", "50p", "fet", "1.5", "1.5", "75", "25m", "3.6m", "36"),
    ("TL072", "200k", "10m", "65p", "fet", "1.5", "1.5", "100", "40m", "2.8m", "36"),
    ("TL082", "200k", "15m", "30p", "fet", "1.5", "1.5", "100", "40m", "2.8m", "36"),
    ("NE5532", "100k", "4m", "200n", "npn", "2", "2", "30", "38m", "8m", "44"),
    ("LM1458", "160k", "6m", "80n", "npn", "1", "1", "75", "20m", "3m", "36"),
    ("LF412", "200k", "3m", "50p", "fet", "1.5", "1.5", "75", "25m", "3.6m", "36"),
    ("LM833", "300k", "5m", "500n", "npn", "1.5", "1.5", "40", "29m", "5m", "36"),
    ("TL062", "6k", "15m", "30p", "fet", "1.5", "1.5", "220", "15m", "0.4m", "36"),
    ("CA3240", "100k", "15m", "10p", "fet", "2.5", "0.15", "60", "10m", "4m", "36"),
)
_QUADS = (
    ("LM324", "100k", "7m", "45n", "pnp", "1.5", "20m", "100", "20m", "0.8m", "32"),
    ("LM348", "160k", "6m", "30n", "npn", "1", "1", "75", "25m", "2.4m", "36"),
    ("LF347", "100k", "10m", "50p", "fet", "1.5", "1.5", "75", "25m", "7.2m", "36"),
    ("TL074", "200k", "10m", "65p", "fet", "1.5", "1.5", "100", "40m", "5.6m", "36"),
    ("TL084", "200k", "15m", "30p", "fet", "1.5", "1.5", "100", "40m", "5.6m", "36"),
    ("LM224", "100k", "5m", "45n", "pnp", "1.5", "20m", "100", "20m", "0.8m", "32"),
    ("LM2902", "100k", "7m", "45n", "pnp", "1.5", "20m", "100", "20m", "0.8m", "26"),
    ("MC3403", "200k", "8m", "200n", "pnp", "1.5", "1", "75", "30m", "3m", "36"),
    ("TL064", "6k", "15m", "30p", "fet", "1.5", "1.5", "220", "15m", "0.8m", "36"),
)
"""Type, then the fields: typical values of the datasheets (offset the largest), from memory."""


def _kind(
    name: str, title: str, pins: str, units: tuple[Unit, ...], supply: tuple[str, str],
    table: Sequence[tuple[str, ...]], example: str,
) -> AmplifierChip:  # fmt: skip
    return AmplifierChip(
        units=units, plus=supply[0], minus=supply[1], types=types_of(name, _NAMES, table),
        word=KindWord(
            name=name, title=f"Operational amplifier, {title}", pins=numbered(pins),
            fields=_FIELDS,
            help="Supply pins are typed: they may stand between +15 and -15 V, or +5 V and ground. "
            "An output that never leaves an end of its swing is a comparator, or has lost its "
            "feedback.",
            example=example,
        ),
    )  # fmt: skip


KINDS = (
    _kind("op-amp", "single",
          "nc/NULL1 in/IN- in/IN+ supply/V- nc/NULL2 out/OUT supply/V+ nc/COMP",
          (("a", "6", "3", "2"),), ("7", "4"), _SINGLES,
          "U1 op-amp LM741 2=FB 3=GND 6=OUT 7=+15 4=-15"),
    _kind("dual-op-amp", "dual",
          "out/1OUT/a in/1IN-/a in/1IN+/a supply/V- in/2IN+/b in/2IN-/b out/2OUT/b supply/V+",
          (("a", "1", "3", "2"), ("b", "7", "5", "6")), ("8", "4"), _DUALS,
          "U2 dual-op-amp LM358 1=OUT 2=OUT 3=SIG 8=+5 4=GND"),
    _kind("quad-op-amp", "quad",
          "out/1OUT/a in/1IN-/a in/1IN+/a supply/V+ in/2IN+/b in/2IN-/b out/2OUT/b out/3OUT/c "
          "in/3IN-/c in/3IN+/c supply/V- in/4IN+/d in/4IN-/d out/4OUT/d",
          (("a", "1", "3", "2"), ("b", "7", "5", "6"), ("c", "8", "10", "9"),
           ("d", "14", "12", "13")), ("4", "11"), _QUADS,
          "U3 quad-op-amp LM324 1=OUT 2=OUT 3=SIG 4=+5 11=GND"),
)  # fmt: skip
"""Pins by the datasheets, from memory; all makers of one number agree."""
