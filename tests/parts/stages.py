"""Logic laws against stages written transistor by transistor, solved by ngspice.

The stages are those of the trial (``halfsplit.trial.spice_stages``: 4 k/1.6 k/1 k/130 ohm for
standard TTL, diode inputs for LS, MOS pairs), whose numbers no part here shares.
``python -m tests.parts.stages`` prints the table of docs/accuracy.md.
"""

from __future__ import annotations

import math
import statistics
import sys
from collections.abc import Sequence
from dataclasses import dataclass

from tests.parts.bench import Bench
from tests.trial.bench import GOOD

from halfsplit.build.compiled import Compiled
from halfsplit.trial.stand import Bench as Simulators
from halfsplit.trial.stand import Stand

__all__ = ["FAMILIES", "Case", "Family", "Misfit", "cases", "misfits"]

DIES = (1, 2, 3, 4, 5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A NAND and an open-collector gate of a family, with their rated currents, ampere."""

    name: str
    nand: str
    sink: float
    source: float
    oc: str = ""
    oc_sink: float = 0.0
    mos: bool = False


FAMILIES = (
    Family(name="74", nand="7400", sink=16e-3, source=0.4e-3, oc="7403", oc_sink=16e-3),
    Family(name="74LS", nand="74LS00", sink=8e-3, source=0.4e-3, oc="74LS03", oc_sink=8e-3),
    Family(name="74S", nand="74S00", sink=20e-3, source=1e-3, oc="74S03", oc_sink=20e-3),
    Family(name="74HC", nand="74HC00", sink=4e-3, source=4e-3, oc="74HC03", oc_sink=4e-3, mos=True),
    Family(name="74HCT", nand="74HCT00", sink=4e-3, source=4e-3, mos=True),
    Family(name="4000B", nand="4011", sink=0.5e-3, source=0.5e-3, mos=True),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One circuit on the board of a family: its lines, and the net that is read. ``kind`` of
    reading: low, high, input, base, fight."""

    what: str
    kind: str
    lines: tuple[str, ...]
    net: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """What the laws give and what each die drawn gives, volt."""

    family: str
    case: Case
    here: float
    dies: tuple[float, ...]

    @property
    def there(self) -> float:
        """The usual die."""
        return statistics.median(self.dies)

    @property
    def off(self) -> float:
        """Here less there, V."""
        return self.here - self.there


def cases(family: Family) -> list[Case]:
    """All circuits of one family."""
    make = _Maker(family)
    make.low("unloaded")
    make.low("one input", ["U{n}9 {nand} 1={net} 2=+5 3={net}Q"])
    for share in (0.5, 1.0, 2.0):
        amps = share * family.sink
        make.low(f"{amps * 1e3:g} mA", [f"R{{n}} {4.7 / amps:.4g} +5 {{net}}"])
    make.high("unloaded")
    for amps in dict.fromkeys((family.source, 2e-3, 10e-3)):
        make.high(f"about {amps * 1e3:g} mA", [f"R{{n}} {3.0 / amps:.4g} {{net}} GND"])
    for ohms in (220, 1000):
        make.at_input(f"{ohms} ohm to ground", [f"R{{n}} {ohms} {{net}} GND"])
    if not family.mos:
        make.at_input("open", [])
    make.at_input("10 k to the supply", ["R{n} 10k +5 {net}"])
    transistor = "Q{n} 2N3904 c={net}C b={at} e=GND", "R{n}8 1k +5 {net}C"
    direct = [line.format(n="{n}", net="{net}", at="{net}") for line in transistor]
    through = [line.format(n="{n}", net="{net}", at="{net}B") for line in transistor]
    make.high("a base", direct, kind="base")
    make.high("a base through 1 k", [*through, "R{n} 1k {net} {net}B"], kind="base")
    make.high("a Darlington array", ["Q{n} ULN2003A 1={net} 8=GND 9=+24 16={net}D",
                                     "R{n} 100 +24 {net}D"], kind="high")  # fmt: skip
    make.high("a low output", ["U{n}9 {nand} 1=+5 2=+5 3={net}"], kind="fight")
    if family.oc:
        make.wired("on", on=True)
        make.wired("off", on=False)
        make.wired("on, a base", on=True, base=True)
        make.wired("off, a base", on=False, base=True)
    return make.found


def misfits(
    family: Family, simulators: Simulators, dies: Sequence[int] = DIES
) -> tuple[list[Misfit], Compiled]:
    """Every circuit of a family solved here and there, and the board they are on."""
    circuits = cases(family)
    lines = [line for case in circuits for line in case.lines]
    bench = Bench("\n".join(("rail +5 5V 0%", "rail +24 24V 0%", *lines, "state on")))
    stands = [Stand(bench.world.board, GOOD, die, simulators) for die in dies]
    played = [
        [math.nan if (v := stand.volts(case.net, "on")) is None else v for case in circuits]
        for stand in stands
    ]
    found = [
        Misfit(family=family.name, case=case, here=bench("on", case.net),
               dies=tuple(row[k] for row in played))
        for k, case in enumerate(circuits)
    ]  # fmt: skip
    return found, bench.world


class _Maker:
    def __init__(self, family: Family) -> None:
        self.family = family
        self.found: list[Case] = []

    def low(self, what: str, more: Sequence[str] = ()) -> None:
        self._put(f"low, {what}", "low", ["U{n} {nand} 1=+5 2=+5 3={net}", *more])

    def high(self, what: str, more: Sequence[str] = (), kind: str = "high") -> None:
        self._put(f"high into {what}" if more else f"high, {what}", kind,
                  ["U{n} {nand} 1=GND 2=+5 3={net}", *more])  # fmt: skip

    def at_input(self, what: str, more: Sequence[str]) -> None:
        self._put(f"input, {what}", "input", ["U{n} {nand} 1={net} 2=+5 3={net}Q", *more])

    def wired(self, what: str, *, on: bool, base: bool = False) -> None:
        family = self.family
        pull = 4.7 / family.oc_sink if not base else 1000.0
        lines = [
            f"U{{n}} {family.oc} 1=+5 2={'+5' if on else 'GND'} 3={{net}}",
            f"U{{n}}9 {family.oc} 1=GND 2=+5 3={{net}}",
            f"R{{n}} {pull:.4g} +5 {{net}}",
        ]
        if base:
            lines += ["Q{n} 2N3904 c={net}C b={net} e=GND", "R{n}8 1k +5 {net}C"]
        self._put(f"wired-AND {what}", "low" if on else "base" if base else "high", lines)

    def _put(self, what: str, kind: str, lines: Sequence[str]) -> None:
        n = len(self.found) + 1
        net = f"N{n}"
        told = tuple(line.format(n=n, net=net, nand=self.family.nand) for line in lines)
        self.found.append(Case(what=what, kind=kind, lines=told, net=net))


def main() -> int:
    """The largest misfit of each family and kind of reading; with ``--all`` every circuit."""
    whole = "--all" in sys.argv
    heads = ("family", "circuit", "here, V", "transistors, V", "dies", "off, V")
    print(f"| {' | '.join(heads)} |")
    print("|---" * len(heads) + "|")
    simulators = Simulators()
    try:
        for family in FAMILIES:
            found, _ = misfits(family, simulators)
            for kind in dict.fromkeys(one.case.kind for one in found):
                alike = [one for one in found if one.case.kind == kind]
                told = alike if whole else [max(alike, key=lambda one: abs(one.off))]
                print(*(_row(one) for one in told), sep="\n", flush=True)
    finally:
        simulators.close()
    return 0


def _row(one: Misfit) -> str:
    dies = f"{min(one.dies):.2f} to {max(one.dies):.2f}"
    return (
        f"| {one.family} | {one.case.what} | {one.here:.2f} | {one.there:.2f} | {dies} "
        f"| {one.off:+.2f} |"
    )


if __name__ == "__main__":
    raise SystemExit(main())
