"""Records by hand: what is held, what a window keeps, how parts are joined."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.capture.record import (
    HIGH,
    LOW,
    UNKNOWN,
    Analog,
    Digital,
    Record,
    digital_from_samples,
    join,
)
from halfsplit.errors import CaptureError, UnknownName


def clock(*pairs: tuple[int, int]) -> Digital:
    """A channel with these edges, on a grid of 1 µs."""
    ticks, values = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return Digital(name="CLK", tick=1e-6, ticks=ticks, values=values.astype(np.uint8))


def test_a_level_holds_from_its_edge_to_the_next() -> None:
    line = clock((2, HIGH), (5, LOW))
    asked = [1.9e-6, 2e-6, 4.9e-6, 5e-6, 1.0]
    assert line.at(asked).tolist() == [UNKNOWN, HIGH, HIGH, LOW, LOW]
    assert line.times == pytest.approx([2e-6, 5e-6])


def test_window_of_edges_begins_with_what_was_held() -> None:
    line = clock((2, HIGH), (5, LOW), (9, HIGH))
    cut = line.window(3e-6, 9e-6)
    assert cut.ticks.tolist() == [3, 5]
    assert cut.values.tolist() == [HIGH, LOW]
    assert line.window(5e-6, 6e-6).ticks.tolist() == [5]
    assert line.window(0.0, 1e-6).ticks.tolist() == []


def test_samples_lie_on_a_line_and_held_ones_on_a_stair() -> None:
    samples = np.array([0.0, 2.0], dtype=np.float32)
    line = Analog(name="A", unit="V", samples=samples, start=1.0, step=1.0)
    stair = Analog(name="A", unit="V", samples=samples, times=np.array([1.0, 2.0]), held=True)
    assert line.at([1.0, 1.5, 2.0]).tolist() == [0.0, 1.0, 2.0]
    assert np.isnan(line.at([0.5, 2.5])).all()
    assert stair.at([1.0, 1.5, 2.0, 9.0]).tolist() == [0.0, 0.0, 2.0, 2.0]
    assert np.isnan(stair.at(0.5))


def test_window_of_samples() -> None:
    even = Analog(name="A", unit="V", samples=np.arange(10, dtype=np.float32), start=0.1, step=0.1)
    cut = even.window(0.3, 0.6)
    assert cut.samples.tolist() == [2.0, 3.0, 4.0]
    assert cut.start == pytest.approx(0.3)
    stair = Analog(
        name="A", unit="V", samples=np.array([7, 8, 9], np.float32), held=True,
        times=np.array([1.0, 2.0, 3.0]),
    )  # fmt: skip
    cut = stair.window(1.5, 3.0)
    assert cut.times is not None
    assert cut.times.tolist() == [1.5, 2.0]
    assert cut.samples.tolist() == [7.0, 8.0]


def test_a_record_names_its_channels() -> None:
    record = Record(source="x", begin=0.0, end=1.0, channels=(clock((0, LOW)),))
    assert record.channel("CLK") is record.digital[0]
    assert record.analog == ()
    with pytest.raises(UnknownName, match="CLK"):
        record.channel("CLOK")


@given(st.lists(st.integers(0, 3), min_size=1, max_size=40), st.integers(1, 5))
def test_samples_come_back_from_their_edges(values: list[int], every: int) -> None:
    line = digital_from_samples("D", values, tick=1e-6, first=3, every=every)
    assert line.at((3 + every * np.arange(len(values))) * 1e-6).tolist() == values


@given(st.integers(0, 30), st.lists(st.integers(0, 1), min_size=2, max_size=30))
def test_halves_of_a_record_join_to_the_whole(cut: int, values: list[int]) -> None:
    line = digital_from_samples("D", values, tick=1.0)
    row = Analog(name="A", unit="V", samples=np.array(values, np.float32), step=1.0)
    whole = Record(source="x", begin=0.0, end=float(len(values)), channels=(line, row))
    middle = float(min(cut, len(values)))
    again = join((whole.window(0.0, middle), whole.window(middle, whole.end)))
    assert again.end == whole.end
    assert again.digital[0].ticks.tolist() == line.ticks.tolist()
    assert again.digital[0].values.tolist() == line.values.tolist()
    assert again.analog[0].samples.tolist() == row.samples.tolist()
    assert again.analog[0].start == 0.0


def test_records_of_other_channels_do_not_join() -> None:
    one = Record(source="x", begin=0.0, end=1.0, channels=(clock((0, LOW)),))
    other = Record(source="x", begin=1.0, end=2.0, channels=())
    with pytest.raises(CaptureError, match="CLK"):
        join((one, other))
    with pytest.raises(CaptureError, match="none"):
        join(())
