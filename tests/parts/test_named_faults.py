"""Every fault that repairers name: it is listed, has a prior and a source, and what it changes in
a prediction is what paper says."""

from math import exp
from pathlib import Path

import numpy as np
import pytest
from tests.build.worlds import number, world
from tests.parts.named_faults import BY_NAME, page

from halfsplit.build.fault import HEALTHY
from halfsplit.build.transient import run
from halfsplit.build.transient_schedule import read_schedule

ROOT = Path(__file__).parents[2]
by_name = pytest.mark.parametrize("name", BY_NAME)


@by_name
def test_it_is_listed_with_prior_words_and_source(name: str) -> None:
    row = BY_NAME[name]
    compiled = row.world()
    k = number(compiled, row.fault)
    assert compiled.prior[k] > 0.0
    assert compiled.faults[k].words.strip()
    assert compiled.faults[k].source.strip(" ;")


@by_name
def test_it_changes_what_paper_says(name: str) -> None:
    row = BY_NAME[name]
    faulty, good = row.reads(row.fault), row.reads(HEALTHY)
    assert row.told(faulty) == pytest.approx(row.paper, abs=row.within)
    assert row.told(good) != pytest.approx(row.paper, abs=row.within)
    for place in row.still:
        assert faulty(place) == pytest.approx(good(place), abs=0.02)


def test_a_corroded_contact_answers_to_touch_and_to_reseating() -> None:
    row = BY_NAME["corroded socket"]
    compiled = row.world()
    fault = compiled.faults[number(compiled, row.fault)]
    assert fault.touch >= 0.5
    assert fault.reseat >= 0.5


def test_shorted_turns_go_with_their_square_in_the_inductance() -> None:
    row = BY_NAME["shorted turns"]
    compiled = row.world()
    (change,) = [each for _, each in compiled.faults[number(compiled, row.fault)].stored]
    assert (change.scale, change.value) == (True, 0.25)


RIPPLE = """board "a load on and off"
rail RAW 12V
R1 10 RAW OUT
C1 electrolytic 1000uF esr=0.2 OUT GND
SW1 switch OUT L
R2 10 L GND
state bare SW1=open
state loaded SW1=closed
"""
HALF, CYCLES = 5e-3, 12


def swing(farads: float, esr: float) -> float:
    """Top to bottom of the last cycle: the charge goes along an exponential towards 12 V behind
    10 ohm, or 6 V behind 5; the node is a divider of that and the charge behind the series
    resistance (any textbook)."""
    charge, seen = 12.0, []
    for _ in range(CYCLES):
        for volts, ohms in ((6.0, 5.0), (12.0, 10.0)):
            held = exp(-HALF / (farads * (ohms + esr)))
            ends = (charge, volts + (charge - volts) * held)
            seen += [(end * ohms + volts * esr) / (ohms + esr) for end in ends]
            charge = ends[1]
    return max(seen[-4:]) - min(seen[-4:])


@pytest.mark.parametrize(
    ("fault", "farads", "esr"), [("healthy", 1e-3, 0.2), ("C1 dried out", 0.3e-3, 4.0)]
)
def test_a_dried_out_capacitor_lets_the_ripple_through(
    fault: str, farads: float, esr: float
) -> None:
    schedule = read_schedule(", ".join(["bare 1ms", *["loaded 5ms", "bare 5ms"] * CYCLES]))
    done = run(world(RIPPLE), schedule, places=["net OUT"], faults=[fault], longest=2e-4)
    last = done.time > done.time[-1] - 2 * HALF + 1e-4
    shown = np.ptp(done.volts["net OUT"][0][last])
    assert shown == pytest.approx(swing(farads, esr), rel=0.03)


def test_hairlines_are_listed_where_the_track_is_known() -> None:
    """A net of two pins is one track; elsewhere the poor joint has the share of both."""
    two, three = (
        world(f'board "net"\nrail +5 5V\nR1 1k +5 A\nR2 1k A GND\n{more}state on\n')
        for more in ("", "R3 1k A GND\n")
    )
    cracks = [[f.id for f in each.faults if f.id.endswith("track resistive")]
              for each in (two, three)]  # fmt: skip
    assert "R1.2 track resistive" in cracks[0]
    assert cracks[1] == ["R2.2 track resistive"]  # from R2 to R3 on ground
    rates = [[f.rate for f in each.faults if f.mode.endswith("resistive")] for each in (two, three)]
    assert sum(rates[0]) / 4 == pytest.approx(sum(rates[1]) / 6)  # the same for each pin


def test_the_page_tells_these_rows() -> None:
    assert (ROOT / "docs" / "faults.md").read_text("utf-8") == page()
