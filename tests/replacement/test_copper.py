"""Wire and track against published tables, heat against a textbook's worked example."""

import csv
from pathlib import Path

import pytest

from halfsplit.replacement.copper import Track, Wire, cylinder_nusselt
from halfsplit.replacement.jumper import choose, jumpers

TRUTH = Path(__file__).parents[1] / "truth" / "copper.csv"
MIL, FOOT = 25.4e-6, 0.3048


def rows(what: str) -> list[tuple[list[float], list[float]]]:
    """Inputs and values of one kind of row."""
    with TRUTH.open(encoding="utf-8") as file:
        return [
            ([float(x) for x in row["inputs"].split()], [float(x) for x in row["value"].split()])
            for row in csv.DictReader(file)
            if row["what"] == what
        ]


@pytest.mark.parametrize(("inputs", "value"), rows("wire"))
def test_wire_table(inputs: list[float], value: list[float]) -> None:
    wire = Wire(gauge=int(inputs[0]))
    assert wire.ohms(1000 * FOOT) == pytest.approx(value[0], rel=0.005)
    assert wire.diameter / 0.0254 == pytest.approx(value[1], rel=0.003)


@pytest.mark.parametrize("where", ["outside", "inside"])
def test_track_width_table(where: str) -> None:
    for (amps, rise, ounces), (mils,) in rows(f"track width {where}"):
        track = Track.for_current(amps, rise, ounces=ounces, inside=where == "inside")
        assert track.width / MIL == pytest.approx(mils, rel=0.01)
        assert track.carries(rise) == pytest.approx(amps)
        assert track.rise(amps) == pytest.approx(rise)


def test_track_current_table() -> None:
    for (mils, rise, ounces), (amps,) in rows("track current outside"):
        carried = Track(width=mils * MIL, ounces=ounces).carries(rise)
        assert carried == pytest.approx(amps, rel=0.12)


def test_heat_of_a_cylinder_in_still_air() -> None:
    """F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer, example 9.4: a
    steam pipe with Ra = 5.073e6 and Pr = 0.697 has Nu = 23.3 (from memory)."""
    assert cylinder_nusselt(5.073e6, 0.697) == pytest.approx(23.3, rel=0.01)


def test_chassis_wiring_currents_warm_a_wire_by_tens_of_kelvin() -> None:
    """Rated currents of the table of the source of the wires (0.86 A at gauge 30, 3.5 A at 24,
    16 A at 18) leave a bare wire warm, not hot."""
    for gauge, amps in ((30, 0.86), (24, 3.5), (18, 16.0)):
        assert 2.0 < Wire(gauge=gauge).rise(amps) < 80.0
    assert Wire(gauge=30).rise(20.0) == float("inf")


def test_the_finest_wire_that_will_do() -> None:
    track = Track(width=1.0e-3)
    found = jumpers(0.4, 0.1, track=track)
    best = choose(found)
    assert best is not None
    assert best.wire.area >= track.area  # as much copper as the track, or it would drop more
    finer = [one for one in found if one.wire.gauge > best.wire.gauge]
    assert all(one.why_not for one in finer)
    assert choose(jumpers(0.02, 0.1)).wire.gauge == 30  # type: ignore[union-attr]  # any wire will do for a signal
    assert choose(jumpers(60.0, 0.1)) is None


def test_no_current_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        jumpers(0.0, 0.1)
