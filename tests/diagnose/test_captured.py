"""Records of the example drive become readings; what a record shows is made by hand from the good
board's waveforms, so the right answer is known beforehand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import Compiled
from halfsplit.build.healthy import compile_healthy
from halfsplit.build.transient import Waveforms, run
from halfsplit.build.transient_schedule import read_schedule
from halfsplit.capture.record import HIGH, LOW, Analog, Digital, Record
from halfsplit.diagnose.captured import nets_of_channels, read_capture
from halfsplit.diagnose.overlay import overlay
from halfsplit.errors import UnknownName, WaveError
from halfsplit.parts.vocabulary import PartsVocabulary

SCHEDULE = read_schedule("rest 10ms, hold-A/hold-B/hold-C/hold-D x8 10ms, rest 10ms")
NETS = tuple(f"{stage}{channel}" for stage in "QDE" for channel in "ABCD")
Array = npt.NDArray[np.float64]


@pytest.fixture(scope="module")
def world() -> Compiled:
    source = find_source("plotter-drive")
    return compile_healthy(read_board(source.text, PartsVocabulary(), source=source.where))


@pytest.fixture(scope="module")
def played(world: Compiled) -> Waveforms:
    return run(world, SCHEDULE, places=[f"net {net}" for net in NETS])


def recorded(
    played: Waveforms, instead: dict[str, str], pace: float = 1.0, begins: float = 0.05
) -> Record:
    """Eight bits, noise, half a millisecond a sample; ``instead``: a net shows another's volts, or
    stays at its first or at its highest level."""
    rng = np.random.default_rng(3)
    moments = np.arange(-0.004, pace * SCHEDULE.seconds + 0.003, 5e-4)
    channels = []
    for net in NETS:
        source = instead.get(net, net)
        held = source in ("first", "top")
        volts = played.volts[f"net {net if held else source}"][0]
        if held:
            volts = np.full_like(volts, volts.max() if source == "top" else volts[0])
        seen = np.interp(moments / pace, played.time, volts)
        swing = float(np.ptp(seen)) or 1.0
        seen = np.round((seen + rng.normal(0.0, 0.02 * swing, seen.size)) * 100) / 100
        channels.append(
            Analog(name=net, unit="V", start=begins - 0.004, step=5e-4,
                   samples=seen.astype(np.float32))
        )  # fmt: skip
    return Record(
        source="made", begin=begins - 0.004, end=begins + pace * SCHEDULE.seconds + 0.003,
        channels=tuple(channels),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("instead", "first_bad", "said"),
    [
        ({}, None, {"QA": "right", "DA": "right", "EA": "right"}),
        ({"DB": "first", "EB": "first"}, "DA", {"DA": "DB stuck off", "EA": "EB stuck off"}),
        ({"EC": "top"}, "EA", {"DA": "right", "EA": "EC stuck on"}),
        ({"QA": "QB", "QB": "QA"}, "QA", {"QA": "QA and QB swapped"}),
        ({f"E{c}": "first" for c in "ABCD"}, "EA", {"EA": "all stuck off"}),
        ({"QA": "QB"}, "QA", {"QA": "QA irregular"}),
    ],
)
def test_lines_and_the_first_bad_stage(
    world: Compiled, played: Waveforms, instead: dict[str, str], first_bad: str | None,
    said: dict[str, str],
) -> None:  # fmt: skip
    record = recorded(played, instead, pace=1.09)
    found = read_capture(record, nets_of_channels(record, world), world, SCHEDULE)
    by_stage = {one.nets[0]: one.text for one in found.stages}
    assert {net: by_stage[net] for net in said} == said
    assert (found.first_bad.nets[0] if found.first_bad else None) == first_bad
    assert [one.nets[0] for one in found.stages] == ["QA", "DA", "EA"]


def test_without_the_exercise_the_lines_are_phases(world: Compiled, played: Waveforms) -> None:
    record = recorded(played, {"EB": "first"})
    found = read_capture(record, nets_of_channels(record, world), world)
    assert [one.text for one in found.stages] == ["right", "right", "EB stuck off"]
    assert found.first_bad is not None
    assert "never comes on" in found.first_bad.words


def test_a_late_line_and_a_missing_channel(world: Compiled, played: Waveforms) -> None:
    late = {**played.volts}
    name = "net QC"
    shifted = np.interp(played.time - 0.005, played.time, played.volts[name][0])
    late[name] = np.maximum(played.volts[name], shifted)
    record = recorded(replace(played, volts=late), {})
    kept = tuple(one for one in record.channels if one.name != "DD")
    found = read_capture(
        replace(record, channels=kept), {one.name: one.name for one in kept}, world, SCHEDULE
    )
    assert [one.text for one in found.stages] == ["QC late", "right, DD not recorded", "right"]


def test_levels_that_an_analyser_cannot_tell_are_left_out(world: Compiled) -> None:
    edges = np.array([0, 10_000, 20_000], dtype=np.int64)
    channels = tuple(
        Digital(name=net, tick=1e-6, ticks=edges, values=np.array([LOW, HIGH, LOW], np.uint8))
        for net in ("QA", "DA")
    )
    record = Record(source="made", begin=0.0, end=0.1, channels=channels)
    found = read_capture(record, {"QA": "QA", "DA": "DA"}, world, SCHEDULE)
    assert [one.nets[0] for one in found.stages] == ["QA"]
    assert "record it with a scope" in found.left_out[0]
    with pytest.raises(WaveError, match="say which channel"):
        read_capture(record, {"QA": "RST"}, world, SCHEDULE)
    with pytest.raises(UnknownName):
        nets_of_channels(record, world, {"CH1": "QA"})


def test_overlay_finds_where_the_record_departs(world: Compiled, played: Waveforms) -> None:
    gone = {**played.volts}
    low = float(gone["net QB"].min())
    lost = (played.time > 0.06) & (played.time < 0.07)
    gone["net QB"] = np.where(lost, low, gone["net QB"])
    record = recorded(replace(played, volts=gone), {}, pace=1.05, begins=0.2)
    nets = {net: net for net in ("QA", "QB", "DA")}
    found = overlay(record, nets, world, SCHEDULE)
    assert found.laid.shift == pytest.approx(0.2, abs=1e-3)
    assert found.laid.pace == pytest.approx(1.05, abs=0.011)
    by_net = {pair.net: pair for pair in found.pairs}
    assert by_net["QA"].differs == by_net["DA"].differs == 0.0
    assert by_net["QB"].at == pytest.approx(0.06, abs=1.5e-3)
    assert by_net["QB"].span == pytest.approx(0.01, abs=3e-3)
