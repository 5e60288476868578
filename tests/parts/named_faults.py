"""The faults that repairers name, each on a board solved on paper.

``python -m tests.parts.named_faults > docs/faults.md`` writes the page of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.build.worlds import number, world

from halfsplit.build.compiled import Compiled
from halfsplit.parts._handbook import mode_source

__all__ = ["BY_NAME", "Named", "Reads", "page"]

Reads = Callable[[str], float]
"""Place -> volts under the fault, in the row's state."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """``told`` of the readings lies within ``within`` of ``paper`` with the fault, and does not
    without it. ``still``: places that read as on a good board."""

    name: str
    fault: str
    board: str
    told: Callable[[Reads], float]
    paper: float
    within: float
    changes: str
    source: str
    state: str = "on"
    still: tuple[str, ...] = ()

    def world(self) -> Compiled:
        """The row's board."""
        return world(f'board "{self.name}"\n{self.board}')

    def reads(self, fault: str) -> Reads:
        """What each place reads under a fault of the row's board."""
        compiled = self.world()
        row = number(compiled, fault)

        def read(place: str) -> float:
            return float(compiled.volts(self.state, [place]).mean[row, 0])

        return read


GATE = """rail +5 5V
offsheet A drive 74LS
U1 74LS00 1=A 2=+5 3=Y 4=A 5=+5 6=Y2 14=+5 7=GND ; socketed
R1 560 +5 Y
R2 10k Y2 GND
state on A=high
state idle A=low
"""
DIVIDER = """rail +5 5V
R1 100 +5 A
R2 100 A GND
state on
"""
CMOS = """rail +5 5V
R1 10k +5 IN
U1 74HC00 1=IN 2=+5 3=Y 4=GND 5=+5 6=HI 14=+5 7=GND
R2 1k HI GND
R3 1k +5 Y
state on
"""
PHANTOM = """rail +5 5V
rail IO 5V
R1 10 IO A
U1 74HC04 1=A 2=Y 3=A2 4=HI 14=+5 7=GND
R2 1k +5 Y
R3 10 A2 GND
R4 1k HI GND
state on
"""
AMPLIFIER = """rail +12 12V
R1 430k +12 B
Q1 2N3904 c=C b=B e=GND
R2 1k +12 C
state on
"""
WINDING = """rail +10 10V
R1 40 +10 A
M1A winding 40 inductance=20m A GND
state on
"""
RESET = """rail +5 5V
R1 10k +5 R
C1 tantalum 10uF R GND
state on
"""
CLOCK = """rail +5 5V
X1 oscillator 8MHz 8=CLK
R1 10k CLK GND
state on X1=running
"""
PORT = """rail +5 5V
U1 controller family=nmos supply 40=+5 ground 20=GND out 21=P20 22=P21
R1 100k P20 GND
R2 100k P21 GND
state on P20=high P21=high
"""
SENSOR = """rail +5 5V
R1 330 +5 LED
OP1 slotted-sensor a=LED k=GND c=OUT e=GND
R2 10k +5 OUT
state on OP1=clear
"""
HARNESS = """rail +5 5V
rail +12 12V
W1 cable 1=+5 2=+12
R1 10k W1/1 GND
R2 10k W1/2 GND
state on
"""
PLUG = """rail +5 5V
rail +12 12V
J1 connector keyed=no 1=+5 2=SPARE 3=+12
R1 10k J1/1 GND
R2 10k J1/2 GND
R3 10k J1/3 GND
R4 10k SPARE GND
state on
"""
JUNCTION = "a silicon junction drops 0.5 to 0.8 V (tests/truth/part_levels.csv)"


def _amps(read: Reads, top: str, bottom: str, ohms: float) -> float:
    return (read(top) - read(bottom)) / ohms


def _sensed(read: Reads) -> float:
    """Collector current over the LED's."""
    return _amps(read, "net +5", "net OUT", 10e3) / _amps(read, "net +5", "net LED", 330.0)


