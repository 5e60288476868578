"""Drawings of boards with 28, 60 and 136 parts: crossings, overlaps, length of wire, time.

    python benchmarks/drawing.py [--rounds 5] [--svg FOLDER]

The boards are made from the blocks that boards of the time are made from: a controller with a bus,
latches, decoders, gates, driver channels, inputs from a connector, comparators. Times are medians,
and stand beside that of reading the same board file in the same run.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from pathlib import Path

from halfsplit.board.reader import read_board
from halfsplit.draw.layout import lay_out
from halfsplit.draw.measure import quality
from halfsplit.draw.svg import svg_text
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic.sheet import sheet_of

SIZES = (28, 60, 136)


def board_text(parts: int) -> str:
    """A board with that many parts."""
    lines: list[str] = []
    outs, ins = [], []
    numbers = dict.fromkeys("RCDQUJL", 0)

    def part(letter: str, words: str) -> None:
        if len(lines) < parts - 1:
            numbers[letter] += 1
            lines.append(f"{letter}{numbers[letter]} {words}")

    block = 0
    while len(lines) < parts - 1:
        outs += [f"P{block}{bit}" for bit in "abcd"]
        _drivers(part, block)
        ins += [f"S{block}", f"H{block}"]
        _inputs(part, block)
        _decoder(part, block)
        block += 1
    out = " ".join(f"{10 + at}={net}" for at, net in enumerate(["STB", "RUN", *outs]))
    taken = " ".join(f"{80 + at}={net}" for at, net in enumerate(ins))
    lines.append(f"U90 controller family=nmos out {out} in {taken} supply 1=+5 ground 2=GND")
    head = ['board "Made for measuring"', "rail +5 5V", "rail +24 24V"]
    return "\n".join([*head, *lines, ""])


Part = Callable[[str, str], None]


def _drivers(part: Part, b: int) -> None:
    """A latch, and four channels of gate, transistor, Darlington and clamp to a connector."""
    part("U", f"74LS175 1=+5 [4,5,12,13]=P{b}[a-d] 9=STB [2,7,10,15]=Q{b}[a-d]")
    part("U", f"7438 [1,4,9,12]=Q{b}[a-d] [2,5,10,13]=RUN [3,6,8,11]=D{b}[a-d]")
    for c in "abcd":
        part("R", f"2k2 +5 D{b}{c}")
        part("Q", f"2N2222 c=E{b}{c} b=D{b}{c} e=GND")
        part("R", f"680 +5 E{b}{c}")
        part("Q", f"TIP120 c=C{b}{c} b=E{b}{c} e=GND")
        part("D", f"1N4002 a=C{b}{c} k=+24")
    part("J", f"connector [1-4]=C{b}[a-d] 5=+24")
    part("C", "100n +5 GND")


def _inputs(part: Part, b: int) -> None:
    """A switch behind a filter and a Schmitt inverter, a sensor with a comparator."""
    part("J", f"connector 1=SW{b} 2=GND 3=SENS{b}")
    part("R", f"4k7 +5 SW{b}")
    part("R", f"1k SW{b} SF{b}")
    part("C", f"100n SF{b} GND")
    part("U", f"74LS14 1=SF{b} 2=S{b}")
    part("R", f"10k +5 SENS{b}")
    part("R", f"10k +5 REF{b}")
    part("R", f"10k REF{b} GND")
    part("U", f"LM393 3=REF{b} 2=SENS{b} 1=H{b} 8=+5 4=GND")
    part("R", f"4k7 +5 H{b}")
    part("R", f"470k REF{b} H{b}")


def _decoder(part: Part, b: int) -> None:
    """Selects a flip-flop that drives a lamp."""
    part("U", f"74LS138 1=Q{b}a 2=Q{b}b 3=Q{b}c 4=STB 5=GND 6=RUN 15=y{b}0 14=y{b}1")
    part("U", f"74LS32 1=y{b}0 2=STB 3=set{b} 4=y{b}1 5=STB 6=clr{b}")
    part("U", f"74LS74 4=set{b} 1=clr{b} 2=+5 3=GND 5=F{b}")
    part("U", f"7406 1=F{b} 2=K{b}")
    part("R", f"330 +5 A{b}")
    part("D", f"led ? a=A{b} k=K{b}")
    part("C", "100n +5 GND")


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--svg", type=Path)
    args = options.parse_args()
    vocabulary = PartsVocabulary()
    print("parts boxes crossings overlaps through    length  bends        size   ms  x reading")
    for size in SIZES:
        text = board_text(size)
        reading, drawing = [], []
        for _ in range(args.rounds):
            start = time.perf_counter()
            board = read_board(text, vocabulary)
            read = time.perf_counter()
            sheet = sheet_of(board)
            begun = time.perf_counter()
            drawn = lay_out(sheet)
            drawing.append(time.perf_counter() - begun)
            reading.append(read - start)
        found = quality(drawn)
        ms, of = statistics.median(drawing) * 1e3, statistics.median(reading) * 1e3
        print(
            f"{len(board.parts):5} {len(drawn.boxes):5} {found.crossings:9} {found.overlaps:8} "
            f"{found.through:7} {found.length:9} {found.bends:6} "
            f"{found.width:5} x {found.height:4} {ms:4.0f} {ms / of:10.1f}"
        )
        if args.svg:
            (args.svg / f"drawing-{size}.svg").write_text(svg_text(drawn, board.title))


if __name__ == "__main__":
    main()
