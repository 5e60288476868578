"""Relays and solenoids: what a coil pulls."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, BaseKind, changed, connected, failing, scaled, tolerance_of
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Rating, Reading, Store
from halfsplit.solve.law import Element
from halfsplit.solve.laws.contact import Contact
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Relay", "Solenoid"]

_ROW = "Relay"
_TYPED = "typed in the board file"
_MADE = 20.0
"""A good contact, S."""
_WORKS_AT = 0.45
"""Share of the rated voltage taken as the one threshold: makers give 0.7 or less to pull in and
0.1 or more to drop out (common practice, no source)."""
_POLES = ("", "2")
_NEVER = 1e3


@dataclass(frozen=True, kw_only=True)
class Relay(BaseKind):
    """Coil ``1`` ``2``; for each pole a common contact and its make and break contacts."""

    def elements(self, part: Part) -> Sequence[Element]:
        if not {"1", "2"} <= part.pins.keys():
            return ()
        found = [
            Element(name="coil", law=Conductance(), terminals=("1", "2"),
                    params={"g": 1.0 / self.value(part, 250.0)},
                    spread={"g": tolerance_of(part, 0.1, self.value_known(part))})
        ]  # fmt: skip
        rated = self.number(part, "volts")
        for common, other, makes in self._contacts(part):
            found.append(
                Element(
                    name=f"{common}-{other}", law=Contact(), terminals=(common, other, "1", "2"),
                    params={"gon": _MADE, "goff": OPEN, "pull": _WORKS_AT * rated,
                            "steep": 60.0 / rated, "a0": 0.0 if makes else 1.0,
                            "a1": 1.0 if makes else -1.0},
                )
            )  # fmt: skip
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        contacts = self._contacts(part)
        if not {"1", "2"} <= part.pins.keys():
            return ()
        still = tuple(
            change
            for common, other, _ in contacts
            for change in changed(f"{common}-{other}", pull=_NEVER)
        )
        dead, stuck = (_ROW, "fails to trip"), (_ROW, "spurious trip")
        found = [
            failing("coil open", "open in its coil", (*changed("coil", g=OPEN), *still), row=dead,
                    of=0.3, test_out=1.0),
            failing("coil turns", "with shorted turns in its coil",
                    (*scaled("coil", g=2.0), *still), row=(_ROW, "short"), of=0.6,
                    test_out=0.9, stored=_turns(0.5)),
            failing("coil short", "shorted in its coil", (*scaled("coil", g=50.0), *still),
                    row=(_ROW, "short"), of=0.4, test_out=1.0, stored=_turns(0.02)),
        ]  # fmt: skip
        if contacts:
            found.append(failing("sticks", "stuck at rest", still, row=dead, of=0.2))
            found.append(
                failing("stays", "stuck pulled in (armature sticking)",
                        tuple(change for common, other, makes in contacts for change in
                              changed(f"{common}-{other}", a0=float(makes), a1=0.0)),
                        row=stuck, of=0.4)
            )  # fmt: skip
        for common, other, _ in contacts:
            of, name = 1.0 / len(contacts), f"{common}-{other}"
            found += [
                failing(f"{name} contact open", f"never making contact {name}",
                        changed(name, gon=OPEN), row=dead, of=0.2 * of, pin=other,
                        ageing="contact"),
                failing(f"{name} contact resistive", f"making a poor contact {name}",
                        changed(name, gon=0.05), row=dead, of=0.3 * of, pin=other, test_out=0.7,
                        ageing="contact"),
                failing(f"{name} welded", f"welded at contact {name}", changed(name, a0=1.0,
                        a1=0.0), row=stuck, of=0.6 * of, pin=other),
            ]  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Relay general purpose")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (Rating(name="coil voltage", value=self.number(part, "volts"), unit="V",
                       source=_TYPED),)  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="coil") if {"1", "2"} <= part.pins.keys() else None

    def stores(self, part: Part) -> Sequence[Store]:
        if not {"1", "2"} <= part.pins.keys():
            return ()
        return (_store(self.number(part, "inductance"), "inductance" in part.fields),)

    def _contacts(self, part: Part) -> tuple[tuple[str, str, bool], ...]:
        """Common, other side, whether it makes (else it breaks) when the coil pulls."""
        pairs = (
            (f"com{pole}", f"{other}{pole}", other == "no")
            for pole in _POLES
            for other in ("no", "nc")
        )
        return tuple(each for each in pairs if each[0] in part.pins and each[1] in part.pins)


@dataclass(frozen=True, kw_only=True)
class Solenoid(BaseKind):
    """Two ends; value: its resistance."""

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(name="coil", law=Conductance(), terminals=("1", "2"),
                    params={"g": 1.0 / self.value(part, 30.0)},
                    spread={"g": tolerance_of(part, 0.1, self.value_known(part))}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        row = "Solenoid"
        return (
            failing("short", "shorted from end to end", scaled("coil", g=50.0),
                    row=(row, "short"), of=0.3, test_out=1.0, stored=_turns(0.02)),
            failing("turns", "with shorted turns (weak and hot)", scaled("coil", g=2.0),
                    row=(row, "short"), of=0.7, test_out=0.9, stored=_turns(0.5)),
            failing("sluggish", "stiff or sluggish in its plunger",
                    scaled("coil", g=1.0 - 1e-6), row=(row, "slow movement"), test_out=0.9),
            failing("open", "open in its coil", changed("coil", g=OPEN), row=(row, "open"),
                    test_out=1.0),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Coil fixed")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (Rating(name="coil voltage", value=self.number(part, "volts"), unit="V",
                       source=_TYPED),)  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="coil") if len(part.pins) == 2 else None

    def stores(self, part: Part) -> Sequence[Store]:
        if len(part.pins) < 2:
            return ()
        return (_store(self.number(part, "inductance"), "inductance" in part.fields),)


def _store(henries: float, known: bool) -> Store:
    return Store(name="l", what="coil", terminals=("1", "2"), value=henries, beside="coil",
                 known=known)  # fmt: skip


def _turns(left: float) -> tuple[Change, ...]:
    """Inductance goes with the square of the turns that are left."""
    return scaled("l", value=left * left)


def _pole(tail: str, words: str) -> tuple[PinWord, ...]:
    titles = {"com": "common contact", "no": "make contact", "nc": "break contact"}
    return tuple(
        PinWord(name=name + tail, title=f"{title}{words}", other_names=((name + tail).upper(),))
        for name, title in titles.items()
    )


_VOLTS = FieldWord(name="volts", unit="V", default="12", help="rated coil voltage")
_HENRIES = FieldWord(name="inductance", unit="H", default="0.2", help="inductance of the coil")
_COIL = (PinWord(name="1", title="coil"), PinWord(name="2", title="coil"))

KINDS = (
    Relay(
        word=KindWord(
            name="relay", title="Relay", value_unit="Ω", fields=(_VOLTS, _HENRIES),
            pins=(*_COIL, *_pole("", ""), *_pole("2", " of the second pole")),
            help="Value: the coil's resistance. Its contacts follow the voltage across the coil, "
            "with one threshold at 45 % of its rated voltage. What the contacts switch may be at "
            "mains potential: unplug first.",
            example="K1 relay 250 volts=12V 1=+12 2=DRV com=A no=B",
        ),
    ),
    Solenoid(
        word=KindWord(
            name="solenoid", title="Solenoid, hammer or clutch coil", value_unit="Ω", pins=_COIL,
            fields=(_VOLTS, _HENRIES),
            help="Two ends, either way round; value: its DC resistance. It heats up when held on.",
            example="L5 solenoid 30 +24 DRV",
        ),
    ),
)  # fmt: skip
