"""What is written reads back the same, by our readers and by another's VCD reader (pyvcd)."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.capture.read import read
from halfsplit.capture.record import Analog, Channel, Digital, Record
from halfsplit.capture.write import text_lines, vcd_lines, write_text, write_vcd
from halfsplit.errors import CaptureError


def line(name: str, tick: float, *pairs: tuple[int, int]) -> Digital:
    ticks, values = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return Digital(name=name, tick=tick, ticks=ticks, values=values.astype(np.uint8))


def made(*channels: Channel, end: float = 1e-3, begin: float = 0.0) -> Record:
    return Record(source="made", begin=begin, end=end, channels=channels)


def both() -> Record:
    return made(
        line("PH A", 4e-6, (0, 0), (5, 1), (50, 3)),
        line("PH B", 5e-6, (0, 2), (4, 1)),
        Analog(name="I", unit="A", samples=np.array([0.5, 1.25, -2], np.float32), step=2.5e-4),
    )


def test_vcd_reads_back(tmp_path: Path) -> None:
    write_vcd(both(), tmp_path / "a.vcd")
    record = read(tmp_path / "a.vcd")
    assert record.names == ("PH_A", "PH_B", "I")
    assert record.end == pytest.approx(1e-3)
    for one, other in zip(both().digital, record.digital, strict=True):
        assert other.times == pytest.approx(one.times)
        assert other.values.tolist() == one.values.tolist()
    assert record.analog[0].samples.tolist() == [0.5, 1.25, -2.0]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.vcd"]


def test_another_reader_reads_our_vcd() -> None:
    from vcd.reader import TokenKind, tokenize

    text = "\n".join(vcd_lines(both())) + "\n"
    tokens = list(tokenize(io.BytesIO(text.encode())))
    assert [t.var.reference for t in tokens if t.kind is TokenKind.VAR] == ["PH_A", "PH_B", "I"]
    assert [str(t.timescale) for t in tokens if t.kind is TokenKind.TIMESCALE] == ["1 us"]
    times = [t.time_change for t in tokens if t.kind is TokenKind.CHANGE_TIME]
    assert times == [0, 20, 200, 250, 500, 1000]
    assert sum(t.kind is TokenKind.CHANGE_SCALAR for t in tokens) == 5


@pytest.mark.parametrize(("delimiter", "decimal"), [(",", "."), (";", ","), ("\t", ",")])
def test_text_reads_back(tmp_path: Path, delimiter: str, decimal: str) -> None:
    write_text(both(), tmp_path / "a.csv", delimiter=delimiter, decimal=decimal)
    record = read(tmp_path / "a.csv")
    assert record.names == ("PH A", "PH B", "I")
    assert record.analog[0].unit == "A"
    for one, other in zip(both().digital, record.digital, strict=True):
        assert other.times == pytest.approx(one.times)
        assert other.values.tolist() == one.values.tolist()
    assert record.analog[0].at(2.5e-4) == pytest.approx(1.25)


def test_what_cannot_be_written_is_said(tmp_path: Path) -> None:
    with pytest.raises(CaptureError, match="before 0"):
        list(vcd_lines(made(begin=-1e-3)))
    with pytest.raises(CaptureError, match="no \\$timescale"):
        list(vcd_lines(made(line("A", 1 / 3e17, (0, 1)))))
    with pytest.raises(CaptureError, match="cannot be written"):
        write_text(made(), tmp_path / "none" / "a.csv")
    assert next(iter(text_lines(made()))) == "Time (s)"


EDGES = st.lists(st.tuples(st.integers(1, 50), st.integers(0, 3)), min_size=1, max_size=30)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(EDGES, min_size=1, max_size=5), st.sampled_from([1e-9, 1e-6, 2e-5, 1e-3]))
def test_any_edges_come_back(
    tmp_path: Path, rows: list[list[tuple[int, int]]], tick: float
) -> None:
    lines = []
    for number, row in enumerate(rows):
        ticks = np.cumsum([step for step, _ in row])
        pairs = [
            (int(t), v) for k, (t, (_, v)) in enumerate(zip(ticks, row, strict=True))
            if not k or row[k - 1][1] != v
        ]  # fmt: skip
        lines.append(line(f"L{number}", tick, *pairs))
    end = max(float(one.times[-1]) for one in lines)
    write_vcd(made(*lines, end=end), tmp_path / "a.vcd")
    back = read(tmp_path / "a.vcd")
    assert back.end == pytest.approx(end)
    for one, other in zip(lines, back.digital, strict=True):
        assert (other.ticks * round(other.tick / 1e-9)).tolist() == pytest.approx(
            one.ticks * round(tick / 1e-9)
        )
        assert other.values.tolist() == one.values.tolist()
