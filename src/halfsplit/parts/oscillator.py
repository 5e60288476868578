"""Crystals and oscillator modules: running or not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    OPEN,
    TWO_ENDS,
    BaseKind,
    changed,
    connected,
    failing,
    refuse,
    terminal,
)
from halfsplit.parts._dip import draws
from halfsplit.parts._families import FAMILIES, output_element, set_to
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Reading, Setting
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Crystal", "OscillatorModule"]

_ROW = "Crystal quartz"
_CHIP = "Microcircuit digital bipolar"
_HELD = 1e-9
"""A crystal and its holder at DC, S."""
_OUT, _SUPPLY, _GROUND = "8", "14", "7"
_STOPPED = {"stopped-low": 0.0, "stopped-high": 1.0}
_VOLTS = 5.0


@dataclass(frozen=True, kw_only=True)
class Crystal(BaseKind):
    """Two ends; at DC nothing. Whether it runs shows on the clock of what it drives."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(name="x", law=Conductance(), terminals=("1", "2"), params={"g": _HELD}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        gone = changed("x", g=OPEN)
        return (
            failing("open", "open or cracked (not oscillating)", gone, row=(_ROW, "open"),
                    of=0.95, test_out=0.9),
            failing("short", "shorted (not oscillating)", changed("x", g=2.0),
                    row=(_ROW, "open"), of=0.05, test_out=1.0),
            failing("stopped", "not oscillating, or at another frequency", gone,
                    row=(_ROW, "no oscillation"), test_out=0.8),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Quartz crystal")

    def current(self, part: Part) -> Reading | None:
        return Reading(element="x") if len(part.pins) == 2 else None


@dataclass(frozen=True, kw_only=True)
class OscillatorModule(BaseKind):
    """A can of 14 pins' size with output, supply and ground."""

    def elements(self, part: Part) -> Sequence[Element]:
        if _OUT not in part.pins:
            return ()
        out = self._output(part)
        params = {**out.params, "e0": 1.0, "a0": _running(out)}
        _, supply, ground = out.terminals
        return (replace(out, params=params), *draws(supply, ground, 30e-3))

    def modes(self, part: Part) -> Sequence[Mode]:
        if _OUT not in part.pins:
            return ()
        found = (
            failing("stopped low", "stopped, its output low", set_to("out", 0.0),
                    row=(_CHIP, "output stuck low"), pin=_OUT),
            failing("stopped high", "stopped, its output high", set_to("out", 1.0),
                    row=(_CHIP, "output stuck high"), pin=_OUT),
            failing("output open", "open at its output inside",
                    changed("out", kl=0.0, kh=0.0, leak=OPEN), row=(_CHIP, "output open"),
                    pin=_OUT),
            failing("weak", "too weak at its output", changed("out", kl=0.15, kh=0.15),
                    row=(_CHIP, "input open"), of=0.2, pin=_OUT, test_out=0.6),
            failing("supply open", "open inside at its supply lead",
                    (*changed("out", on_at=99.0), *changed("own", k=0.0)),
                    row=(_CHIP, "input open"), of=0.5),
        )  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        crystal = part_count_rate("Quartz crystal")
        chip = part_count_rate("IC digital bipolar 1-100 gates")
        return Rate(
            per_million_hours=crystal.per_million_hours + chip.per_million_hours,
            source=f"{crystal.source}; {chip.source}",
        )

    def settings(self, part: Part) -> Sequence[Setting]:
        if _OUT not in part.pins:
            return ()
        levels = {"running": _running(self._output(part)), **_STOPPED}
        return tuple(
            Setting(word=word, changes=set_to("out", level)) for word, level in levels.items()
        )

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        """A state steps the clock by hand: CLK=low, then CLK=high."""
        return set_to("out", level) if pin == _OUT and level is not None else ()

    def _output(self, part: Part) -> Element:
        family = self.text(part, "family")
        if family not in FAMILIES:
            raise refuse(part, str(UnknownName("logic family", family, FAMILIES)))
        ends = terminal(part, _SUPPLY), terminal(part, _GROUND)
        return output_element("out", family, _OUT, *ends)


def _running(out: Element) -> float:
    """How far an output must be turned up to stand at the mean of its levels, which is what a
    meter shows of an even wave."""
    p = out.params
    high = _VOLTS - p["drop"]
    mean = 0.5 * (high + p["off"])
    low_side = p["il"] * math.tanh((mean - p["off"]) / (p["il"] * p["rl"]))
    high_side = p["ih"] * math.tanh((high - mean) / (p["ih"] * p["rh"]))
    return low_side / (low_side + high_side)


KINDS = (
    Crystal(
        word=KindWord(
            name="crystal", title="Crystal or ceramic resonator", value_unit="Hz",
            pins=TWO_ENDS,
            help="Two ends, either way round. A meter sees nothing of it; a scope at the clock "
            "does.",
            example="X1 crystal 4MHz XIN XOUT",
        ),
    ),
    OscillatorModule(
        word=KindWord(
            name="oscillator", title="Oscillator module", value_unit="Hz",
            supply_volts=(4.5, 5.5),
            pins=(
                PinWord(name="1", role="nc", title="not connected"),
                PinWord(name=_GROUND, role="ground", title="ground", other_names=("GND",)),
                PinWord(name=_OUT, role="out", title="output", other_names=("OUT",)),
                PinWord(name=_SUPPLY, role="supply", title="supply", other_names=("VCC",)),
            ),
            fields=(FieldWord(name="family", default="74", help="strength of its output: a logic "
                              "family"),),
            settings=("running", *_STOPPED),
            help="Running, its net reads the mean of its levels; states that step logic set the "
            "net low and high themselves.",
            example="X2 oscillator 8MHz 8=CLK",
        ),
    ),
)  # fmt: skip