_ROWS = (
    Named(name="weak output", fault="U1 3 weak low", board=GATE, told=lambda read: read("net Y"),
          paper=3.0, within=2.0, still=("net Y2",),
          changes="the most its transistor sinks or sources, to 0.15 of it",
          source="8 mA at 0.5 V at most (DM74LS04 data sheet DS006345): a good one holds 560 ohm "
          "low, this one is above 0.8 V"),
    Named(name="leaky input", fault="U1 1 leaky", board=CMOS, told=lambda read: read("net IN"),
          paper=5.0 / 11.0, within=0.02, still=("net HI",),
          changes="1 kilohm from the pin to ground inside; 100 kilohm at amplifiers and "
          "comparators",
          source="a divider of 10 and 1 kilohm"),
    Named(name="partial chip failure", fault="U1 3 stuck high", board=GATE,
          told=lambda read: read("net Y"), paper=4.0, within=1.0, still=("net Y2",),
          changes="one output of the package; its sisters work",
          source="an LS output stands above 2.7 V when high"),
    Named(name="lost gain", fault="Q1 low gain", board=AMPLIFIER,
          told=lambda read: _amps(read, "net +12", "net C", 1e3)
          / _amps(read, "net +12", "net B", 430e3),
          paper=20.0, within=1.0, changes="a tenth of the current gain",
          source="collector over base current, 200 for a good one"),
    Named(name="shorted turns", fault="M1A half the turns", board=WINDING,
          told=lambda read: read("net A"), paper=10.0 / 3.0, within=0.02,
          changes="half of the resistance, a quarter of the inductance (square of the turns)",
          source="a divider of 40 and 20 ohm"),
    Named(name="leaky tantalum", fault="C1 leaky", board=RESET, told=lambda read: read("net R"),
          paper=5.0 / 11.0, within=0.02, changes="1 kilohm across it",
          source="a divider of 10 and 1 kilohm"),
    Named(name="corroded socket", fault="U1.3 contact resistive", board=GATE,
          told=lambda read: (read("net Y") - read("U1.3"))
          / _amps(read, "net +5", "net Y", 560.0),
          paper=100.0, within=2.0, changes="100 ohm between leg and pad; pressing alters it, "
          "reseating cures it mostly",
          source="Ohm's law at the pin, the pull-up's current"),
    Named(name="cracked track or lifted pad", fault="U1.3 track broken", board=GATE,
          told=lambda read: read("net Y") - read("U1.3/pad"), paper=4.75, within=0.25,
          changes="the pin's pad leaves the net and goes with the leg",
          source="the pull-up alone holds the net, the gate alone the pad"),
    Named(name="hairline track", fault="R1.2 track resistive", board=DIVIDER,
          told=lambda read: read("R1.2/pad") - read("R2.1"), paper=5.0 / 3.0, within=0.02,
          changes="100 ohm between the pad and the rest of the net: leg and pad read alike, the "
          "two ends of the track do not",
          source="three times 100 ohm in a row"),
    Named(name="poor joint", fault="R1.2 joint resistive", board=DIVIDER,
          told=lambda read: read("R1.2") - read("R1.2/pad"), paper=5.0 / 3.0, within=0.02,
          changes="100 ohm between leg and pad", source="three times 100 ohm in a row"),
    Named(name="supply drop at the chip's own pins", fault="U1.14 joint resistive", board=CMOS,
          told=lambda read: (read("net +5") - read("U1.14")) / (read("net HI") / 1e3),
          paper=100.0, within=2.0, changes="as a poor joint: the rail is good, the leg is not",
          source="Kirchhoff and Ohm: what the output gives comes in at the supply pin"),
    Named(name="phantom powering through a clamp", fault="U1.14 joint open", board=PHANTOM,
          told=lambda read: read("U1.1") - read("U1.14"), paper=0.65, within=0.15,
          changes="nothing else: the clamp diodes are in every input's law", source=JUNCTION),
    Named(name="missing ground", fault="U1.7 joint open", board=PHANTOM,
          told=lambda read: read("U1.7") - read("U1.3"), paper=0.65, within=0.15,
          changes="nothing else: the chip stands on the clamp of its lowest input",
          source=JUNCTION),
    Named(name="stopped clock", fault="X1 stopped low", board=CLOCK,
          told=lambda read: read("net CLK"), paper=0.2, within=0.2,
          changes="its output stands; what it clocks is told in states over time",
          source="a TTL low is 0.4 V at most"),
    Named(name="controller port bit dead", fault="U1 21 stuck low", board=PORT,
          told=lambda read: read("net P20"), paper=0.2, within=0.25, still=("net P21",),
          changes="one output of the black box",
          source="0.45 V at most for NMOS ports, from memory"),
    Named(name="dirty sensor", fault="OP1 dirty", board=SENSOR, told=_sensed, paper=0.005,
          within=2e-4, changes="a tenth of the light",
          source="transfer ratio 0.05 of a clear path, times 0.1"),
    Named(name="misaligned sensor", fault="OP1 misaligned", board=SENSOR, told=_sensed,
          paper=0.0005, within=1e-4, changes="a hundredth of the light",
          source="transfer ratio 0.05 of a clear path, times 0.01"),
    Named(name="harness wire broken", fault="W1 1 broken", board=HARNESS,
          told=lambda read: read("net W1/1"), paper=0.0, within=0.01, still=("net W1/2",),
          changes="no conductance from end to end", source="nothing but its resistor holds it"),
    Named(name="harness wires crossed", fault="W1 1-2 crossed", board=HARNESS,
          told=lambda read: read("net W1/1") - read("net W1/2"), paper=7.0, within=0.02,
          changes="each far end joined to the other's near end", source="12 V less 5 V"),
    Named(name="connector plugged in reversed", fault="J1 the wrong way round", board=PLUG,
          told=lambda read: read("net J1/1") - read("net J1/3"), paper=7.0, within=0.02,
          changes="each cable contact joined to the mirrored board contact; one without a key only",
          source="12 V less 5 V"),
)  # fmt: skip
BY_NAME = {row.name: row for row in _ROWS}

