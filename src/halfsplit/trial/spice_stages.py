"""Input and output stages of logic families, transistor by transistor.

Standard TTL: multi-emitter input transistor with 4 kΩ, phase splitter with 1.6 kΩ and 1 kΩ,
totem pole with 130 Ω and a level diode. Low-power Schottky: diode inputs with 20 kΩ, 8 kΩ
splitter, Schottky clamps, Darlington pull-up behind 120 Ω. CMOS: MOS inverter output, bulk and
protection diodes. Circuits: P. Horowitz and W. Hill, The Art of Electronics, and the schematics
printed in TTL datasheets (from memory); numbers of devices are this file's own.
"""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.board.model import Part
from halfsplit.errors import TrialError
from halfsplit.frozen import dataclass
from halfsplit.trial import spice_models as models
from halfsplit.trial.sheet import Sheet

__all__ = ["FAMILIES", "Chip", "Drive", "Family", "bond", "family", "input_junction", "input_stage",
           "output_stage", "supply_current"]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Resistors of the stages, ohm. ``mos`` families use ``on`` ohm and ``threshold`` only."""

    name: str
    mos: bool = False
    schottky: bool = False
    base: float = 4000.0
    splitter: float = 1600.0
    pull_off: float = 1000.0
    upper: float = 130.0
    low_on: float = 40.0
    high_on: float = 45.0
    threshold: float = 0.5
    relative: bool = True
    upper_clamp: bool = True
    vto: float = 0.9


FAMILIES: Mapping[str, Family] = {
    each.name: each
    for each in (
        Family(name="74"),
        Family(name="74LS", schottky=True, base=20e3, splitter=8e3, pull_off=6e3, upper=120.0),
        Family(name="74S", schottky=True, base=2.8e3, splitter=900.0, pull_off=900.0, upper=55.0),
        Family(name="74HC", mos=True),
        Family(name="74HCT", mos=True, threshold=1.45, relative=False),
        Family(name="cmos", mos=True, low_on=380.0, high_on=520.0, vto=1.3),
        Family(name="nmos", mos=True, low_on=160.0, high_on=2200.0, threshold=1.4, relative=False,
               upper_clamp=False),
    )
}  # fmt: skip
"""Family name -> its stages."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """Size of an output: ``area`` of the lower transistor, ``push`` of its base drive, ``upper``
    of the upper half; ``bv`` V it stands when off."""

    area: float = 1.0
    push: float = 1.0
    upper: float = 1.0
    bv: float = 9.0


DRIVES: Mapping[str, Drive] = {
    "standard": Drive(),
    "buffer": Drive(area=3.0, push=4.0),
    "tri": Drive(area=2.0, push=4.0, upper=1.45),
    "bus": Drive(area=2.5, push=5.0, upper=2.5),
    "high voltage": Drive(area=2.2, push=4.0, bv=42.0),
    "high voltage 15 V": Drive(area=2.2, push=4.0, bv=22.0),
    "high voltage 80 mA": Drive(area=4.4, push=8.0, bv=42.0),
    "high voltage 80 mA 15 V": Drive(area=4.4, push=8.0, bv=22.0),
    "15 V": Drive(area=1.2, push=1.5, bv=24.0),
}
"""Drive name of the logic table -> size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chip:
    """What the stages of one chip share: supply nodes, family, and the process it came from."""

    part: Part
    family: Family
    vcc: str
    gnd: str
    ohms: float = 1.0
    """Factor of all resistors of this chip."""


def family(name: str) -> Family:
    """The stages of a family. Raises :class:`TrialError` for one that has none here."""
    if name not in FAMILIES:
        raise TrialError(
            f"expected a logic family with stages in halfsplit.trial.spice_stages "
            f"({', '.join(FAMILIES)}), got {name!r}"
        )
    return FAMILIES[name]


def bond(sheet: Sheet, chip: Chip, key: str, pin: str, fate: str) -> str:
    """The node inside the package behind a pin: the leg itself, or one cut or tied by a fault."""
    if not fate:
        return pin
    inside = sheet.inner(chip.part, f"bond{key}")
    sheet.ohms(sheet.name("r", chip.part, f"bond{key}"), pin, inside,
               1e9 if fate == "open" else 0.05)  # fmt: skip
    tie = {"to ground": chip.gnd, "to supply": chip.vcc}.get(fate)
    if tie:
        sheet.ohms(sheet.name("r", chip.part, f"tie{key}"), inside, tie, 4.0)
    elif fate == "leaky":
        sheet.ohms(sheet.name("r", chip.part, f"tie{key}"), inside, chip.gnd,
                   float(sheet.rng.uniform(500.0, 2000.0)))  # fmt: skip
    return inside


