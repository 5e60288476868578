"""Mains transformers, and the supply that a transformer, rectifier and reservoir make together.

An alternating supply has no DC solution. What stands for it: a transformer's secondary gives the
crest of one half-wave, whichever a state names; a rectified supply gives its mean DC voltage with
the droop of its reservoir, dV = I / (4 f C) for a full wave and twice as much for a half
(P. Horowitz and W. Hill, The Art of Electronics, section 1.28, gives the ripple I / (2 f C)).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, BaseKind, changed, connected, failing, refuse, scaled
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Rating, Setting
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.linear import Conductance, Source

__all__ = ["KINDS", "RectifiedSupply", "Transformer"]

_ROW = "Transformer"
_TYPED = "typed in the board file"
_CAUTION = (
    "Its primary is on the mains: unplug before any work, let the reservoirs discharge, and leave "
    "live work to those whom the local code allows it."
)
_HALVES = {"positive": 1.0, "negative": -1.0, "off": 0.0}


@dataclass(frozen=True, kw_only=True)
class Transformer(BaseKind):
    """Primary 1-2, secondary 3-5 with an optional centre tap 4. Value: whole secondary, V rms."""

    def elements(self, part: Part) -> Sequence[Element]:
        found = []
        if {"1", "2"} <= part.pins.keys():
            found.append(
                Element(name="primary", law=Conductance(), terminals=("1", "2"),
                        params={"g": 1.0 / self.number(part, "primary")},
                        spread={"g": Spread(relative=0.2)})
            )  # fmt: skip
        crest = math.sqrt(2.0) * self.value(part, 12.0)
        for first, second, share in self._halves(part):
            found.append(
                Element(name=f"s{first}-{second}", law=Source(), terminals=(first, second),
                        params={"g": 1.0 / (share * self.number(part, "ohms")),
                                "volts": share * crest},
                        spread={"g": Spread(relative=0.2), "volts": Spread(relative=0.08)})
            )  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        halves = self._halves(part)
        names = [f"s{first}-{second}" for first, second, _ in halves]
        primary = {"1", "2"} <= part.pins.keys()
        found: list[Mode] = []
        quiet = tuple(change for name in names for change in changed(name, volts=0.0))
        if primary:
            found += [
                failing("primary open", "open in its primary (or its thermal fuse)",
                        (*changed("primary", g=OPEN), *quiet), row=(_ROW, "open"), of=0.7,
                        test_out=1.0),
                failing("primary turns", "with shorted turns in its primary (it runs hot)",
                        (Change(element="primary", param="g", value=1.25, scale=True),
                         *self._scaled(names, "volts", 0.6)),
                        row=(_ROW, "short"), of=0.4, test_out=0.8),
            ]  # fmt: skip
        for name in names:
            of = 1.0 / len(names)
            found += [
                failing(f"{name} open", f"open in its secondary {name[1:]}",
                        changed(name, g=OPEN), row=(_ROW, "open"), of=0.3 * of, test_out=1.0),
                failing(f"{name} turns", f"with shorted turns in its secondary {name[1:]} (hot)",
                        (*self._scaled([name], "volts", 0.5), *self._scaled([name], "g", 1.6)),
                        row=(_ROW, "short"), of=0.6 * of, test_out=0.8),
            ]  # fmt: skip
        if names:
            found.append(
                failing("low", "low in its output", self._scaled(names, "volts", 0.8),
                        row=(_ROW, "parameter change"), test_out=0.7)
            )  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Transformer power")

    def ratings(self, part: Part) -> Sequence[Rating]:
        value = self.value(part, 12.0)
        return (Rating(name="secondary voltage", value=value, unit="V", source=_TYPED),)

    def settings(self, part: Part) -> Sequence[Setting]:
        crest = math.sqrt(2.0) * self.value(part, 12.0)
        halves = self._halves(part)
        if not halves:
            return ()
        return tuple(
            Setting(
                word=word,
                changes=tuple(
                    change
                    for first, second, share in halves
                    for change in changed(f"s{first}-{second}", volts=sign * share * crest)
                ),
            )
            for word, sign in _HALVES.items()
        )

    def _halves(self, part: Part) -> tuple[tuple[str, str, float], ...]:
        """Windings of the secondary: ends, and share of the whole."""
        taps = [pin for pin in ("3", "4", "5") if pin in part.pins]
        if len(taps) == 3:
            return (("3", "4", 0.5), ("4", "5", 0.5))
        return ((taps[0], taps[1], 0.5 if "4" in taps else 1.0),) if len(taps) == 2 else ()

    def _scaled(self, names: Sequence[str], param: str, by: float) -> tuple[Change, ...]:
        return tuple(Change(element=name, param=param, value=by, scale=True) for name in names)


@dataclass(frozen=True, kw_only=True)
class RectifiedSupply(BaseKind):
    """Transformer, rectifier and reservoir seen from their DC side: a drooping source behind
    diodes, so that it can only push. Value: secondary, V rms (each half of a centre-tapped one).
    """

    def elements(self, part: Part) -> Sequence[Element]:
        if not {"+", "-"} <= part.pins.keys():
            return ()
        junctions = self._junctions(part)
        return (
            Element(name="crest", law=Source(), terminals=("~crest", "-"),
                    params={"g": 1.0 / self._droop(part),
                            "volts": math.sqrt(2.0) * self.value(part, 12.0)},
                    spread={"volts": Spread(relative=0.08), "g": Spread(relative=0.3)}),
            Element(name="diodes", law=Diode(), terminals=("~crest", "+"),
                    params={"is_": 15e-9, "n": 2.0 * junctions, "bv": 1e3, "nbv": 1.0,
                            "gp": 1e-9}),
            Element(name="reservoir", law=Conductance(), terminals=("+", "-"),
                    params={"g": max(1e-9, 1e-3 * self.number(part, "reservoir"))},
                    spread={"g": Spread(relative=0.7, shape="log")}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if not {"+", "-"} <= part.pins.keys():
            return ()
        droop, diode = self._droop(part), "Diode rectifier"
        lost = self._wave(part)
        wet = "Capacitor aluminium electrolytic"
        half = droop + (0.0 if self.text(part, "rectifier") == "half" else lost)
        share = 0.25
        return (
            failing("dead", "giving nothing (mains, fuse or transformer open)",
                    changed("crest", volts=0.0, g=OPEN), row=(_ROW, "open"), of=share),
            failing("turns", "with shorted turns in its transformer (it runs hot)",
                    scaled("crest", volts=0.65),
                    row=(_ROW, "short"), of=share, test_out=0.8),
            failing("diode open", "with one rectifier open (half a wave is missing)",
                    changed("crest", g=1.0 / max(half, 1.2 * droop)), row=(diode, "open"),
                    of=share, test_out=1.0),
            failing("diode short", "with one rectifier shorted (it blows its fuse)",
                    changed("crest", volts=0.0, g=OPEN), row=(diode, "short"), of=share,
                    test_out=1.0),
            failing("reservoir dried out", "with a dried-out reservoir (hum, low under load)",
                    changed("crest", g=1.0 / (droop + 9.0 * lost)), row=(wet, "open"), of=share,
                    test_out=0.9, ageing="electrolytic"),
            failing("reservoir short", "with a shorted reservoir", changed("reservoir", g=2.0),
                    row=(wet, "short"), of=share * 0.7, test_out=1.0, ageing="electrolytic"),
            failing("reservoir leaky", "with a leaky reservoir", changed("reservoir", g=1e-2),
                    row=(wet, "short"), of=share * 0.3, test_out=0.8, ageing="electrolytic"),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        whole = part_count_rate("Transformer power")
        wet = part_count_rate("Capacitor aluminium dry electrolytic")
        diodes = part_count_rate("Diode power rectifier or Schottky", 4.0)
        parts = (whole, wet, diodes)
        return Rate(
            per_million_hours=sum(each.per_million_hours for each in parts),
            source="; ".join(each.source for each in parts),
        )

    def ratings(self, part: Part) -> Sequence[Rating]:
        value = self.value(part, 12.0)
        return (Rating(name="secondary voltage", value=value, unit="V", source=_TYPED),)

    def settings(self, part: Part) -> Sequence[Setting]:
        if not {"+", "-"} <= part.pins.keys():
            return ()
        return (Setting(word="unplugged", changes=changed("crest", g=0.0)),)

    def _junctions(self, part: Part) -> int:
        rectifier = self.text(part, "rectifier")
        if rectifier not in ("bridge", "tapped", "half"):
            raise refuse(part, f"rectifier must be bridge, tapped or half, got {rectifier!r}")
        return 2 if rectifier == "bridge" else 1

    def _wave(self, part: Part) -> float:
        """Fall of the mean voltage for each ampere by the reservoir's discharge, ohm."""
        fills = 1.0 if self.text(part, "rectifier") == "half" else 2.0
        return 1.0 / (2.0 * fills * self.number(part, "mains") * self.number(part, "reservoir"))

    def _droop(self, part: Part) -> float:
        return self._wave(part) + self.number(part, "ohms")


