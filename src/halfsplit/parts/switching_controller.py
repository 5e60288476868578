"""Controllers of switching supplies: black boxes beside reference, output transistors, diode."""

from __future__ import annotations

from collections.abc import Sequence

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
from halfsplit.parts._dip import numbered
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.parts.offsheet import DRIVE, unknown_drive, unknown_elements
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.analog import Regulator
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "SwitchingController"]

_ROW = "Microcircuit linear"
_RUNNING = 1e-4
"""What a switching output comes to at DC, S: anything between open and on (assumed)."""
_ANY = Spread(relative=3.0, shape="log")


@dataclass(frozen=True, kw_only=True)
class SwitchingController(BaseKind):
    """``outputs``: (collector, emitter) of each output transistor, ``on`` S when it conducts.

    The reference is a regulator from the supply, where a pin leads it out (else ""); ``diode`` are
    anode and cathode of a free one; every other pin is a load nobody knows.
    """

    supply: str
    ground: str
    reference: str
    outputs: tuple[tuple[str, str], ...]
    on: float
    off_by: float
    reference_amps: float
    volts: float
    amps: float
    sheet: str
    reference_volts: float = 5.0
    diode: tuple[str, ...] = ()

    def elements(self, part: Part) -> Sequence[Element]:
        if not part.pins:
            return ()
        found = [
            Element(
                name="reference", law=Regulator(),
                terminals=tuple(terminal(part, each)
                                for each in (self.supply, self.reference, self.ground)),
                params={"vset": self.reference_volts, "drop": 2.0, "r": 0.5,
                        "ilim": self.reference_amps, "iq": 8e-3, "k": 1.0, "gio": 0.0, "gog": 1e-5},
                spread={"vset": Spread(relative=self.off_by),
                        "iq": Spread(relative=0.3, shape="log")},
            )
        ]  # fmt: skip
        for collector, emitter in self._used(part):
            ends = (terminal(part, collector), terminal(part, emitter))
            found += [
                Element(name=f"running {collector}", law=Conductance(), terminals=ends,
                        params={"g": _RUNNING}, spread={"g": _ANY}),
                Element(name=f"on {collector}", law=Conductance(), terminals=ends,
                        params={"g": 0.0}),
            ]  # fmt: skip
        if self.diode and all(pin in part.pins for pin in self.diode):
            found.append(
                Element(name="diode", law=Diode(), terminals=self.diode,
                        params={"is_": 5e-12, "n": 1.4, "bv": 1.3 * self.volts, "nbv": 1.0,
                                "gp": OPEN})
            )  # fmt: skip
        for pin in self._signals(part):
            found += unknown_elements(pin, pin)
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        if not part.pins:
            return ()
        none, wrong = (_ROW, "no output"), (_ROW, "improper output")
        used = self._used(part)
        stopped = [change for collector, _ in used for change in _gone(collector)]
        dead = changed("reference", k=0.0, iq=1e-6)
        found = [
            failing("dead", "dead (no reference, outputs off)", (*dead, *stopped), row=none,
                    of=0.4, test_out=1.0),
            failing("supply short", "shorted from supply to ground",
                    changed("reference", iq=1.0), row=wrong, of=0.2, pin=self.supply,
                    test_out=1.0),
        ]  # fmt: skip
        if self.reference:
            found += [
                failing("reference short", "shorted to ground in its reference",
                        (*changed("reference", gog=JUNCTION_SHORT), *stopped), row=none, of=0.1,
                        pin=self.reference, test_out=1.0),
                failing("reference low", "a quarter low in its reference",
                        scaled("reference", vset=0.75), row=wrong, of=0.2, pin=self.reference),
                failing("reference high", "a quarter high in its reference",
                        scaled("reference", vset=1.25), row=wrong, of=0.1, pin=self.reference),
            ]  # fmt: skip
        if any(element.name == "diode" for element in self.elements(part)):
            found += [
                failing("diode short", "shorted in its diode", changed("diode", gp=JUNCTION_SHORT),
                        row=wrong, of=0.1, pin=self.diode[0], test_out=1.0),
                failing("diode open", "open in its diode", changed("diode", **dead_diode()),
                        row=none, of=0.1, pin=self.diode[0], test_out=1.0),
            ]  # fmt: skip
        if used:
            found.append(
                failing("stopped", "not switching (outputs off)", stopped, row=none, of=0.2)
            )
        for collector, emitter in used:
            where = f"in the output transistor of pins {collector} and {emitter}"
            found += [
                failing(f"{collector} output open", f"open {where}",
                        _gone(collector), row=none, of=0.2 / len(used), pin=collector),
                failing(f"{collector} output short", f"shorted {where}",
                        changed(f"running {collector}", g=JUNCTION_SHORT), row=wrong,
                        of=0.4 / len(used), pin=collector, test_out=1.0),
            ]  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC linear 1-100 transistors")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="supply voltage", value=self.volts, unit="V", source=self.sheet),
            Rating(name="output voltage", value=self.volts, unit="V", source=self.sheet),
            Rating(name="output current", value=self.amps, unit="A", source=self.sheet),
        )

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        """A signal pin stands where the state says; an output's collector conducts when low."""
        if pin in self._signals(part):
            return unknown_drive(f"{DRIVE} {pin}", level)
        if pin not in (collector for collector, _ in self._used(part)):
            return ()
        running = _RUNNING if level is None else OPEN
        return (
            Change(element=f"running {pin}", param="g", value=running),
            Change(element=f"on {pin}", param="g", value=self.on if level == 0.0 else 0.0),
        )

    def _used(self, part: Part) -> tuple[tuple[str, str], ...]:
        return tuple(pair for pair in self.outputs if any(pin in part.pins for pin in pair))

    def _signals(self, part: Part) -> tuple[str, ...]:
        known = {self.supply, self.ground, self.reference, *self.diode}.union(*self.outputs)
        return tuple(pin for pin in part.pins if pin not in known)


