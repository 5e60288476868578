"""Outlines of cases against the numbering of JEDEC MS-001 and data sheets (from memory)."""

import re
from xml.etree import ElementTree

import pytest

from halfsplit.draw.package import package_of, package_svg

DIP14 = tuple(str(number) for number in range(1, 15))


def spot(svg: str) -> tuple[float, float]:
    root = ElementTree.fromstring(svg)
    (leg,) = [one for one in root.iter() if one.get("class") == "leg here"]
    return float(leg.get("cx", "")), float(leg.get("cy", ""))


def test_a_dual_line_is_numbered_against_the_clock_from_the_notch() -> None:
    package = package_of("7400", "", DIP14)
    assert package is not None
    (x1, y1), (x7, y7), (x8, y8), (x14, y14) = (
        spot(package_svg(package, pin)) for pin in ("1", "7", "8", "14")
    )
    assert x1 == x7 < x8 == x14
    assert y1 == y14 < y7 == y8, "1 and 14 at the notch, 7 and 8 at the other end"


def test_the_solder_side_is_the_mirror_image() -> None:
    package = package_of("7400", "", DIP14)
    assert package is not None
    for pin in DIP14:
        x, y = spot(package_svg(package, pin))
        mirrored_x, mirrored_y = spot(package_svg(package, pin, solder=True))
        assert (mirrored_x, mirrored_y) == (120 - x, y)
    assert "solder side" in package_svg(package, "1", solder=True)


# Data sheets, marked face towards you, legs down, left to right (from memory): 2N3904 in TO-92
# E B C, BC547 C B E, TIP120 in TO-220 B C E, 7805 input ground output, 7905 ground input output,
# 78L05 output ground input, IRF540 gate drain source, 2N7000 source gate drain.
LEGS = {
    ("npn", "2N3904"): "e b c", ("npn", "BC547"): "c b e", ("darlington", "TIP120"): "b c e",
    ("regulator", "7805"): "in gnd out", ("negative-regulator", "7905"): "gnd in out",
    ("regulator", "78L05"): "out gnd in", ("nmos", "IRF540"): "g d s", ("nmos", "2N7000"): "s g d",
}  # fmt: skip


@pytest.mark.parametrize(("part", "legs"), LEGS.items())
def test_legs_are_in_the_order_of_the_data_sheet(part: tuple[str, str], legs: str) -> None:
    names = legs.split()
    package = package_of(*part, sorted(names))
    assert package is not None
    xs = [spot(package_svg(package, name))[0] for name in names]
    assert xs == sorted(xs)
    mirrored = [spot(package_svg(package, name, solder=True))[0] for name in names]
    assert mirrored == sorted(mirrored, reverse=True)


@pytest.mark.parametrize(
    ("kind", "type_name", "pins"),
    [
        ("npn", "2N2222", ("c", "b", "e")),  # sold in TO-18 and in TO-92, not in one order
        ("resistor", "", ("1", "2")),
        ("connector", "", ("1", "2", "3", "4", "5", "6", "7", "8")),
        ("controller", "", ("1", "39")),
    ],
)
def test_no_outline_is_guessed(kind: str, type_name: str, pins: tuple[str, ...]) -> None:
    assert package_of(kind, type_name, pins) is None


def test_the_band_of_a_diode_is_at_its_cathode() -> None:
    package = package_of("diode", "1N4002", ("a", "k"))
    assert package is not None
    svg = package_svg(package, "k")
    band = re.search(r"M(\d+) 8H(\d+)V32H\1Z", svg.replace("M34 8H86V32H34Z", ""))
    assert band is not None
    assert spot(svg)[0] > int(band[2]) > 60
