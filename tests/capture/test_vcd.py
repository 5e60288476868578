"""VCD read in numpy and by the compiled reader: against an independent writer, the examples of the
standard, and damage of every kind. The writer is pyvcd (a library of its own from the registry).
"""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.capture import compiled
from halfsplit.capture.formats import _vcd_body, _vcd_changes, _vcd_compiled, _vcd_sort, vcd
from halfsplit.capture.formats._vcd_header import parse_header
from halfsplit.capture.read import read
from halfsplit.capture.record import Record
from halfsplit.errors import CaptureError, HalfsplitError

TRUTH = Path(__file__).parents[1] / "truth"
HEADER = """$date today $end $version a
 tool $end
$comment several $var wire 1 ! no $end
$timescale
   10
ns $end
$scope module top $end
$var wire 1 ! CLK $end
$var reg 4 # bus [3:0] $end
$scope module low $end
$var wire 1 ! alias $end
$var real 64 r$ volts $end
$upscope $end $var event 1 $end! tick $end
$upscope $end $enddefinitions $end
"""
BODY = """#0 $dumpvars x! bx #
r0.5 r$ $end
#5 1! b1 # $comment #99 0! $end
#7\t\tr-1.25e1 r$ 1$end!
#9 $dumpoff x! bx # $end
#12 $dumpon 0! b01z0 # $end
#12 1! 0! 1$end!
"""