def _gone(collector: str) -> tuple[Change, ...]:
    """An output that conducts no more, whatever a state says."""
    return (*changed(f"running {collector}", g=OPEN), *changed(f"on {collector}", g=OPEN))


_HELP = (
    "A black box: its 5 V reference and output transistors are modelled, the rest loads its nets "
    "within wide limits. An output switches, so a meter there may read anything; a state may stop "
    "it: its collector's net low for on, high for off."
)

_REFERENCE_ALONE = (
    "A black box: its reference is modelled, the rest, and its output that drives both ways, loads "
    "its nets within wide limits; a state may say where the output stands."
)


def _one_output(
    name: str, title: str, pins: str, example: str, *, types: Sequence[str], supply: str,
    ground: str, reference: str, outputs: tuple[tuple[str, str], ...] = (), volts: float = 40.0,
    amps: float = 1.5, diode: tuple[str, ...] = (), reference_volts: float = 5.0,
    off_by: float = 0.02, text: str = _HELP,
) -> SwitchingController:  # fmt: skip
    return SwitchingController(
        supply=supply, ground=ground, reference=reference, outputs=outputs, on=amps / 1.3,
        off_by=off_by, reference_amps=0.02, volts=volts, amps=amps,
        sheet="data sheet, maximum ratings, from memory", reference_volts=reference_volts,
        diode=diode, types=tuple(TypeWord(name=each, kind=name) for each in types),
        word=KindWord(name=name, title=title, pins=numbered(pins), help=text, example=example),
    )  # fmt: skip


