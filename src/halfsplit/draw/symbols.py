"""Symbols after IEC 60617 (boxes, binary logic) and IEEE 315 (semiconductors), from memory.

All are drawn with signal from left to right; pins leave on the left or on the right, at multiples
of ten units. Strokes are SVG path data.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.draw.model import Box, Pin

__all__ = ["HEAD", "OUTPUTS", "TEST_POINT", "Port", "Symbol", "symbol_of", "text_width"]

HEAD = 20
"""Units above the body for the designator."""

TEST_POINT = "test point"
"""Kind of a box that is no part but a place to measure."""

OUTPUTS = frozenset({"out", "oc", "tri", "io"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """Where a pin leaves the symbol: ``x``, ``y`` from its top left corner."""

    pin: Pin
    x: int
    y: int
    right: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """``lines`` are strokes only, ``shapes`` closed outlines that take the colour of suspicion;
    ``words`` are (x, y, anchor, text). ``mirrored`` turns the strokes left to right."""

    width: int
    height: int
    ports: tuple[Port, ...]
    lines: tuple[str, ...] = ()
    shapes: tuple[str, ...] = ()
    words: tuple[tuple[int, int, str, str], ...] = ()
    mirrored: bool = False
    numbered: bool = False
    """Pin numbers are written at the pins."""


def symbol_of(box: Box, turned: bool = False) -> Symbol:
    """The symbol of a box. ``turned`` puts the first pin of a two-pin part on the right."""
    names = {pin.name for pin in box.pins}
    if box.kind == TEST_POINT:
        return _test_point(box)
    if box.kind in _TWO and len(box.pins) == 2:
        return _two(box, turned)
    if box.kind in _THREE and names == {"b", "c", "e"}:
        return _bipolar(box)
    if box.kind in ("nmos", "pmos") and names == {"g", "d", "s"}:
        return _mosfet(box)
    if box.kind == "potentiometer" and names == {"1", "w", "3"}:
        return _potentiometer(box)
    outputs = [pin for pin in box.pins if pin.role in OUTPUTS]
    sign, negated = _function(box.title)
    if sign and len(outputs) == 1:
        return _gate(box, sign, negated)
    if box.title.startswith("Comparator") and len(outputs) == 1 and len(box.pins) == 3:
        return _comparator(box)
    return _chip(box)


def text_width(text: str, size: float = 9.0) -> int:
    """Generous width of a text in a plain system font."""
    return int(0.62 * size * len(text) + 0.999)


def _two(box: Box, turned: bool) -> Symbol:
    lines, shapes = _TWO[box.kind]
    first, second = box.pins
    left, right = (second, first) if turned else (first, second)
    y = HEAD + 10
    ports = (
        Port(pin=left, x=0, y=y, right=False),
        Port(pin=right, x=60, y=y, right=True),
    )
    return Symbol(
        width=60, height=HEAD + 30, ports=ports, lines=lines, shapes=shapes, mirrored=turned,
        words=((30, HEAD + 28, "middle", box.label),),
    )  # fmt: skip


def _test_point(box: Box) -> Symbol:
    port = Port(pin=box.pins[0], x=0, y=HEAD + 10, right=False)
    circle = "M10 10a5 5 0 1 0 10 0a5 5 0 1 0 -10 0Z"
    return Symbol(width=30, height=HEAD + 20, ports=(port,), lines=("M0 10H10",), shapes=(circle,))


def _bipolar(box: Box) -> Symbol:
    pins = {pin.name: pin for pin in box.pins}
    pnp = box.kind.startswith("pnp")
    top, bottom = ("e", "c") if pnp else ("c", "e")
    arrow = "M18 13L24 6L26.5 11.5Z" if pnp else "M32 36L24.5 35L28 29.5Z"
    lines = ["M0 20H16", "M16 8V32", "M16 14L32 3V0H44", "M16 26L32 37V40H44"]
    if "darlington" in box.kind:
        lines.append("M20 8V32")
    ports = (
        Port(pin=pins["b"], x=0, y=HEAD + 20, right=False),
        Port(pin=pins[top], x=44, y=HEAD, right=True),
        Port(pin=pins[bottom], x=44, y=HEAD + 40, right=True),
    )
    return Symbol(
        width=44, height=HEAD + 50, ports=ports, lines=(*lines, arrow),
        shapes=("M6 20A18 18 0 1 1 42 20A18 18 0 1 1 6 20Z",),
        words=((0, HEAD + 49, "start", box.label),),
    )  # fmt: skip


def _mosfet(box: Box) -> Symbol:
    pins = {pin.name: pin for pin in box.pins}
    p = box.kind == "pmos"
    top, bottom = ("s", "d") if p else ("d", "s")
    lines = ("M0 20H14V10M14 20V30", "M20 6V14M20 16V24M20 26V34",
             "M20 10H34V0H44", "M20 30H34V40H44", "M20 20H34V30" if not p else "M20 20H34V10",
             "M20 20L27 17V23Z" if not p else "M30 20L23 17V23Z")  # fmt: skip
    ports = (
        Port(pin=pins["g"], x=0, y=HEAD + 20, right=False),
        Port(pin=pins[top], x=44, y=HEAD, right=True),
        Port(pin=pins[bottom], x=44, y=HEAD + 40, right=True),
    )
    return Symbol(
        width=44, height=HEAD + 50, ports=ports, lines=lines,
        shapes=("M4 20A19 19 0 1 1 42 20A19 19 0 1 1 4 20Z",),
        words=((0, HEAD + 49, "start", box.label),),
    )  # fmt: skip


def _potentiometer(box: Box) -> Symbol:
    pins = {pin.name: pin for pin in box.pins}
    lines = ("M0 10H12M48 10H60", "M60 30H30V20", "M30 17L27 23H33Z")
    ports = (
        Port(pin=pins["1"], x=0, y=HEAD + 10, right=False),
        Port(pin=pins["3"], x=60, y=HEAD + 10, right=True),
        Port(pin=pins["w"], x=60, y=HEAD + 30, right=True),
    )
    return Symbol(
        width=60, height=HEAD + 40, ports=ports, lines=lines, shapes=(_BODY,),
        words=((0, HEAD + 36, "start", box.label),),
    )  # fmt: skip


def _gate(box: Box, sign: str, negated: bool) -> Symbol:
    inputs = [pin for pin in box.pins if pin.role not in OUTPUTS]
    (output,) = [pin for pin in box.pins if pin.role in OUTPUTS]
    rows = max(len(inputs), 2)
    height = 20 * rows
    middle = 10 * rows
    first = middle - 10 * (len(inputs) - 1)
    ports = [
        Port(pin=pin, x=0, y=HEAD + first + 20 * at, right=False) for at, pin in enumerate(inputs)
    ]
    ports.append(Port(pin=output, x=60, y=HEAD + middle, right=True))
    lines = [f"M0 {first + 20 * at}H10" for at in range(len(inputs))]
    if negated:
        lines += [f"M46 {middle}a3 3 0 1 1 6 0a3 3 0 1 1 -6 0", f"M52 {middle}H60"]
    else:
        lines.append(f"M46 {middle}H60")
    if output.role == "oc":
        lines.append(f"M35 {middle}l4 -4l4 4l-4 4zM35 {middle + 6}h8")
    if output.role == "tri":
        lines.append(f"M35 {middle - 3}h8l-4 6z")
    return Symbol(
        width=60, height=HEAD + height + 10, ports=tuple(ports), lines=tuple(lines),
        shapes=(f"M10 0H46V{height}H10Z",), numbered=True,
        words=((15, HEAD + 14, "start", sign), (28, HEAD + height + 10, "middle", box.label)),
    )  # fmt: skip


def _comparator(box: Box) -> Symbol:
    inputs = sorted(
        (pin for pin in box.pins if pin.role not in OUTPUTS),
        key=lambda p: not p.title.endswith("+"),
    )
    (output,) = [pin for pin in box.pins if pin.role in OUTPUTS]
    ports = (
        Port(pin=inputs[0], x=0, y=HEAD + 10, right=False),
        Port(pin=inputs[1], x=0, y=HEAD + 30, right=False),
        Port(pin=output, x=60, y=HEAD + 20, right=True),
    )
    return Symbol(
        width=60, height=HEAD + 50, ports=ports, lines=("M0 10H10M0 30H10M50 20H60",),
        shapes=("M10 -2L50 20L10 42Z",), numbered=True,
        words=((14, HEAD + 14, "start", "+"), (14, HEAD + 34, "start", "−"),
               (40, HEAD + 48, "middle", box.label)),
    )  # fmt: skip


def _chip(box: Box) -> Symbol:
    right = [pin for pin in box.pins if pin.role in OUTPUTS]
    left = [pin for pin in box.pins if pin.role not in OUTPUTS]
    if not right and len(left) > 3 and box.kind != "connector":
        half = (len(left) + 1) // 2
        left, right = left[:half], left[half:]
    rows = max(len(left), len(right), 1)
    titles = [_short(pin) for pin in box.pins]
    inner = 30 if box.kind == "connector" else max(44, 2 * max(map(text_width, titles)) + 16)
    width = -(-(20 * bool(left) + inner + 20 * bool(right)) // 10) * 10
    from_x, to_x = 20 * bool(left), width - 20 * bool(right)
    ports: list[Port] = []
    lines: list[str] = []
    words: list[tuple[int, int, str, str]] = []
    for side, pins in ((False, left), (True, right)):
        for at, pin in enumerate(pins):
            y = 10 + 20 * at
            ports.append(Port(pin=pin, x=width if side else 0, y=HEAD + y, right=side))
            lines.append(f"M{to_x} {y}H{width}" if side else f"M0 {y}H{from_x}")
            x, anchor = (to_x - 4, "end") if side else (from_x + 4, "start")
            words.append((x, HEAD + y + 3, anchor, _short(pin)))
    height = 20 * rows
    words.append((width // 2, HEAD + height + 10, "middle", box.label))
    return Symbol(
        width=width, height=HEAD + height + 10, ports=tuple(ports), lines=tuple(lines),
        shapes=(f"M{from_x} 0H{to_x}V{height}H{from_x}Z",), words=tuple(words),
        numbered=box.kind != "connector",
    )  # fmt: skip


def _short(pin: Pin) -> str:
    return pin.title if 0 < len(pin.title) <= 6 else pin.name


def _function(title: str) -> tuple[str, bool]:
    """IEC 60617-12 sign of a gate that a title names, and whether its output is negated."""
    words = title.casefold()
    for word, sign, negated in _FUNCTIONS:
        if word in words:
            return sign, negated
    return "", False


_FUNCTIONS = (
    ("and-or", "", False),
    ("exclusive-nor", "=1", True),
    ("exclusive-or", "=1", False),
    ("nand", "&", True),
    ("nor ", "≥1", True),
    ("inver", "1", True),
    (" and ", "&", False),
    (" or ", "≥1", False),
    ("buffer", "1", False),
)
_BODY = "M12 2H48V18H12Z"
_ENDS = "M0 10H12M48 10H60"
_DIODE = ("M0 10H60", "M40 2V18")
_TRIANGLE = "M22 2L40 10L22 18Z"
_TWO: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "resistor": ((_ENDS,), (_BODY,)),
    "capacitor": (("M0 10H27M33 10H60", "M27 0V20M33 0V20"), ("M27 0H33V20H27Z",)),
    "film-capacitor": (("M0 10H27M33 10H60", "M27 0V20M33 0V20"), ("M27 0H33V20H27Z",)),
    "electrolytic": (("M0 10H24M34 10H60", "M34 0V20", "M15 3H21M18 0V6"), ("M24 0H29V20H24Z",)),
    "tantalum": (("M0 10H24M34 10H60", "M34 0V20", "M15 3H21M18 0V6"), ("M24 0H29V20H24Z",)),
    "coil": (("M0 10H10M50 10H60",), ("M10 10a5 5 0 0 1 10 0a5 5 0 0 1 10 0a5 5 0 0 1 10 0"
                                      "a5 5 0 0 1 10 0",)),
    "winding": (("M0 10H10M50 10H60",), ("M10 10a5 5 0 0 1 10 0a5 5 0 0 1 10 0a5 5 0 0 1 10 0"
                                         "a5 5 0 0 1 10 0",)),
    "fuse": (("M0 10H60",), ("M14 4H46V16H14Z",)),
    "diode": (_DIODE, (_TRIANGLE,)),
    "germanium": (_DIODE, (_TRIANGLE,)),
    "schottky": (("M0 10H60", "M36 5V2H40V18H44V15"), (_TRIANGLE,)),
    "zener": (("M0 10H60", "M36 2H40V18H44"), (_TRIANGLE,)),
    "led": ((*_DIODE, "M44 4L50 -2M46.5 -2H50V1.5", "M49 8L55 2M51.5 2H55V5.5"), (_TRIANGLE,)),
    "switch": (("M0 10H16M44 10H60", "M16 10L42 1"), ("M14 10a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"
                                                      "M42 10a2 2 0 1 0 4 0a2 2 0 1 0 -4 0",)),
}  # fmt: skip
_THREE = frozenset({"npn", "pnp", "darlington", "pnp-darlington"})
