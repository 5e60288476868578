"""A stimulus as text: value change dump, delimited text, plain C and MicroPython."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np

from halfsplit.waves.exercise import CAUTIONS, Stimulus

__all__ = ["WRITERS"]


def vcd(stimulus: Stimulus) -> str:
    """IEEE 1364-2005, clause 18, at 1 µs."""
    marks = [chr(33 + i) for i in range(len(stimulus.names))]
    head = ["$comment halfsplit exercise $end", "$timescale 1 us $end", "$scope module lines $end"]
    head += [
        f"$var wire 1 {mark} {name} $end" for mark, name in zip(marks, stimulus.names, strict=True)
    ]
    head += ["$upscope $end", "$enddefinitions $end"]
    body = []
    before = None
    for time, code in zip(stimulus.times.tolist(), stimulus.codes.tolist(), strict=True):
        body.append(f"#{time}")
        body += [
            f"{code >> i & 1}{mark}"
            for i, mark in enumerate(marks)
            if before is None or (code ^ before) >> i & 1
        ]
        before = code
    return "\n".join([*head, *body, f"#{stimulus.stop}"]) + "\n"


def delimited(stimulus: Stimulus) -> str:
    """Commas; seconds, then one column of 0 and 1 a line, a row for every change."""
    rows = ["time (s)," + ",".join(stimulus.names)]
    times = [*stimulus.times.tolist(), stimulus.stop]
    for time, code in zip(times, [*stimulus.codes.tolist(), int(stimulus.codes[-1])], strict=True):
        bits = ",".join(str(code >> i & 1) for i in range(len(stimulus.names)))
        rows.append(f"{time / 1e6:.6f},{bits}")
    return "\n".join(rows) + "\n"


def plain_c(stimulus: Stimulus) -> str:
    """C99: a table and a loop; the board's own pin and delay functions go into two places."""
    rows = [f"    {{{wait}u, 0x{code:02x}u}}," for wait, code in _table(stimulus)]
    return "\n".join(
        [
            *_notes(stimulus, "// "),
            "#include <stddef.h>",
            "#include <stdint.h>",
            "",
            "// Supply these two for your board.",
            "void set_line(unsigned number, unsigned level);  // lines in the order above",
            "void wait_us(uint32_t microseconds);",
            "",
            "static const struct { uint32_t hold_us; uint8_t levels; } pattern[] = {",
            *rows,
            "};",
            "",
            "void exercise(void)",
            "{",
            "    for (size_t i = 0; i < sizeof pattern / sizeof pattern[0]; i++) {",
            f"        for (unsigned n = 0; n < {len(stimulus.names)}; n++)",
            "            set_line(n, pattern[i].levels >> n & 1u);",
            "        wait_us(pattern[i].hold_us);",
            "    }",
            "}",
            "",
        ]
    )


def micropython(stimulus: Stimulus) -> str:
    """MicroPython: set PINS to the board's own pin numbers."""
    rows = [f"    ({wait}, 0x{code:02x})," for wait, code in _table(stimulus)]
    return "\n".join(
        [
            *_notes(stimulus, "# "),
            "from machine import Pin",
            "from time import ticks_add, ticks_diff, ticks_us",
            "",
            f"PINS = {tuple(range(2, 2 + len(stimulus.names)))}  # lines in the order above",
            "PATTERN = (  # microseconds, levels (bit 0 is the first line)",
            *rows,
            ")",
            "",
            "pins = [Pin(number, Pin.OUT) for number in PINS]",
            "due = ticks_us()",
            "for hold, levels in PATTERN:",
            "    for number, pin in enumerate(pins):",
            "        pin.value(levels >> number & 1)",
            "    due = ticks_add(due, hold)",
            "    while ticks_diff(due, ticks_us()) > 0:",
            "        pass",
            "",
        ]
    )


WRITERS: Mapping[str, Callable[[Stimulus], str]] = {
    "vcd": vcd,
    "csv": delimited,
    "c": plain_c,
    "py": micropython,
}
"""Ending of a file -> what writes it."""


def _table(stimulus: Stimulus) -> Iterator[tuple[int, int]]:
    """Microseconds that each code holds, and the code."""
    holds = np.diff(np.append(stimulus.times, stimulus.stop))
    yield from zip(holds.tolist(), stimulus.codes.tolist(), strict=True)


def _notes(stimulus: Stimulus, mark: str) -> list[str]:
    limit = (
        [f"Limit the supply to {stimulus.amperes:.2g} A."] if stimulus.amperes is not None else []
    )
    lines = [
        f"Lines: {' '.join(stimulus.names)}. Longest time a phase is on: {stimulus.on:.3g} s.",
        *limit,
        *CAUTIONS,
    ]
    return [mark + line for line in lines]