def input_stage(sheet: Sheet, chip: Chip, key: str, pin: str, *, loads: float = 1.0) -> str:
    """An input: its current from a real stage, its level 0..1 on the node returned."""
    level = sheet.inner(chip.part, f"x{key}")
    if chip.family.mos:
        _mos_input(sheet, chip, key, pin, level)
    else:
        _bipolar_input(sheet, chip, key, pin, level, loads)
    return level


def input_diode(sheet: Sheet, chip: Chip, key: str, pin: str) -> None:
    """The clamp below ground that every input has."""
    kind = (
        models.schottky(sheet, is_=1e-9, rs=0.0)
        if chip.family.schottky
        else models.diode(sheet, is_=1e-15, n=1.0, rs=0.0, bv=40.0)
    )
    sheet.add(f"{sheet.name('d', chip.part, f'clamp{key}')} {chip.gnd} {pin} {kind}")


def input_junction(sheet: Sheet, chip: Chip, key: str, base: str, collector: str, pin: str) -> None:
    """One emitter of the input transistor, or one input diode of a Schottky family."""
    if chip.family.schottky:
        kind = models.schottky(sheet, is_=6e-9, rs=0.0)
        sheet.add(f"{sheet.name('d', chip.part, f'in{key}')} {base} {pin} {kind}")
    else:
        kind = models.npn(sheet, is_=1e-16, bf=25.0, br=0.02, rb=0.0, rc=0.0, re=0.0,
                          spread=0.1)  # fmt: skip
        sheet.add(f"{sheet.name('q', chip.part, f'in{key}')} {collector} {base} {pin} {kind}")
    input_diode(sheet, chip, key, pin)


def supply_current(sheet: Sheet, part: Part, vcc: str, gnd: str, amps: float) -> None:
    """What a chip takes besides the stages written: a junction and a resistor, for it is little
    at the half volt of an ohmmeter."""
    if amps < 1e-6:
        return
    inside = sheet.inner(part, "icc")
    kind = models.diode(sheet, is_=1e-14, n=1.0, rs=0.0, bv=30.0)
    sheet.add(f"{sheet.name('d', part, 'icc')} {vcc} {inside} {kind}")
    sheet.ohms(sheet.name("r", part, "icc"), inside, gnd, 4.3 / amps)


def _bipolar_input(sheet: Sheet, chip: Chip, key: str, pin: str, level: str, loads: float) -> None:
    part, stage = chip.part, chip.family
    base, sense = sheet.inner(part, f"b{key}"), sheet.inner(part, f"s{key}")
    collector = base if stage.schottky else sheet.inner(part, f"c{key}")
    splitter, off = sheet.inner(part, f"k{key}"), sheet.inner(part, f"e{key}")
    sheet.ohms(sheet.name("r", part, f"b{key}"), chip.vcc, base, stage.base * chip.ohms / loads)
    input_junction(sheet, chip, key, base, collector, pin)
    kind = models.npn(sheet, is_=1e-16, bf=40.0, br=0.3, rb=0.0, rc=0.0, re=0.0, spread=0.1)
    sheet.add(f"{sheet.name('q', part, f'a{key}')} {splitter} {collector} {off} {kind}")
    sheet.add(f"{sheet.name('q', part, f'z{key}')} {sense} {off} {chip.gnd} {kind}")
    sheet.ohms(sheet.name("r", part, f"k{key}"), chip.vcc, splitter, 2.0 * stage.splitter)
    _pull_off(sheet, chip, f"i{key}", off, 0.5)
    sheet.ohms(sheet.name("r", part, f"s{key}"), chip.vcc, sense, 2.0 * stage.splitter)
    sheet.add(
        f"{sheet.name('b', part, f'x{key}')} {level} 0 "
        f"v=0.5-0.5*tanh(4*(v({sense},{chip.gnd})-2.0))",
        quiet=f"{sheet.name('v', part, f'x{key}')} {level} 0 1",
    )