_OHMS = FieldWord(name="ohms", unit="Ω", default="1", help="resistance of the whole secondary")

KINDS = (
    Transformer(
        word=KindWord(
            name="transformer", title="Mains transformer", value_unit="V",
            pins=(
                PinWord(name="1", title="primary"), PinWord(name="2", title="primary"),
                PinWord(name="3", title="secondary"), PinWord(name="4", title="centre tap"),
                PinWord(name="5", title="secondary"),
            ),
            fields=(
                _OHMS,
                FieldWord(name="primary", unit="Ω", default="50", help="primary resistance"),
            ),
            settings=tuple(_HALVES),
            help="Value: the whole secondary, V rms. At DC there is no alternating current: a "
            "state shows the crest of one half-wave (positive, negative) or off; what a "
            f"reservoir holds is the larger of both. {_CAUTION}",
            example="T1 transformer 12V 1=LIVE 2=NEUTRAL 3=SEC1 5=SEC2 4=-",
        ),
    ),
    RectifiedSupply(
        word=KindWord(
            name="rectified-supply", title="Transformer, rectifier and reservoir", value_unit="V",
            pins=(PinWord(name="+", title="positive", other_names=("pos",)),
                  PinWord(name="-", title="negative", other_names=("neg",))),
            fields=(
                FieldWord(name="reservoir", unit="F", default="2200u", help="reservoir"),
                FieldWord(name="mains", unit="Hz", default="50", help="mains frequency"),
                FieldWord(name="rectifier", default="bridge", help="bridge, tapped (each half of "
                          "the secondary in turn) or half"),
                _OHMS,
            ),
            settings=("unplugged",),
            help="Value: secondary, V rms. Its DC equivalent: crest less the diodes, falling with "
            f"the load as the reservoir runs down between crests. {_CAUTION}",
            example="T2 rectified-supply 9V reservoir=4700u +=RAW -=GND",
        ),
    ),
)  # fmt: skip