@pytest.fixture(params=["numpy", "compiled"])
def engine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both readers say the same; where no compiler was, the second is numpy once more."""
    monkeypatch.setenv("HALFSPLIT_ENGINE", "numpy" if request.param == "numpy" else "")
    return str(request.param)


def write(folder: Path, text: str | bytes, name: str = "a.vcd") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def edges(record: Record, name: str) -> list[tuple[int, int]]:
    channel = next(one for one in record.digital if one.name == name)
    return list(zip(channel.ticks.tolist(), channel.values.tolist(), strict=True))


@pytest.mark.usefixtures("engine")
def test_all_that_the_standard_allows(tmp_path: Path) -> None:
    """IEEE 1364-2005, 18.2 (from memory): left extension, dump commands, free white space."""
    record = read(write(tmp_path, HEADER + BODY))
    assert record.names == (
        "CLK", "bus[3]", "bus[2]", "bus[1]", "bus[0]", "low.alias", "low.volts", "tick",
    )  # fmt: skip
    assert record.digital[0].tick == 1e-8
    assert (record.begin, record.end) == pytest.approx((0.0, 12e-8))
    assert edges(record, "CLK") == [(0, 2), (5, 1), (9, 2), (12, 0)]
    assert edges(record, "low.alias") == edges(record, "CLK")
    assert edges(record, "bus[3]") == [(0, 2), (5, 0), (9, 2), (12, 0)]
    assert edges(record, "bus[2]") == [(0, 2), (5, 0), (9, 2), (12, 1)]
    assert edges(record, "bus[1]") == [(0, 2), (5, 0), (9, 2), (12, 3)]
    assert edges(record, "bus[0]") == [(0, 2), (5, 1), (9, 2), (12, 0)]
    assert edges(record, "tick") == [(7, 1), (12, 0)]
    (volts,) = record.analog
    assert volts.samples.tolist() == [0.5, -12.5]
    assert volts.seconds == pytest.approx([0.0, 7e-8])
    assert volts.held


@pytest.mark.usefixtures("engine")
def test_what_another_writer_wrote(tmp_path: Path) -> None:
    from vcd.writer import VCDWriter

    rng = np.random.default_rng(3)
    text = io.StringIO()
    wanted: dict[int, list[tuple[int, int]]] = {k: [] for k in range(200)}
    with VCDWriter(text, timescale="1 us", date="today") as writer:
        lines = [writer.register_var("board", f"n{k}", "wire", size=1, init=0) for k in wanted]
        word = writer.register_var("board", "word", "reg", size=8, init="x")
        level = writer.register_var("board", "level", "real", init=0.0)
        for k in wanted:
            wanted[k].append((0, 0))
        for time in range(1, 2000):
            k, value = int(rng.integers(200)), int(rng.integers(2))
            writer.change(lines[k], time, value)
            if wanted[k][-1][1] != value:
                wanted[k].append((time, value))
            if time % 100 == 0:
                writer.change(word, time, time // 100)
                writer.change(level, time, time / 8)
    record = read(write(tmp_path, text.getvalue()))
    for k, expected in wanted.items():
        assert edges(record, f"n{k}") == expected
    asked = (np.arange(100, 2000, 100) + 0.5) * 1e-6
    bits = np.array([record.channel(f"word[{bit}]").at(asked) for bit in range(8)])
    assert (2 ** np.arange(8) @ bits).tolist() == [*range(1, 20)]
    assert record.channel("level").at(asked).tolist() == [k * 100 / 8 for k in range(1, 20)]


@pytest.mark.usefixtures("engine")
@pytest.mark.parametrize(
    ("text", "said", "line"),
    [
        (HEADER + "#5 1!\n#4 0!\n", "backwards.*#4", 16),
        (HEADER + "#5\n1?\n", "not declared", 16),
        (HEADER + "#5 1\n", "without the code", 15),
        (HEADER + "#5 b01\n", "without the code", 15),
        (HEADER + "#5 b0q1 #\n", "0, 1, x and z", 15),
        (HEADER + "#5x\n", "whole ticks", 15),
        (HEADER + "#99999999999999999999 1!", "whole ticks", 15),
        (HEADER + "#5\nr1.0 !\n", "real value for a digital", 16),
        (HEADER + "#5\n\n$what 1!\n", r"\$what", 17),
        (HEADER + "#5 1!\n\0\0\0\0#6", "expected a time", 16),
        (HEADER[:-5], "enddefinitions", 0),
        ("$var wire 1 !\n", "enddefinitions", 0),
        ("$var wire ! $end", "WIDTH", 0),
        ("$timescale 3 parsecs $end $enddefinitions $end", "timescale", 0),
        ("$var wire 99999999 ! a $end $enddefinitions $end", "65535", 0),
        ("$upscope $end $enddefinitions $end", "upscope", 0),
        ("$var wire 1 ! a $end $dumpvars 1! $end", "before the first values", 0),
    ],
)
def test_damage_is_said_with_its_place(tmp_path: Path, text: str, said: str, line: int) -> None:
    with pytest.raises(CaptureError, match=said) as caught:
        read(write(tmp_path, text))
    assert caught.value.line == line
    assert caught.value.byte or not line


@pytest.mark.usefixtures("engine")
def test_what_was_readable_can_be_kept(tmp_path: Path) -> None:
    path = write(tmp_path, HEADER + "#5 1!\n#8 0!\n#9 oops 1!\n#10 1!\n")
    record = read(path, keep_readable=True)
    assert edges(record, "CLK") == [(5, 1), (8, 0)]
    assert any("oops" in remark for remark in record.remarks)
    assert record.end == pytest.approx(9e-8)


@pytest.mark.usefixtures("engine")
def test_blocks_cut_anywhere_give_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write(tmp_path, HEADER + BODY)
    whole = read(path)
    for size in (1, 7, 16, 40):
        monkeypatch.setattr(vcd, "_BLOCK", size)
        parts = read(path)
        for one, other in zip(whole.channels, parts.channels, strict=True):
            assert one.at(np.arange(0, 14) * 1e-8).tolist() == pytest.approx(
                other.at(np.arange(0, 14) * 1e-8).tolist(), nan_ok=True
            )


@pytest.mark.usefixtures("engine")
def test_an_end_that_may_be_cut_is_doubted(tmp_path: Path) -> None:
    whole, cut = (read(write(tmp_path, HEADER + BODY + end)) for end in ("#1234\n", "#12"))
    assert not whole.remarks
    assert "may be cut" in cut.remarks[0]


def test_the_tick_can_be_set_right(tmp_path: Path) -> None:
    path = write(tmp_path, "$var wire 1 ! a $end $enddefinitions $end #3 1!")
    assert "1 ns" in read(path).remarks[0]
    assert read(path, choices={"tick": "1us"}).end == pytest.approx(3e-6)


PIECES = st.sampled_from(
    ["#3", "#12", "0!", "x!", "b10 #", "bz #", "r1.5 r$", "$end", "$dumpall", "$comment a #1 $end",
     "1$end!", "b # ", "rr r$", "#", "1", "$comment", "b1", "b1 b1", "1#", "\0", "é", "#20"]
)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.lists(PIECES, max_size=25), st.sampled_from([" ", "\n", "\r\n", " \t "]))
def test_both_readers_say_the_same(pieces: list[str], gap: str) -> None:
    library = compiled.load(str(compiled.library_path()))
    header = parse_header(HEADER.encode(), "x")
    assert header is not None
    codes = _vcd_changes.Codes(header.variables)
    text = gap.join(pieces).encode() + b"\n"
    one = _vcd_body.parse(text, codes, 0)
    if library is None:
        assert one.now >= 0
        return
    other = _vcd_compiled.Parser(library).parse(text, codes, 0)
    assert (one.problem, one.at) == (other.problem, other.at)
    assert (one.now, one.first, list(one.real)) == (other.now, other.first, list(other.real))
    assert one.real_tick.tolist() == other.real_tick.tolist()
    assert one.real_slot.tolist() == other.real_slot.tolist()
    # Bits of a vector come in another order; what counts is the order within each slot.
    every = np.array([0, 0, 0, 0, 0, 1], dtype=np.uint8)
    last = np.full((2, every.size), 255, dtype=np.uint8)
    shown = []
    for starts, counts, ticks, values in (
        _vcd_sort.group(one, every, last[0]),
        _vcd_compiled.group(library, other, every, last[1]),
    ):
        spans = [slice(a, a + n) for a, n in zip(starts, counts, strict=True)]
        shown.append([(ticks[span].tolist(), values[span].tolist()) for span in spans])
    assert shown[0] == shown[1]
    assert last[0].tolist() == last[1].tolist()


@pytest.mark.usefixtures("engine")
@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.binary(max_size=40),
    st.integers(0, len(HEADER + BODY)),
    st.integers(0, 30),
)
def test_nothing_but_our_own_error(tmp_path: Path, junk: bytes, at: int, gone: int) -> None:
    text = (HEADER + BODY).encode()
    path = write(tmp_path, text[:at] + junk + text[at + gone :])
    for keep in (False, True):
        with contextlib.suppress(HalfsplitError):
            assert read(path, keep_readable=keep, format="vcd").end >= 0
