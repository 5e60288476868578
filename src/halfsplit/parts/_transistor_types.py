"""Type numbers of bipolar transistors: rows of type, rated volts, amps, watts under what they have
in common (saturation current, gain, reverse gain). Ratings and gains by the makers' data sheets,
from memory; saturation currents by size (small, medium, large die), assumed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

__all__ = ["NPN", "PNP"]

Common = tuple[str, str, str]

_NPN: Mapping[Common, str] = {
    ("14f", "150", "5"): """
        2N2219 30 0.8 0.8, 2N2219A 40 0.8 0.8, PN2222 30 0.6 0.625, PN2222A 40 0.6 0.625,
        2N4400 40 0.6 0.625, 2N4123 30 0.2 0.625, 2N4124 25 0.2 0.625, 2N2369 15 0.2 0.36,
        2N2369A 15 0.2 0.36, 2N5550 140 0.6 0.625, 2N5551 160 0.6 0.625, MPSA05 60 0.5 0.625,
        MPSA06 80 0.5 0.625, MPSA42 300 0.5 0.625""",
    ("18f", "290", "6"): """
        BC108 20 0.1 0.3, BC237 45 0.1 0.35, BC238 25 0.1 0.35, BC546 65 0.1 0.5, BC182 50 0.1 0.3,
        BC183 30 0.1 0.3""",
    ("18f", "450", "6"): "BC109 20 0.1 0.3, BC549 30 0.1 0.5, BC550 45 0.1 0.5, BC184 30 0.1 0.3",
    ("50f", "100", "5"): """
        2N1711 50 0.5 0.8, 2N3019 80 1 0.8, 2N3440 250 1 1, BC140 40 1 0.8, BC141 60 1 0.8,
        BC635 45 1 0.8, BC637 60 1 0.8, BC639 80 1 0.8, BD135 45 1.5 12.5, BD137 60 1.5 12.5,
        BD139 80 1.5 12.5, MJE340 300 0.5 20""",
    ("0.3p", "70", "5"): """
        BD131 45 3 15, BD233 45 2 25, BD235 60 2 25, BD237 80 2 25, BD241 45 3 40, BD241A 60 3 40,
        BD241B 80 3 40, BD241C 100 3 40, BD437 45 4 36, BD441 80 4 36, 2N4921 40 1 30,
        2N4923 80 1 30, 2N5190 40 4 40, 2N5192 80 4 40""",
    ("1p", "50", "5"): """
        BD243 45 6 65, BD243A 60 6 65, BD243B 80 6 65, BD243C 100 6 65, 2N6292 70 7 40,
        MJE3055T 60 10 75, TIP3055 60 15 90, TIP33C 100 10 80, TIP35C 100 25 125, 2N3771 40 30 150,
        2N3772 60 20 150, 2N3773 140 16 150, 2N5885 60 25 200, 2N5886 80 25 200, MJ802 90 30 200,
        MJ15003 140 20 250""",
}
_PNP: Mapping[Common, str] = {
    ("2f", "150", "4"): """
        2N2905 40 0.6 0.6, 2N2905A 60 0.6 0.6, PN2907 40 0.6 0.625, PN2907A 60 0.6 0.625,
        2N4402 40 0.6 0.625, 2N4125 30 0.2 0.625, 2N4126 25 0.2 0.625, 2N5400 120 0.6 0.625,
        2N5401 150 0.6 0.625, MPSA55 60 0.5 0.625, MPSA56 80 0.5 0.625, MPSA92 300 0.5 0.625""",
    ("10f", "290", "5"): """
        BC178 25 0.1 0.3, BC179 20 0.1 0.3, BC307 45 0.1 0.35, BC308 25 0.1 0.35, BC556 65 0.1 0.5,
        BC559 30 0.1 0.5, BC560 45 0.1 0.5, BC212 50 0.1 0.3, BC213 30 0.1 0.3, BC214 30 0.1 0.3""",
    ("40f", "100", "5"): """
        BC160 40 1 0.8, BC161 60 1 0.8, BC636 45 1 0.8, BC638 60 1 0.8, BC640 80 1 0.8,
        BD136 45 1.5 12.5, BD138 60 1.5 12.5, BD140 80 1.5 12.5, MJE350 300 0.5 20""",
    ("0.3p", "70", "5"): """
        BD132 45 3 15, BD234 45 2 25, BD236 60 2 25, BD238 80 2 25, BD242 45 3 40, BD242A 60 3 40,
        BD242B 80 3 40, BD242C 100 3 40, BD438 45 4 36, BD442 80 4 36, 2N4918 40 1 30,
        2N4920 80 1 30, 2N5193 40 4 40, 2N5195 80 4 40""",
    ("1p", "50", "5"): """
        BD244 45 6 65, BD244A 60 6 65, BD244B 80 6 65, BD244C 100 6 65, 2N6107 70 7 40,
        MJE2955T 60 10 75, TIP2955 60 15 90, TIP34C 100 10 80, TIP36C 100 25 125, MJ2955 60 15 115,
        2N5883 60 25 200, 2N5884 80 25 200, MJ4502 90 30 200, MJ15004 140 20 250""",
}


def _rows(table: Mapping[Common, str]) -> Iterator[tuple[str, ...]]:
    for common, text in table.items():
        for row in text.split(","):
            name, *limits = row.split()
            yield (name, *common, *limits)


NPN = tuple(_rows(_NPN))
PNP = tuple(_rows(_PNP))
"""Columns: type, saturation current, gain, reverse gain, volts, amps, watts."""
