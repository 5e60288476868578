"""The bench: log, clock and belief together."""

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Thread

import pytest

from halfsplit.bench import Bench
from halfsplit.checks.kind import Check, Limits, Reading
from halfsplit.diagnose.told import ReadingEntry, reading_data, reading_of
from halfsplit.errors import BoardError, CaseError, ConflictError, ReadingError
from halfsplit.opencase import OpenCase
from halfsplit.store.event import Event
from halfsplit.store.log import CaseLog

DIVIDER = """\
board "Divider"
rail +5 5V
R1 10k +5 MID
R2 10k MID GND
testpoint TP1 MID
state on
output "middle" volts MID above 2V
"""
KEPT = 1e-5
"""Predictions kept on disk are in single precision, 24 bits of it (IEEE 754)."""
MIDDLE = Check(kind="volts", places=("TP1",), state="on")


class Clock:
    """A minute later each time it is asked."""

    def __init__(self) -> None:
        self.now = datetime(2024, 2, 29, 12, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with Bench.create(tmp_path / "case.hsplit", DIVIDER, clock=Clock()) as made:
        yield made


def test_belief_is_the_same_however_it_was_come_by(bench: Bench) -> None:
    bench.enter(MIDDLE, "5")
    bench.enter("ohms R1.1 : R1.2", "10k")
    bench.enter("ohms R2.1 : R2.2", "OL")
    bench.undo(3)
    with Bench.open(bench.path) as again:
        assert again.session.p == pytest.approx(bench.session.p, abs=KEPT)
        assert [one.surprise for one in again.log()] == pytest.approx(
            [one.surprise for one in bench.log()], abs=1e-3
        )
        assert [entry.number for entry in again.session.entries] == [2, 4]


def test_what_another_program_adds_is_seen(bench: Bench) -> None:
    bench.enter(MIDDLE, "2.5")
    assert not bench.refresh()
    with Bench.open(bench.path) as other:
        other.enter("ohms R2.1 : R2.2", "OL")
    assert bench.refresh()
    assert bench.last_event == 3
    assert [entry.check.kind for entry in bench.session.entries] == ["volts", "ohms"]


def test_a_reading_that_is_not_understood_is_not_logged(bench: Bench) -> None:
    with pytest.raises(ReadingError, match="fish"):
        bench.enter(MIDDLE, "fish")
    assert len(bench.log()) == 1


def test_times_come_from_the_clock(bench: Bench) -> None:
    bench.enter(MIDDLE, "2.5")
    assert [entry.at for entry in bench.log()] == [
        "2024-02-29T12:01:00.000Z", "2024-02-29T12:02:00.000Z",
    ]  # fmt: skip


def test_undo_of_what_the_person_has_not_seen_is_refused(bench: Bench) -> None:
    bench.enter(MIDDLE, "2.5")
    with pytest.raises(ConflictError):
        bench.undo(after=1)
    assert bench.undo(after=2).takes_back == 2


def test_redo_brings_back_until_something_new_is_done(bench: Bench) -> None:
    bench.enter(MIDDLE, "5")
    before = bench.session.p
    bench.undo()
    bench.redo()
    assert bench.session.p == pytest.approx(before)
    with pytest.raises(CaseError):
        bench.redo()


def test_the_first_board_stays(bench: Bench) -> None:
    for number in (1, 2, 0, -1):
        with pytest.raises(CaseError):
            bench.undo(number)
    with pytest.raises(CaseError, match="found nothing"):
        bench.undo()


@pytest.mark.parametrize("value", [math.inf, -math.inf, -0.5, 1e-12, None])
def test_what_was_read_comes_back_from_the_log_as_it_was(value: float | None) -> None:
    reading = Reading(text="as typed", value=value, low=value, high=value, word="low")
    data = json.loads(json.dumps(reading_data(MIDDLE, reading), allow_nan=False))
    event = Event(number=7, at="2024-02-29T12:00:00.000Z", kind="reading", data=data)
    assert reading_of(event) == ReadingEntry(number=7, check=MIDDLE, reading=reading)


def test_limits_are_kept_in_the_case(bench: Bench) -> None:
    bench.set_limits(Limits(without_kinds=frozenset({"symptom", "ohms"})))
    with Bench.open(bench.path) as again:
        kinds = {one.suggestion.kind for one in again.next(20).suggestions}
    assert kinds
    assert not kinds & {"symptom", "ohms"}


def test_a_better_meter_believes_a_reading_more(bench: Bench) -> None:
    bench.enter(MIDDLE, "2.45")
    before = bench.session.p
    bench.set_meter(replace(bench.told.meter, volts_absolute=0.5, misread=0.1))
    assert bench.session.p != pytest.approx(before)
    with Bench.open(bench.path) as again:
        assert again.told.meter.volts_absolute == 0.5
        assert again.session.p == pytest.approx(bench.session.p, abs=KEPT)


def test_a_corrected_board_keeps_the_readings_it_can(bench: Bench) -> None:
    bench.enter(MIDDLE, "5")
    bench.enter("volts R2.1 @on", "5")
    bench.revise(DIVIDER.replace("testpoint TP1 MID\n", ""))
    first, second = bench.log()[1:3]
    assert "TP1" in first.why_not
    assert (first.counts, second.counts) == (False, True)
    assert bench.next().suspects[0].id in ("R2", "joint R2.2")
    bench.enter("ohms R2.1 : R2.2", "OL")
    assert "TP1" in bench.log()[1].why_not
    bench.undo()
    bench.undo()
    assert bench.log()[1].counts


def test_a_board_that_cannot_be_used_makes_no_case(tmp_path: Path) -> None:
    with pytest.raises(BoardError):
        Bench.create(tmp_path / "case.hsplit", "R1 10k A\n")
    assert list(tmp_path.iterdir()) == []


def test_a_log_without_a_board_is_no_case(tmp_path: Path) -> None:
    at = "2024-02-29T12:00:00.000Z"
    CaseLog.create(tmp_path / "case.hsplit", at=at).close()
    with pytest.raises(CaseError, match="board"):
        Bench.open(tmp_path / "case.hsplit")


def test_an_event_of_another_form_is_named(bench: Bench) -> None:
    with CaseLog.open(bench.path) as log:
        log.append("reading", {"text": "5"}, at="2024-02-29T12:00:00.000Z")
    with pytest.raises(CaseError, match="event 2"):
        bench.refresh()


def test_threads_may_share_a_bench(bench: Bench) -> None:
    bench.next()
    failed: list[BaseException] = []

    def enter(text: str) -> None:
        try:
            bench.enter(MIDDLE, text)
            bench.next()
        except BaseException as error:
            failed.append(error)

    team = [Thread(target=enter, args=(f"2.{n}",)) for n in range(6)]
    for one in team:
        one.start()
    for one in team:
        one.join()
    assert failed == []
    texts = {one.reading.text for one in bench.log() if one.reading}
    assert texts == {f"2.{n}" for n in range(6)}
    assert [entry.number for entry in bench.session.entries] == list(range(2, 8))


def test_expected_at_the_middle_is_half_the_rail(bench: Bench) -> None:
    # Ohm's law, two equal resistors; the meter's 10 MOhm takes 0.05 % off.
    (one,) = bench.expected(["TP1"])
    assert one.mean == pytest.approx(2.5 * 10e6 / (10e6 + 5e3), rel=1e-4)


@pytest.mark.parametrize("winding", ["L1 winding 56 OUT +12", "L1 winding 56 +12 OUT"])
def test_a_load_is_on_whichever_way_round_it_is_wired(tmp_path: Path, winding: str) -> None:
    # 12 V over 56 Ohm and 10 Ohm: 180 mA (Ohm's law).
    text = f"""\
rail +12 12V
{winding}
R1 10 OUT GND
state on
output "winding pulls" current L1 above 120mA
"""
    with Bench.create(tmp_path / "case.hsplit", text) as bench:
        check = bench.check("symptom winding pulls @on")
        assert (
            bench.session.catalogue.kind("symptom").expected(check, bench.world, bench.told.meter)
            == "on"
        )
        assert bench.rehearse("R1 open", check) == "off"


def test_what_is_no_reading_asks_for_no_prediction(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def predicted(self: OpenCase) -> None:
        raise AssertionError("belief was worked out")

    monkeypatch.setattr(OpenCase, "session", property(predicted))
    with Bench.create(tmp_path / "x.hsplit", DIVIDER) as bench:
        bench.note("smells burnt")
        bench.undo()
        assert [entry.kind for entry in bench.log()] == ["board", "note", "undo"]
        assert [entry.counts for entry in bench.log()] == [True, False, True]