_ELSEWHERE = (
    ("dried electrolytic, with the ripple it makes", "C1 dried out",
     mode_source("Capacitor aluminium electrolytic", "open", split=True),
     "0.3 of the capacitance, twenty times the series resistance",
     "`tests/parts/test_named_faults.py`: exponentials of a load switched on and off"),
    ("reset firing from a dipping rail", "C1 low value, R1 drifted high, +5 low",
     "those of the capacitor, the resistor and the rail",
     "the time constant; a state gives the dip", "`tests/build/test_reset.py`"),
    ("slow edges", "", "",
     "not a fault of its own at levels that stand still; over time see [Over time](transient.md)",
     ""),
)  # fmt: skip
_HEAD = """# Faults that repairers name

Made by `python -m tests.parts.named_faults`; `tests/parts/test_named_faults.py` holds every row to
the figure beside it, and to failing without the fault. All ways of failing of a kind, with their
shares and sources, are in [The parts](parts.md); `halfsplit faults` lists those of a board with
priors.

| named | as the program lists it | share, and its source | what it changes | held to |
|---|---|---|---|---|
"""
_TAIL = """
## Hairline tracks

A board file says which pins a net joins, not how its copper runs. What it tells for certain is
the net of two pins: one track, from the one to the other. There a hairline crack is a fault of
its own, one for each track, with a part of the share that was the poor joint's.

Where three or more pins meet, nobody knows which pins a crack parts from which. Between one pin
and the others a hairline puts the same ohms in the same path as a poor joint at that pin: every
leg and every net reads alike, so the poor joint stands for both and has the share of both. They
differ in what its pad reads: across a poor joint leg and pad read unlike, across a crack they
read alike and the pad reads unlike the net; and solder does not mend a track. When a pin with a
poor path shows no difference from leg to pad, look along the track. A crack that leaves two pins
or more on either side is not listed: it shows as two pins that read unlike the rest of their
net, and belongs to "something else".

A broken track is listed for each pin, as cut off from the rest of its net.
"""


def page() -> str:
    """The page, from the rows."""
    lines = [_line(row) for row in _ROWS]
    lines += [
        f"| {name} | {fault} | {source} | {changes} | {held} |"
        for name, fault, source, changes, held in _ELSEWHERE
    ]
    return _HEAD + "\n".join(lines) + "\n" + _TAIL


def _line(row: Named) -> str:
    compiled = row.world()
    fault = compiled.faults[number(compiled, row.fault)]
    source = fault.source.split("; MIL-HDBK-217F")[0]
    held = f"{row.source}: {row.paper:.3g} ± {row.within:.3g}"
    return f"| {row.name} | {row.fault} | {source} | {row.changes} | {held} |"


if __name__ == "__main__":
    print(page(), end="")