def _mos_input(sheet: Sheet, chip: Chip, key: str, pin: str, level: str) -> None:
    part, stage = chip.part, chip.family
    kind = models.diode(sheet, is_=2e-15, n=1.0, rs=0.0, bv=60.0)
    sheet.add(f"{sheet.name('d', part, f'low{key}')} {chip.gnd} {pin} {kind}")
    if stage.upper_clamp:
        sheet.add(f"{sheet.name('d', part, f'high{key}')} {pin} {chip.vcc} {kind}")
        leak = 4e9 * sheet.factor(0.4)
        sheet.ohms(sheet.name("r", part, f"up{key}"), pin, chip.vcc, leak)
    sheet.ohms(sheet.name("r", part, f"down{key}"), pin, chip.gnd, 4e9 * sheet.factor(0.4))
    at = stage.threshold * sheet.near(1.0, 0.04)
    threshold = f"{at:.5g}*v({chip.vcc},{chip.gnd})" if stage.relative else f"{at:.5g}"
    sheet.add(
        f"{sheet.name('b', part, f'x{key}')} {level} 0 "
        f"v=0.5+0.5*tanh(10*(v({pin},{chip.gnd})-{threshold}))",
        quiet=f"{sheet.name('v', part, f'x{key}')} {level} 0 0",
    )


def output_stage(
    sheet: Sheet, chip: Chip, key: str, out: str, *, pulls_up: bool,
    drive: Drive = DRIVES["standard"],
    level: str = "", enable: str = "", direct: str = "",
) -> None:  # fmt: skip
    """An output between ``out`` and the supplies.

    ``level`` and ``enable`` are expressions of 0..1 in the simulator's language; ``direct`` is
    instead the base of the phase splitter, driven by a real input transistor.
    """
    if chip.family.mos:
        _mos_output(sheet, chip, key, out, pulls_up, drive, level, enable)
    else:
        _bipolar_output(sheet, chip, key, out, pulls_up, drive, level, enable, direct)


def _bipolar_output(
    sheet: Sheet, chip: Chip, key: str, out: str, pulls_up: bool, size: Drive,
    level: str, enable: str, direct: str,
) -> None:  # fmt: skip
    part, stage = chip.part, chip.family
    base = direct or sheet.inner(part, f"p{key}")
    splitter, off = sheet.inner(part, f"q{key}"), sheet.inner(part, f"r{key}")
    low, small = _lower(sheet, stage, size), _small(sheet)
    if not direct:
        _drive_base(sheet, chip, key, base, level, enable)
    feed = stage.splitter * chip.ohms / size.push
    sheet.add(f"{sheet.name('q', part, f'ps{key}')} {splitter} {base} {off} {small}")
    sheet.ohms(sheet.name("r", part, f"ps{key}"), chip.vcc, splitter, feed)
    _pull_off(sheet, chip, f"o{key}", off, size.push)
    sheet.add(f"{sheet.name('q', part, f'low{key}')} {out} {off} {chip.gnd} {low}")
    if stage.schottky:
        clamp = models.schottky(sheet, is_=1e-12 * size.area, rs=0.0)
        sheet.add(f"{sheet.name('d', part, f'sl{key}')} {off} {out} {clamp}")
        sheet.add(f"{sheet.name('d', part, f'ss{key}')} {base} {splitter} {clamp}")
    bulk = models.diode(sheet, is_=1e-15, n=1.0, rs=0.0, bv=size.bv)
    sheet.add(f"{sheet.name('d', part, f'bulk{key}')} {chip.gnd} {out} {bulk}")
    if not pulls_up:
        sheet.ohms(sheet.name("r", part, f"leak{key}"), out, chip.gnd, 3e6 * sheet.factor(0.5))
        return
    _upper(sheet, chip, key, out, splitter, size)
    if enable:
        sheet.add(
            f"{sheet.name('b', part, f'dis{key}')} {splitter} {chip.gnd} "
            f"i=(1-({enable}))*v({splitter},{chip.gnd})/150",
            # what lets an output go has no power either
            quiet=f"{sheet.name('r', part, f'dis{key}')} {splitter} {chip.gnd} 1e9",
        )


def _pull_off(sheet: Sheet, chip: Chip, key: str, off: str, size: float) -> None:
    """What takes charge out of the lower transistor's base: a resistor, or in Schottky families
    the small transistor that squares the transfer curve."""
    part, stage = chip.part, chip.family
    ohms = stage.pull_off * chip.ohms / size
    if not stage.schottky:
        sheet.ohms(sheet.name("r", part, f"off{key}"), off, chip.gnd, ohms)
        return
    base, collector = sheet.inner(part, f"yb{key}"), sheet.inner(part, f"yc{key}")
    sheet.ohms(sheet.name("r", part, f"yb{key}"), off, base, ohms)
    sheet.ohms(sheet.name("r", part, f"yc{key}"), off, collector, 0.5 * ohms)
    sheet.add(f"{sheet.name('q', part, f'y{key}')} {collector} {base} {chip.gnd} {_small(sheet)}")


