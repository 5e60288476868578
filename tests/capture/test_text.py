"""Delimited text as different instruments write it: by hand, and by ngspice."""

from __future__ import annotations

import contextlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.capture.formats import text as text_format
from halfsplit.capture.read import look, read
from halfsplit.capture.record import Record
from halfsplit.errors import CaptureError, HalfsplitError, UnknownName

SCOPE = """Model,none
Sample Interval,2.0E-06,s
Record Length,5

TIME,CH1,CH2
s,V,mV
-4e-06,0.5,100
-2e-06,1.5,200
0,2.5,300
2e-06,3.5,-400
4e-06,4.5,500
"""
EUROPEAN = """Kanal A; Kanal B
1,5;0
2,25;1
-3e-1;1
"""
LEVELS = """; made by hand
Time [ms]\tRESET\tCLK
0.0\t0\t1
0.5\t0\t0
0.75\tx\t1
2.0\t1\tz
"""


@pytest.fixture(params=["numpy", "compiled"], autouse=True)
def engine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both readers say the same; where no compiler was, the second is numpy once more."""
    monkeypatch.setenv("HALFSPLIT_ENGINE", "numpy" if request.param == "numpy" else "")
    return str(request.param)


def write(folder: Path, text: str, name: str = "a.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode())
    return path


def found(path: Path, **choices: str) -> dict[str, str]:
    chosen = {name.replace("_", "-"): value for name, value in choices.items()}
    return {one.name: one.value for one in look(path, choices=chosen).findings}


def levels(record: Record, name: str) -> list[tuple[float, int]]:
    channel = next(one for one in record.digital if one.name == name)
    return list(zip(channel.times.round(12).tolist(), channel.values.tolist(), strict=True))


def test_metadata_names_and_a_row_of_units(tmp_path: Path) -> None:
    path = write(tmp_path, SCOPE)
    assert found(path) == {
        "delimiter": "comma", "decimal": ".", "first": "7", "time": "TIME", "digital": "none",
    }  # fmt: skip
    record = read(path)
    assert record.names == ("CH1", "CH2")
    one, two = record.analog
    assert (one.unit, two.unit) == ("V", "V")
    assert one.samples.tolist() == [0.5, 1.5, 2.5, 3.5, 4.5]
    assert two.samples == pytest.approx([0.1, 0.2, 0.3, -0.4, 0.5])
    assert one.start == pytest.approx(-4e-6)
    assert one.step == pytest.approx(2e-6)
    assert record.remarks == ()


def test_decimal_commas_and_no_time(tmp_path: Path) -> None:
    path = write(tmp_path, EUROPEAN)
    assert found(path)["decimal"] == ","
    record = read(path)
    assert record.names == ("Kanal A", "Kanal B")
    assert record.analog[0].samples == pytest.approx([1.5, 2.25, -0.3])
    assert levels(record, "Kanal B") == [(0.0, 0), (1.0, 1)]
    assert "1 s apart" in record.remarks[0]
    again = read(path, choices={"interval": "10us", "digital": "none"})
    assert again.remarks == ()
    assert again.analog[1].step == 1e-5


def test_levels_with_their_own_times(tmp_path: Path) -> None:
    record = read(write(tmp_path, LEVELS))
    assert levels(record, "RESET") == [(0.0, 0), (0.75e-3, 2), (2e-3, 1)]
    assert levels(record, "CLK") == [(0.0, 1), (0.5e-3, 0), (0.75e-3, 1), (2e-3, 3)]
    assert record.end == pytest.approx(2e-3)


@pytest.mark.parametrize(
    ("text", "delimiter", "decimal", "names"),
    [
        ("1 2\n3 4\n", "blanks", ".", 2),
        ("  1.0   -2e3\n  3.0   4\n", "blanks", ".", 2),
        ("1|2|3\n4|5|6\n", "bar", ".", 3),
        ("1,2,\n3,4,\n", "comma", ".", 2),
        ("1.5\n2.5\n", "comma", ".", 1),
        ("1,5\t2,5\n1,5\t3,5\n", "tab", ",", 2),
        ('"a","b"\n"1.5","2.5"\n"3.5","4"\n', "comma", ".", 2),
        ("\ufeffa;b\r\n1,5;2,5\r\n3,5;4,5\r\n", "semicolon", ",", 2),
        ("# note\n# a b\n1 2\n# half way\n3 5\n", "blanks", ".", 2),
        ("a,b\n1,\n,2\n3,4\n", "comma", ".", 2),
    ],
)
def test_layouts(tmp_path: Path, text: str, delimiter: str, decimal: str, names: int) -> None:
    path = write(tmp_path, text)
    assert (found(path)["delimiter"], found(path)["decimal"]) == (delimiter, decimal)
    assert len(read(path, choices={"time": "none"}).channels) == names


def test_rate_is_an_interval(tmp_path: Path) -> None:
    path = write(tmp_path, "Sampling rate: 250 kHz\nA,B\n0,1.5\n1,2.5\n0,3.0\n")
    record = read(path)
    assert record.digital[0].tick == pytest.approx(4e-6)
    assert record.analog[0].step == pytest.approx(4e-6)


def test_choices_overrule_what_was_found(tmp_path: Path) -> None:
    path = write(tmp_path, "clock,A\n0,0\n1,1\n2,0\n")
    assert found(path)["time"] == "clock"
    record = read(path, choices={"time-unit": "us"})
    assert record.end == pytest.approx(2e-6)
    assert read(path, choices={"time": "none", "interval": "1ms"}).names == ("clock", "A")
    with pytest.raises(UnknownName, match="time"):
        read(path, choices={"tiem": "x"})
    with pytest.raises(UnknownName, match="column"):
        read(path, choices={"time": "B"})
    with pytest.raises(HalfsplitError, match="unit of time"):
        read(path, choices={"time-unit": "V"})


@pytest.mark.parametrize(
    ("text", "said", "line"),
    [
        ("", "empty", 0),
        ("hello\nworld\n", "rows of numbers", 1),
        ("t,A\n0,1.5\n1,2.5\n2,oops\n3,4\n", "oops", 4),
        ("t,A\n0,1.5\n1,2.5\n2,3,4\n", "2,3,4", 4),
        ("t,A\n0,1.5\n1,2.5\n2", "'2'", 4),
        ("t,A\n0,1.5\n2,2.5\n\n1,3.5\n3,3\n4,4\n", "backwards", 5),
    ],
)
def test_damage_is_said_with_its_line(tmp_path: Path, text: str, said: str, line: int) -> None:
    path = write(tmp_path, text)
    with pytest.raises(CaptureError, match=said) as caught:
        read(path, format="text", choices={} if line < 4 else {"time": "t"})
    assert caught.value.line == line


def test_what_was_readable_can_be_kept(tmp_path: Path) -> None:
    path = write(tmp_path, "t,A\n0,1.5\n1,2.5\n2,oops\n3,4\n")
    record = read(path, keep_readable=True)
    assert record.analog[0].samples.tolist() == [1.5, 2.5]
    assert any("line 4" in remark for remark in record.remarks)


def test_blocks_of_any_size_give_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write(tmp_path, LEVELS)
    whole = read(path)
    monkeypatch.setattr(text_format, "_BLOCK", 9)
    parts = read(path)
    assert levels(parts, "CLK") == levels(whole, "CLK")
    assert (parts.begin, parts.end) == (whole.begin, whole.end)


NUMBERS = st.floats(-1e12, 1e12, allow_nan=False).map(repr) | st.sampled_from(
    ["1e-30", "-0", "+3.", ".5", "123456789012345678901234567890", "1E+4", "9007199254740993"]
)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=2, max_size=20))
def test_numbers_read_as_python_reads_them(tmp_path: Path, rows: list[tuple[str, str]]) -> None:
    path = write(tmp_path, "".join(f"{a};{b}\n" for a, b in rows))
    choices = {"time": "none", "digital": "none", "interval": "1s"}
    record = read(path, choices=choices)
    for channel, column in zip(record.analog, zip(*rows, strict=True), strict=True):
        assert channel.samples.tolist() == [np.float32(float(field)) for field in column]


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from([SCOPE, EUROPEAN, LEVELS, ""]),
    st.binary(max_size=30),
    st.integers(0, 200),
    st.integers(0, 30),
)
def test_nothing_but_our_own_error(
    tmp_path: Path, text: str, junk: bytes, at: int, gone: int
) -> None:
    raw = text.encode()
    path = tmp_path / "a.csv"
    path.write_bytes(raw[:at] + junk + raw[at + gone :])
    for keep in (False, True):
        with contextlib.suppress(HalfsplitError):
            assert read(path, keep_readable=keep).channels


def test_columns_of_another_simulator() -> None:
    """ngspice's wrdata repeats the time before every vector and writes no names.

    An RC of 1 kilohm and 1 microfarad on 1 V: v(t) = 1 - exp(-t / RC).
    """
    record = read(Path(__file__).parents[1] / "truth" / "captures" / "charge.txt")
    out, drive = record.analog
    assert len(record.channels) == 2
    asked = np.array([1e-3, 2e-3, 4e-3])
    assert out.at(asked) == pytest.approx(1 - np.exp(-asked / 1e-3), abs=2e-3)
    assert drive.at(asked) == pytest.approx([1, 1, 1])
