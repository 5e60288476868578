"""Stimuli that play the controller's part: laid out, limited, written in four ways."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hatch_build import find_compiler
from tests.waves.played import ONE_ON
from vcd.reader import TokenKind, tokenize

from halfsplit.capture.read import read
from halfsplit.errors import UnknownName, WaveError
from halfsplit.waves.account import account
from halfsplit.waves.channels import lines_of
from halfsplit.waves.exercise import (
    Limits,
    Move,
    Plan,
    Stimulus,
    excitation_named,
    stimulus,
)
from halfsplit.waves.stimulus_text import WRITERS

COIL = Limits(volts=12, ohms=30)


def plan(*moves: Move, name: str = "one phase on", low: bool = False) -> Plan:
    return Plan(
        excitation=excitation_named(name, 4), names=("A", "B", "C", "D"), moves=moves,
        active_low=low,
    )  # fmt: skip


def codes_of(played: Stimulus) -> list[str]:
    return ["".join(str(code >> i & 1) for i in range(4)) for code in played.codes.tolist()]


def test_a_move_goes_through_the_published_sequence_at_its_rate() -> None:
    played = stimulus(plan(Move(steps=6, rate=100.0)), COIL)
    assert codes_of(played) == ["0000", *ONE_ON, *ONE_ON[:3], "0000"]
    np.testing.assert_allclose(np.diff(played.times[1:-1]), 10_000)
    # 12 V over 30 ohm (Ohm's law), and a fifth more for the limit.
    assert played.amperes == pytest.approx(0.4 * 1.2)
    assert played.on == pytest.approx(0.05)  # the hold after the last step
    back = stimulus(plan(Move(steps=-2, rate=100.0), low=True), COIL)
    assert codes_of(back) == ["1111", "0111", "1110", "1101", "1111"]


def test_a_ramp_accelerates_evenly() -> None:
    played = stimulus(plan(Move(steps=20, rate=300.0, ramp=8)), COIL)
    rates = 1e6 / np.diff(played.times[1:-1])
    assert rates[0] == pytest.approx(100.0, rel=1e-3)
    assert rates.max() == pytest.approx(300.0, rel=2e-3)
    # v^2 = v0^2 + 2 a s: the squares rise by equal amounts from step to step.
    np.testing.assert_allclose(np.diff(rates[:9] ** 2), (300.0**2 - 100.0**2) / 8, rtol=0.02)
    np.testing.assert_allclose(rates, rates[::-1], rtol=5e-3)


def test_a_coil_is_not_cooked() -> None:
    held = Move(steps=4, rate=50.0, hold=1.5)
    with pytest.raises(WaveError, match=r"on for 1\.5 s.*1 s is the longest"):
        stimulus(plan(held), COIL)
    assert stimulus(plan(held), Limits(volts=12, ohms=30, longest=2.0)).on == pytest.approx(1.5)
    # Twice the rated voltage is four times the heat (P = V^2/R).
    assert Limits(volts=24, ohms=30, rated=12).longest_on == pytest.approx(0.25)
    with pytest.raises(WaveError, match="longest"):
        stimulus(plan(Move(steps=1, rate=2.0)), Limits(volts=24, ohms=30, rated=12))


def test_nonsense_is_refused() -> None:
    for bad in (Move(steps=0, rate=50.0), Move(steps=1, rate=0.0), Move(steps=1, rate=np.nan)):
        with pytest.raises(WaveError, match="some steps at up to"):
            stimulus(plan(bad))
    with pytest.raises(WaveError, match="0 or more"):
        stimulus(plan(Move(steps=1, rate=50.0, hold=-1.0)))
    with pytest.raises(WaveError, match="at least one move"):
        stimulus(plan())
    with pytest.raises(UnknownName, match="half step"):
        excitation_named("halfstep", 4)
    with pytest.raises(WaveError, match="3, 4 or 5 phases"):
        excitation_named("one phase on", 6)


MOVES = (Move(steps=30, rate=250.0, ramp=4, pause=0.1), Move(steps=-20, rate=250.0, ramp=4))


@pytest.mark.parametrize("name", ["one phase on", "two phases on", "half step"])
def test_what_is_written_as_a_dump_is_read_back_as_right(name: str, tmp_path: Path) -> None:
    played = stimulus(plan(*MOVES, name=name), COIL)
    (tmp_path / "x.vcd").write_text(WRITERS["vcd"](played))
    lines, _ = lines_of(read(tmp_path / "x.vcd"))
    found = account(lines, phases=4, active_low=False, order_known=True, first_way=1)
    assert found.explanation.kind == "right"
    assert found.found.best.sequence.name == name
    assert (found.ledger.forward, found.ledger.backward) == (30, 20)
    np.testing.assert_allclose(lines[0].edges, played.lines()[0].edges, atol=1e-9)


def test_delimited_text_has_a_row_for_every_change(tmp_path: Path) -> None:
    played = stimulus(plan(*MOVES), COIL)
    (tmp_path / "x.csv").write_text(WRITERS["csv"](played))
    table = np.genfromtxt(tmp_path / "x.csv", delimiter=",", skip_header=1)
    np.testing.assert_allclose(table[:-1, 0] * 1e6, played.times)
    assert (table[:-1, 1:] @ [1, 2, 4, 8]).astype(int).tolist() == played.codes.tolist()


def test_micropython_plays_the_pattern_in_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Run on stand-ins of the modules machine and time, as MicroPython documents them."""
    played = stimulus(plan(*MOVES), COIL)
    now = [0]
    levels = [0, 0, 0, 0]
    seen: list[tuple[int, int]] = []

    class Pin:
        OUT = 1

        def __init__(self, number: int, mode: int) -> None:
            self.index = number - 2

        def value(self, level: int) -> None:
            levels[self.index] = level
            if self.index == 3:
                seen.append((now[0], sum(bit << i for i, bit in enumerate(levels))))

    machine, time = ModuleType("machine"), ModuleType("time")
    machine.Pin = Pin  # type: ignore[attr-defined]
    time.ticks_us = lambda: now[0]  # type: ignore[attr-defined]
    time.ticks_add = lambda a, b: a + b  # type: ignore[attr-defined]

    def until(a: int, b: int) -> int:
        now[0] = a
        return 0

    time.ticks_diff = until  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "machine", machine)
    monkeypatch.setitem(sys.modules, "time", time)
    exec(compile(WRITERS["py"](played), "x.py", "exec"), {})  # noqa: S102 - the program's own text
    assert [code for _, code in seen] == played.codes.tolist()
    assert [at for at, _ in seen] == played.times.tolist()