def _drive_base(sheet: Sheet, chip: Chip, key: str, base: str, level: str, enable: str) -> None:
    """The core's push into the phase splitter: a pull-up that is there while the output is to be
    low, and a pull-down otherwise."""
    part, on = chip.part, f"(1-({level}))" + (f"*({enable})" if enable else "")
    node, push = sheet.inner(part, f"h{key}"), chip.family.base * chip.ohms
    sheet.add(f"{sheet.name('b', part, f'h{key}')} {node} 0 v={on}")
    sheet.add(
        f"{sheet.name('b', part, f'push{key}')} {chip.vcc} {base} "
        f"i=v({node})*v({chip.vcc},{base})/{push:.5g}"
    )
    sheet.add(
        f"{sheet.name('b', part, f'pull{key}')} {base} {chip.gnd} "
        f"i=(1-v({node}))*v({base},{chip.gnd})/300+1e-9*v({base},{chip.gnd})"
    )


def _upper(sheet: Sheet, chip: Chip, key: str, out: str, splitter: str, size: Drive) -> None:
    """The upper half of a totem pole."""
    part, stage, small = chip.part, chip.family, _small(sheet)
    top, middle = sheet.inner(part, f"t{key}"), sheet.inner(part, f"m{key}")
    sheet.ohms(sheet.name("r", part, f"up{key}"), chip.vcc, top,
               stage.upper * chip.ohms / size.upper)  # fmt: skip
    if stage.schottky:
        sheet.add(f"{sheet.name('q', part, f'u1{key}')} {top} {splitter} {middle} {small}")
        sheet.add(f"{sheet.name('q', part, f'u2{key}')} {top} {middle} {out} {small}")
        sheet.ohms(sheet.name("r", part, f"um{key}"), middle, out, 4000.0 * chip.ohms)
    else:
        kind = models.diode(sheet, is_=5e-15, n=1.05, rs=0.0, bv=30.0)
        sheet.add(f"{sheet.name('q', part, f'u1{key}')} {top} {splitter} {middle} {small}")
        sheet.add(f"{sheet.name('d', part, f'u{key}')} {middle} {out} {kind}")


def _lower(sheet: Sheet, stage: Family, size: Drive) -> str:
    ohms = (15.0 if stage.schottky else 7.0) / size.area
    gain, is_ = (90.0, 8e-16) if stage.schottky else (45.0, 3e-16)
    return models.npn(sheet, is_=is_ * size.area, bf=gain, br=0.03, vaf=60.0,
                      ikf=0.05 * size.area, rb=0.0, rc=ohms, re=0.0, spread=0.15)  # fmt: skip


def _small(sheet: Sheet) -> str:
    return models.npn(sheet, is_=2e-16, bf=45.0, br=0.3, vaf=60.0, ikf=0.03, rb=0.0, rc=0.0, re=0.0,
                      spread=0.15)  # fmt: skip


def _mos_output(
    sheet: Sheet, chip: Chip, key: str, out: str, pulls_up: bool, size: Drive, level: str,
    enable: str,
) -> None:  # fmt: skip
    part, stage = chip.part, chip.family
    on = f"*({enable})" if enable else ""
    low_gate, high_gate = sheet.inner(part, f"gn{key}"), sheet.inner(part, f"gp{key}")
    span = f"v({chip.vcc},{chip.gnd})"
    low = models.mosfet(sheet, ohms=stage.low_on / size.area, vto=stage.vto, at=5.0)
    sheet.add(f"{sheet.name('b', part, f'gn{key}')} {low_gate} {chip.gnd} "
              f"v={span}*(1-({level})){on}")  # fmt: skip
    sheet.add(f"{sheet.name('m', part, f'n{key}')} {out} {low_gate} {chip.gnd} {chip.gnd} "
              f"{low} w=1u l=1u")  # fmt: skip
    bulk = models.diode(sheet, is_=3e-15, n=1.0, rs=0.0, bv=20.0)
    sheet.add(f"{sheet.name('d', part, f'bn{key}')} {chip.gnd} {out} {bulk}")
    if not pulls_up:
        sheet.ohms(sheet.name("r", part, f"leak{key}"), out, chip.gnd, 5e8)
        return
    high = models.mosfet(sheet, ohms=stage.high_on / size.upper, vto=stage.vto, at=5.0, p=True)
    sheet.add(f"{sheet.name('b', part, f'gp{key}')} {high_gate} {chip.gnd} "
              f"v={span}*(1-({level}){on})")  # fmt: skip
    sheet.add(f"{sheet.name('m', part, f'p{key}')} {out} {high_gate} {chip.vcc} {chip.vcc} "
              f"{high} w=1u l=1u")  # fmt: skip
    if stage.upper_clamp:
        sheet.add(f"{sheet.name('d', part, f'bp{key}')} {out} {chip.vcc} {bulk}")