KINDS = (
    SwitchingController(
        supply="12", ground="7", reference="14", outputs=(("8", "9"), ("11", "10")),
        on=0.18, off_by=0.05, reference_amps=0.025, volts=42.0, amps=0.5,
        sheet="TL494/D (Motorola): maximum ratings",
        types=tuple(TypeWord(name=name, kind="494") for name in ("TL494", "TL594", "uA494")),
        word=KindWord(
            name="494", title="Pulse-width controller, two error amplifiers",
            pins=numbered("in/IN1+ in/IN1- passive/COMP in/DTC passive/CT passive/RT ground/GND "
                          "passive/C1 passive/E1 passive/E2 passive/C2 supply/VCC in/OUTCTRL "
                          "passive/VREF in/IN2- in/IN2+"),
            help=_HELP,
            example="U1 494 1=FB 2=HALF 3=CMP 4=DT 5=CT 6=RT 7=GND 8=SW 9=GND 12=RAW 14=REF",
        ),
    ),
    SwitchingController(
        supply="15", ground="8", reference="16", outputs=(("12", "11"), ("13", "14")),
        on=0.05, off_by=0.08, reference_amps=0.1, volts=40.0, amps=0.1,
        sheet="SG3524 (Philips, 1994): maximum ratings",
        types=tuple(TypeWord(name=name, kind="3524")
                    for name in ("SG1524", "SG2524", "SG3524", "LM3524")),
        word=KindWord(
            name="3524", title="Pulse-width controller, current limit, shut-down",
            pins=numbered("in/IN- in/IN+ passive/OSC in/CL+ in/CL- passive/RT passive/CT "
                          "ground/GND passive/COMP in/SHUTDOWN passive/E1 passive/C1 passive/C2 "
                          "passive/E2 supply/VCC passive/VREF"),
            help=_HELP,
            example="U1 3524 1=FB 2=HALF 6=RT 7=CT 8=GND 9=CMP 11=GND 12=SW 15=RAW 16=REF",
        ),
    ),
    _one_output(
        "78S40", "Switching regulator, with switch, diode and an amplifier",
        "passive/K passive/A passive/SWE passive/OPOUT passive/OPVCC in/OP+ in/OP- passive/VREF "
        "in/CMP+ in/CMP- ground/GND passive/CT supply/VCC passive/IPK passive/DRC passive/SWC",
        "U1 78S40 1=OUT 2=SW 3=GND 8=REF 10=FB 11=GND 13=RAW 16=SW", types=("uA78S40",),
        supply="13", ground="11", reference="8", outputs=(("16", "3"),), diode=("2", "1"),
        reference_volts=1.245, off_by=0.05,
        text=_HELP.replace("5 V reference and output transistors", "1.245 V reference, switch and "
                           "diode"),
    ),
    _one_output(
        "34063", "Switching regulator, with switch",
        "passive/SWC passive/SWE passive/CT ground/GND in/FB supply/VCC passive/IPK passive/DRC",
        "U1 34063 1=SW 2=GND 3=CT 4=GND 5=FB 6=RAW", types=("MC34063", "MC34063A", "MC33063A"),
        supply="6", ground="4", reference="", outputs=(("1", "2"),),
        text=_HELP.replace("5 V reference and output transistors are", "switch is"),
    ),
    *(
        _one_output(
            name, title,
            "passive/COMP in/FB in/SENSE passive/RTCT ground/GND passive/OUT supply/VCC "
            "passive/VREF",
            f"U1 {name} 2=FB 4=RTCT 5=GND 6=GATE 7=VCC 8=REF",
            types=(f"UC{name}", f"UC{name}A", f"UC2{name[1:]}"),
            supply="7", ground="5", reference="8", volts=30.0, amps=1.0, text=_REFERENCE_ALONE,
        )
        for name, title in (("3842", "Current-mode controller, 16 V start"),
                            ("3843", "Current-mode controller, 8.4 V start"),
                            ("3844", "Current-mode controller, 16 V start, half cycle"),
                            ("3845", "Current-mode controller, 8.4 V start, half cycle"))
    ),
    _one_output(
        "3525", "Pulse-width controller, two outputs that drive both ways",
        "in/IN- in/IN+ passive/SYNC passive/OSC passive/CT passive/RT passive/DISCH passive/SS "
        "passive/COMP in/SHUTDOWN passive/OUTA ground/GND passive/VC passive/OUTB supply/VCC "
        "passive/VREF",
        "U1 3525 1=FB 2=REF 5=CT 6=RT 11=GA 12=GND 14=GB 15=RAW 16=REF",
        types=("SG3525", "SG3525A", "SG2525A", "SG1525A"), supply="15", ground="12",
        reference="16", amps=0.5, reference_volts=5.1, off_by=0.02, text=_REFERENCE_ALONE,
    ),
)  # fmt: skip
"""Pins: TL494/D and SLVS077B. Reference 5 V within 5 % (494), 4.6 to 5.4 V (3524); 8 mA of their
own (SLVS077B); least supply 7 V and 8 V. Drop of an output when on, 1.1 V at 200 mA (494) and 1 V
at 50 mA (3524), and the limit of the reference's current: from memory. Pins and values of the
78S40, 34063, 384x and 3525 by their makers' data sheets, from memory."""
