"""Parts with two pins, lying in a line of signal or hanging between a net and a rail."""

from __future__ import annotations

from halfsplit.draw.model import Box
from halfsplit.draw.symbol import HEAD, TEST_POINT, Port, Symbol, text_width

__all__ = ["DROP", "KINDS", "hanging", "lying", "test_point"]

DROP = 80
"""Units from the net to beyond the rail's name, of a part that hangs."""
_LONG, _MARK, _AXIS = 60, 20, 14


def lying(box: Box, turned: bool) -> Symbol:
    """From left to right; ``turned`` with the first pin on the right."""
    lines, shapes = KINDS[box.kind]
    first, second = box.pins
    left, right = (second, first) if turned else (first, second)
    y = HEAD + 10
    ports = (
        Port(pin=left, x=0, y=y, side="left"),
        Port(pin=right, x=_LONG, y=y, side="right"),
    )
    turn = f"translate({_LONG} {HEAD}) scale(-1 1)" if turned else f"translate(0 {HEAD})"
    return Symbol(
        width=_LONG, height=HEAD + 30, ports=ports, lines=lines, shapes=shapes, transform=turn,
        words=((30, HEAD + 30, "middle", box.label),),
    )  # fmt: skip


def test_point(box: Box) -> Symbol:
    """With its pin on the left."""
    port = Port(pin=box.pins[0], x=0, y=HEAD + 10, side="left")
    circle = "M10 10a5 5 0 1 0 10 0a5 5 0 1 0 -10 0Z"
    return Symbol(width=30, height=HEAD + 20, ports=(port,), lines=("M0 10H10",), shapes=(circle,))


def hanging(box: Box, net: str, rail: str, up: bool) -> Symbol:
    """From ``net`` up to a rail, or down; a test point stands on its net."""
    if box.kind == TEST_POINT:
        port = Port(pin=box.pins[0], x=_AXIS, y=30, side="down")
        return Symbol(
            width=_wide(box.part, ""), height=30, ports=(port,), lines=("M14 20V30",),
            shapes=("M9 15a5 5 0 1 0 10 0a5 5 0 1 0 -10 0Z",), name=(23, 19), transform="",
        )  # fmt: skip
    lines, shapes = KINDS[box.kind]
    first, second = box.pins
    top, bottom = (second, first) if (first.net == net) == up else (first, second)
    axis = max(_AXIS, text_width(rail) // 2 + 1)
    over = _MARK if up else 0
    ports = (
        Port(pin=top, x=axis, y=over, side="up"),
        Port(pin=bottom, x=axis, y=over + _LONG, side="down"),
    )
    turn = (
        f"translate({axis + 10} {over}) rotate(90)"
        if top is first
        else f"translate({axis - 10} {over + _LONG}) rotate(-90)"
    )
    middle = over + _LONG // 2
    return Symbol(
        width=axis - _AXIS + _wide(box.part, box.label), height=DROP, ports=ports, lines=lines,
        shapes=shapes, name=(axis + 14, middle - 1), transform=turn,
        words=((axis + 14, middle + 11, "start", box.label),),
    )  # fmt: skip


def _wide(name: str, label: str) -> int:
    words = max(text_width(name, 11.0) + 26, text_width(label))
    return -(-(28 + words + 4) // 10) * 10


_BODY = "M12 2H48V18H12Z"
_ENDS = "M0 10H12M48 10H60"
_DIODE = ("M0 10H60", "M40 2V18")
_TRIANGLE = "M22 2L40 10L22 18Z"
_PLATES = (("M0 10H27M33 10H60", "M27 0V20M33 0V20"), ("M27 0H33V20H27Z",))
_POLAR = (("M0 10H24M34 10H60", "M34 0V20", "M15 3H21M18 0V6"), ("M24 0H29V20H24Z",))
_TURNS = (
    ("M0 10H10M50 10H60",),
    ("M10 10a5 5 0 0 1 10 0a5 5 0 0 1 10 0a5 5 0 0 1 10 0a5 5 0 0 1 10 0",),
)
KINDS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "resistor": ((_ENDS,), (_BODY,)),
    "capacitor": _PLATES,
    "film-capacitor": _PLATES,
    "electrolytic": _POLAR,
    "tantalum": _POLAR,
    "coil": _TURNS,
    "winding": _TURNS,
    "solenoid": _TURNS,
    "fuse": (("M0 10H60",), ("M14 4H46V16H14Z",)),
    "diode": (_DIODE, (_TRIANGLE,)),
    "germanium": (_DIODE, (_TRIANGLE,)),
    "schottky": (("M0 10H60", "M36 5V2H40V18H44V15"), (_TRIANGLE,)),
    "zener": (("M0 10H60", "M36 2H40V18H44"), (_TRIANGLE,)),
    "led": ((*_DIODE, "M44 4L50 -2M46.5 -2H50V1.5", "M49 8L55 2M51.5 2H55V5.5"), (_TRIANGLE,)),
    "switch": (("M0 10H16M44 10H60", "M16 10L42 1"), ("M14 10a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"
                                                      "M42 10a2 2 0 1 0 4 0a2 2 0 1 0 -4 0",)),
    "varistor": ((_ENDS, "M8 22H14L46 -2"), (_BODY,)),
    "ntc": ((_ENDS, "M8 22H14L46 -2", "M1 16H7"), (_BODY,)),
    "ptc": ((_ENDS, "M8 22H14L46 -2", "M1 16H7M4 13V19"), (_BODY,)),
    "ferrite": (("M0 10H60",), ("M22 4H38V16H22Z",)),
    "two-way-suppressor": (("M0 10H60", "M27 2H30V18H33"), ("M14 2L30 10L14 18Z",
                                                          "M46 2L30 10L46 18Z")),
    "diac": (("M0 10H22M38 10H60", "M22 -2V22M38 -2V22"), ("M22 -2V10L38 4Z", "M38 10V22L22 16Z")),
    "crystal": (("M0 10H22M38 10H60", "M22 3V17M38 3V17"), ("M26 2H34V18H26Z",)),
}  # fmt: skip
"""Kind -> its lines and shapes, first pin on the left, 60 long with the axis at 10."""
