"""Capacitance and series resistance in circuit: on paper, and by ngspice's AC analysis."""

import math
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
from tests.build.worlds import number, world

from halfsplit.build.compiled import Compiled
from halfsplit.build.world import Storage
from halfsplit.checks.capacitance import KIND as CAPACITANCE
from halfsplit.checks.esr import KIND as SERIES
from halfsplit.checks.kind import Meter
from halfsplit.parts.joints import GOOD

SUPPLY = """
rail +12 12V
C1 electrolytic 100u esr=0.5 +12 GND
C2 electrolytic 220u esr=0.2 +12 GND
C3 film-capacitor 100n A GND
R1 10k A GND
R2 1k A B
C4 film-capacitor 1u B GND
L1 coil 10m ohms=8 +12 B
C5 film-capacitor 10n D E
R3 10 D E
R4 1k D GND
state on
"""


def at(compiled: Compiled, *parts: str, hertz: float) -> Storage:
    return compiled.storage([(f"{part}.1", f"{part}.2") for part in parts], hertz)


def joined(pieces: list[tuple[float, float]], hertz: float) -> complex:
    """Admittance of capacitors (farad, ohm) in parallel."""
    omega = 2.0 * math.pi * hertz
    return sum(1.0 / complex(r, -1.0 / (omega * c)) for c, r in pieces)


JOINTS = 4.0 / GOOD
"""Ohm."""
PAIR = """
rail +12 12V
C1 electrolytic 100u esr=0.5 +12 GND
C2 electrolytic 220u esr=0.2 +12 GND
state on
"""


@pytest.mark.parametrize("hertz", [120.0, 100e3])
def test_two_in_parallel_on_paper_healthy_and_dried_out(hertz: float) -> None:
    """y = sum of 1/(R - j/(wC)). A dried-out one keeps 0.3 of its farads and has 20 times the
    resistance (``parts/capacitor.py``); an open joint takes it away at its far side only."""
    compiled = world(PAIR)
    found = at(compiled, "C1", hertz=hertz)
    far = 0.2 + JOINTS  # the other stands behind four joints
    cases = {
        "healthy": [(100e-6, 0.5), (220e-6, far)],
        "C1 dried out": [(30e-6, 10.0), (220e-6, far)],
        "C2 low value": [(100e-6, 0.5), (66e-6, far)],
        "C2.1 joint open": [(100e-6, 0.5)],
        "C1.1 joint open": [(100e-6, 0.5)],
    }
    for fault, pieces in cases.items():
        y = joined(pieces, hertz)
        row = number(compiled, fault)
        assert found.ohms.mean[row, 0] == pytest.approx((1.0 / y).real, rel=0.02, abs=5e-3)
        if y.real < 4.0 * y.imag:
            farads = y.imag / (2.0 * math.pi * hertz)
            assert found.farads.mean[row, 0] == pytest.approx(farads, rel=0.02)


def test_a_short_or_a_low_resistor_hides_the_capacitor() -> None:
    compiled = world(SUPPLY)
    assert at(compiled, "C5", hertz=120.0).farads.unresolved[0, 0]
    found = at(compiled, "C1", hertz=120.0)
    assert not found.farads.unresolved[0, 0]
    assert found.farads.unresolved[number(compiled, "C2 short"), 0]


@pytest.mark.spice
@pytest.mark.parametrize("hertz", [120.0, 10e3])
def test_with_resistors_and_a_coil_beside_them_as_ngspice_has_it(
    hertz: float, ngspice: str, tmp_path: Path
) -> None:
    deck = [
        "* power off", "i1 0 leg ac 1", f"rj leg {{at}} {JOINTS / 2.0}",
        "c1 {p} x1 100u", "rx1 x1 0 0.5",
        "c2 p x2 220u", f"rx2 x2 0 {0.2 + JOINTS / 2.0}",
        "c3 {a} x3 100n", "rx3 x3 0 0.02", "r1 a 0 10k", "r2 a b 1k",
        "c4 {b} x4 1u", "rx4 x4 0 0.02", "l1 p x5 10m", "rx5 x5 b 8",
    ]  # fmt: skip
    compiled = world(SUPPLY)
    found = at(compiled, "C3", "C4", "C1", hertz=hertz)
    for column, node in enumerate("abp"):
        path = tmp_path / f"{node}.cir"
        path.write_text("\n".join([
            *deck, f".ac lin 1 {hertz} {hertz}", ".print ac vr(leg) vi(leg)", ".end", "",
        ]).format_map({"at": node, "a": "a", "b": "b", "p": "p", node: "leg"}))  # fmt: skip
        said = subprocess.run(
            [ngspice, "-b", str(path)], capture_output=True, text=True, check=True
        ).stdout
        row = re.search(r"^0\s+\S+\s+(\S+?),?\s+(\S+?),?\s*$", said, re.MULTILINE)
        assert row, said
        z = complex(float(row[1]), float(row[2]))
        farads = (1.0 / z).imag / (2.0 * math.pi * hertz)
        if found.farads.unresolved[0, column]:
            assert farads <= 0.0 or (1.0 / z).real > 5.0 * (1.0 / z).imag
        else:
            assert found.farads.mean[0, column] == pytest.approx(farads, rel=0.02)
        assert found.ohms.mean[0, column] == pytest.approx(z.real, rel=0.02, abs=5e-3)


def test_every_fault_at_once_is_one_at_a_time() -> None:
    """The formula for few changed entries against the whole matrix inverted."""
    compiled = world(SUPPLY)
    everything = at(compiled, "C1", "C3", "C4", hertz=1e3)
    alone = compiled._storage[1e3]
    for row in range(0, len(compiled.faults), 7):
        nodes, change = alone.changes[row]
        whole = np.linalg.inv(alone.inverse[:-1, :-1])
        whole[np.ix_(nodes, nodes)] += change
        z = np.linalg.inv(whole)
        red, black = (compiled.nodes(compiled.place(f"C4.{pin}"))[row] for pin in (1, 2))
        paper = z[red, red] - z[red, black] - z[black, red] + z[black, black]
        if not everything.ohms.unresolved[row, 2]:
            assert everything.ohms.mean[row, 2] == pytest.approx(max(paper.real, 1e-4), rel=2e-3)


def test_a_dried_out_capacitor_is_told_by_its_series_resistance() -> None:
    compiled = world(PAIR.replace("C2 electrolytic 220u esr=0.2 +12 GND\n", ""))
    meter = Meter(esr_hertz=100e3, capacitance_hertz=120.0)
    (check,) = SERIES.offers(compiled)
    dried, healthy = number(compiled, "C1 dried out"), 0
    reading = SERIES.read(check, "9", compiled)
    p = SERIES.likelihood(check, reading, compiled, meter)
    assert p[dried] > 5.0 * p[healthy]
    assert SERIES.expected(check, compiled, meter)
    (check,) = CAPACITANCE.offers(compiled)
    p = CAPACITANCE.likelihood(check, CAPACITANCE.read(check, "98u", compiled), compiled, meter)
    assert p[healthy] > 3.0 * p[dried]
    assert Meter().lacks == {"capacitance", "esr"}
    assert not meter.lacks
