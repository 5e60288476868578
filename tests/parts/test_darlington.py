"""A Darlington driven far beyond its rating, against two transistors of ngspice.

Its collector stands above the base of the output transistor as long as the driver takes the rest
of its base current over to it; what limits that is the driver's bulk (equivalent circuit of the
TIP120 data sheet; Ebers-Moll with base and collector resistance as in I. Getreu, Modeling the
Bipolar Transistor, 1976). The resistances are those of the part, the transistors ngspice's own.
"""

import subprocess
from pathlib import Path

import pytest
from tests.parts.bench import Bench

DECK = """Darlington
Vm m 0 24
Rl m c 56
Vb s 0 5
Rb s b {ohms}
Q1 c b mid driver
Q2 c mid 0 output
R1 b mid 8k
R2 mid 0 120
.model driver npn is=1e-13 bf=50 br=3 rb=10 rc=2
.model output npn is=1e-12 bf=50 br=3
.op
.print op v(c) v(b)
.end
"""


def board(ohms: float) -> Bench:
    return Bench(f"""
rail +5 5V
rail +24 24V
R1 56 +24 C
R2 {ohms} +5 B
Q1 TIP120 c=C b=B e=GND
state on
""")


@pytest.mark.spice
@pytest.mark.parametrize("ohms", [0.5, 10.0, 30.0, 100.0, 680.0])
def test_it_saturates_as_two_transistors_do(ohms: float, ngspice: str, tmp_path: Path) -> None:
    deck = tmp_path / "darlington.cir"
    deck.write_text(DECK.format(ohms=ohms), encoding="ascii")
    done = subprocess.run(
        [ngspice, "-b", str(deck)], capture_output=True, text=True, check=True, timeout=60
    )
    rows = [line.split() for line in done.stdout.splitlines()]
    there = {row[0]: float(row[1]) for row in rows if len(row) == 2 and row[0] in ("c", "b")}
    bench = board(ohms)
    assert bench("on", "C") == pytest.approx(there["c"], abs=0.02)
    assert bench("on", "B") == pytest.approx(there["b"], abs=0.03)


def test_within_its_rating_it_drops_more_than_a_junction() -> None:
    """TIP120: VCE(sat) most 2 V at 3 A, 12 mA (data sheet, read); VBE(on) most 2.5 V at 3 A. The
    PNP is its mirror."""
    bench = Bench("""
rail VB 5V
rail VC 4V
rail NB -5V
rail NC -4V
R1 1 VC C
R2 275 VB B
Q1 TIP120 c=C b=B e=GND
R3 1 NC MC
R4 275 NB MB
Q2 TIP125 c=MC b=MB e=GND
state on
""")
    assert 0.65 < bench("on", "C") < 2.0
    assert bench("on", "B") < 2.5
    assert bench("on", "MC") == pytest.approx(-bench("on", "C"), abs=1e-6)
    assert bench("on", "MB") == pytest.approx(-bench("on", "B"), abs=1e-6)


def test_no_less_than_a_junction_at_5_ma_but_far_less_with_its_base_on_a_rail() -> None:
    """120 mA is the most that its base may take (TIP120 data sheet, read)."""
    assert board(680.0)("on", "C") > 0.65
    assert board(0.1)("on", "C") < 0.3
    assert (5.0 - board(0.1)("on", "B")) / 0.1 > 0.12


@pytest.mark.parametrize("kind", ["TIP120", "2N2222"])
@pytest.mark.parametrize("mode", ["b short to c", "b short to e"])
def test_a_molten_junction_leaves_next_to_nothing(kind: str, mode: str) -> None:
    """Below an ohm or two where the bulk of the base was (common practice, no source)."""
    bench = Bench(f"rail A 1V\nR1 10 A B\nQ1 {kind} c=GND b=B e=GND\nstate on\n")
    short = bench("on", "B", f"Q1 {mode}")
    assert short / ((1.0 - short) / 10.0) < 2.0
