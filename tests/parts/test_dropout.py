"""A regulator in drop-out against the series pass circuit of the textbooks, by ngspice.

Darlington pass transistor, its base fed by a PNP mirror, an error transistor on a reference, and a
sense resistor (P. Horowitz and W. Hill, The Art of Electronics, 3rd ed., section 9.1; the output
stage of a 78xx). Transistor models are ours, of the usual size: none is shared with the parts.
"""

import subprocess
from pathlib import Path

import pytest
from tests.parts.bench import Bench

pytestmark = pytest.mark.spice

INPUTS = (5.6, 6.0, 6.5, 7.0, 9.0)
LOADS = (0.01, 0.1, 0.5, 1.0)
DECK = """series regulator
Vin in 0 6
Q4 m m in mirror
Q5 base m in mirror
Rm m 0 2.2k
Q1 in base mid small
Q2 in mid sense power
Rm2 mid sense 1k
Rsense sense out 0.25
Q3 base fed ref small
Vref ref 0 1.8
R1 out fed 2.5k
R2 fed 0 2.4k
Rload out 0 {ohms}
.model small npn is=5e-15 bf=150 rb=50 rc=10
.model power npn is=2e-13 bf=60 rb=1 rc=0.15
.model mirror pnp is=5e-16 bf=50 rc=30
.dc Vin 5.5 9 0.1
.print dc v(out)
.end
"""


def by_transistors(ngspice: str, folder: Path, amps: float) -> dict[float, float]:
    """Input voltage -> output voltage."""
    deck = folder / "regulator.cir"
    deck.write_text(DECK.format(ohms=5.0 / amps), encoding="ascii")
    done = subprocess.run(
        [ngspice, "-b", str(deck)], capture_output=True, text=True, check=True, timeout=60
    )
    rows = (line.split() for line in done.stdout.splitlines())
    numbers = [row for row in rows if len(row) == 3 and row[0].isdecimal()]
    return {round(float(row[1]), 2): float(row[2]) for row in numbers}


@pytest.mark.parametrize("amps", LOADS)
def test_drop_out_is_that_of_the_pass_circuit(amps: float, ngspice: str, tmp_path: Path) -> None:
    """Within 0.25 V at every input; one drop for all loads would be 0.6 V low at 10 mA."""
    there = by_transistors(ngspice, tmp_path, amps)
    states = "\n".join(f"state v{volts * 10:.0f} IN={volts}V" for volts in INPUTS)
    bench = Bench(f"""
rail IN 9V ohms=0.001
U1 7805 in=IN out=OUT gnd=GND
R1 {5.0 / amps:.3f} OUT GND
{states}
""")
    for volts in INPUTS:
        here = bench(f"v{volts * 10:.0f}", "OUT")
        assert here == pytest.approx(there[volts], abs=0.25), volts