HARNESS = """
#include <stdint.h>
#include <stdio.h>

static uint32_t now;
static unsigned levels;

void set_line(unsigned number, unsigned level)
{
    levels = (levels & ~(1u << number)) | level << number;
}

void wait_us(uint32_t microseconds)
{
    printf("%lu %u\\n", (unsigned long)now, levels);
    now += microseconds;
}

void exercise(void);

int main(void)
{
    exercise();
    printf("%lu %u\\n", (unsigned long)now, levels);
    return 0;
}
"""


def test_c_compiles_without_a_warning_and_plays_what_the_dump_says(tmp_path: Path) -> None:
    """Run on stand-ins of the board's own two functions; the dump is read by pyvcd."""
    played = stimulus(plan(*MOVES, low=True), COIL)
    (tmp_path / "pattern.c").write_text(WRITERS["c"](played))
    (tmp_path / "harness.c").write_text(HARNESS)
    program = tmp_path / "play.exe"
    built = subprocess.run(
        [*find_compiler(), "-std=c99", "-pedantic", "-Wall", "-Wextra", "-Werror",
         "-Wno-missing-prototypes", "-o", str(program), "pattern.c", "harness.c"],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert built.returncode == 0, built.stderr
    out = subprocess.run([str(program)], capture_output=True, text=True, check=True).stdout
    seen = [tuple(map(int, row.split())) for row in out.splitlines()]
    assert seen == [*dumped(WRITERS["vcd"](played)), (played.stop, seen[-1][1])]
    assert "5 V tolerant" in WRITERS["c"](played)
    assert "Limit the supply" in WRITERS["c"](played)


def dumped(text: str) -> list[tuple[int, int]]:
    """Time and code of every change, as an independent reader has them."""
    marks: dict[str, int] = {}
    rows: list[tuple[int, int]] = []
    now = code = 0
    for token in tokenize(io.BytesIO(text.encode())):
        if token.kind is TokenKind.VAR:
            marks[token.var.id_code] = len(marks)
        elif token.kind is TokenKind.CHANGE_TIME:
            rows.append((now, code))
            now = token.time_change
        elif token.kind is TokenKind.CHANGE_SCALAR:
            bit = marks[token.scalar_change.id_code]
            code = code & ~(1 << bit) | int(token.scalar_change.value) << bit
    return rows[1:]
