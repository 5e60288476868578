"""Gates in their distinctive shapes (IEEE 91-1984, annex; from memory), and amplifiers."""

from __future__ import annotations

from collections.abc import Callable

from halfsplit.draw.model import Box
from halfsplit.draw.symbol import HEAD, OUTPUTS, Port, Symbol
from halfsplit.frozen import dataclass

__all__ = ["Gate", "amplifier", "gate", "gate_named"]


@dataclass(frozen=True, slots=True)
class Gate:
    """``shape`` is and, or, xor or buffer; a ring at the output when ``negated``."""

    shape: str
    negated: bool


def gate_named(title: str) -> Gate | None:
    """The gate that a title names."""
    words = f" {title.replace(',', ' ')} "
    if "AND-OR" in words:
        return None
    return next((found for word, found in _NAMES if word in words), None)


def gate(box: Box, what: Gate) -> Symbol:
    """Inputs on the left, an enable of a three-state buffer among them, the output right."""
    inputs = [pin for pin in box.pins if pin.role not in OUTPUTS]
    (output,) = [pin for pin in box.pins if pin.role in OUTPUTS]
    height = 20 * max(len(inputs), 2)
    middle = height // 2
    first = middle - 10 * (len(inputs) - 1)
    rows = [first + 20 * at for at in range(len(inputs))]
    body, nose, back = _body(what.shape, height)
    ports = [
        Port(pin=pin, x=0, y=HEAD + y, side="left") for pin, y in zip(inputs, rows, strict=True)
    ]
    ports.append(Port(pin=output, x=60, y=HEAD + middle, side="right"))
    lines = [f"M0 {y}H{back(y)}" for y in rows]
    if what.shape == "xor":
        lines.append(f"M6 0Q16 {middle} 6 {height}")
    if what.negated:
        lines += [f"M{nose} {middle}a3 3 0 1 1 6 0a3 3 0 1 1 -6 0", f"M{nose + 6} {middle}H60"]
    else:
        lines.append(f"M{nose} {middle}H60")
    if "schmitt" in box.title.casefold():
        lines.append(f"M17 {middle + 4}H22V{middle - 4}H27M20 {middle + 4}H25V{middle - 4}")
    elif output.role == "oc":
        lines.append(f"M22 {middle - 1}l4 -4l4 4l-4 4zM22 {middle + 5}h8")
    elif output.role == "tri":
        lines.append(f"M19 {middle - 4}h8l-4 7z")
    return Symbol(
        width=60, height=HEAD + height + 12, ports=tuple(ports), lines=tuple(lines),
        shapes=(body,), numbered=True, words=((30, HEAD + height + 11, "middle", box.label),),
    )  # fmt: skip


def amplifier(box: Box) -> Symbol:
    """A comparator or operational amplifier: a triangle, + above −."""
    outputs = [pin for pin in box.pins if pin.role in OUTPUTS]
    inputs = sorted(
        (pin for pin in box.pins if pin.role == "in" and pin.title.endswith(("+", "-"))),
        key=lambda pin: not pin.title.endswith("+"),
    )
    others = [pin for pin in box.pins if pin not in inputs and pin not in outputs]
    ports = [
        Port(pin=inputs[0], x=0, y=HEAD + 10, side="left"),
        Port(pin=inputs[1], x=0, y=HEAD + 30, side="left"),
        Port(pin=outputs[0], x=60, y=HEAD + 20, side="right"),
    ]
    lines = ["M0 10H10M0 30H10M50 20H60"]
    for at, pin in enumerate(others):
        x = 20 + 14 * at
        lines.append(f"M{x} {42 - 22 * (x - 10) // 40}V50")
        ports.append(Port(pin=pin, x=x, y=HEAD + 50, side="down"))
    deep = 12 if others else 0
    return Symbol(
        width=60, height=HEAD + 52 + deep, ports=tuple(ports), lines=tuple(lines),
        shapes=("M10 -2L50 20L10 42Z",), numbered=True,
        words=((14, HEAD + 14, "start", "+"), (14, HEAD + 34, "start", "−"),
               (44, HEAD + 46, "middle", box.label)),
    )  # fmt: skip


def _body(shape: str, height: int) -> tuple[str, int, Callable[[int], int]]:
    """Outline, x of its nose, and x of its back at a height."""
    middle, tall = height / 2, float(height)
    if shape == "and":
        round_ = min(18.0, middle)
        flat = 46 - round_
        return (
            f"M10 0H{flat:g}A{round_:g} {middle:g} 0 0 1 {flat:g} {tall:g}H10Z", 46,
            lambda y: 10,
        )  # fmt: skip
    if shape == "buffer":
        return f"M10 {middle - 18:g}L46 {middle:g}L10 {middle + 18:g}Z", 46, lambda y: 10
    outline = f"M10 0H18Q36 0 46 {middle:g}Q36 {tall:g} 18 {tall:g}H10Q20 {middle:g} 10 0Z"
    extra = -4 if shape == "xor" else 0

    def back(y: int) -> int:
        t = y / tall
        return round(10 + 20 * t * (1 - t)) + extra

    return outline, 46, back


_NAMES = (
    ("exclusive-NOR", Gate("xor", True)),
    ("exclusive-OR", Gate("xor", False)),
    ("NAND", Gate("and", True)),
    (" NOR ", Gate("or", True)),
    ("nverter", Gate("buffer", True)),
    ("inverting", Gate("buffer", True)),
    (" AND ", Gate("and", False)),
    (" OR ", Gate("or", False)),
    ("uffer", Gate("buffer", False)),
)
"""What a title says, the first that fits, and the gate it means."""
