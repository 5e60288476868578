"""Undo and redo against the plainest model there is: a list and a place in it."""

import itertools
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import CaseError
from halfsplit.store import replay
from halfsplit.store.event import Event
from halfsplit.store.log import CaseLog

AT = "2024-02-29T12:00:00.000Z"


class Model:
    """What was done, and how much of it is left."""

    def __init__(self) -> None:
        self.done: list[int] = []
        self.left = 0

    def do(self, label: int) -> None:
        self.done = [*self.done[: self.left], label]
        self.left += 1

    def undo(self) -> bool:
        can = self.left > 0
        self.left -= can
        return can

    def redo(self) -> bool:
        can = self.left < len(self.done)
        self.left += can
        return can


def undo(number: int, of: int) -> Event:
    return Event(number=number, at=AT, kind="undo", data={"takes_back": of})


def reading(number: int) -> Event:
    return Event(number=number, at=AT, kind="reading", data={})


@given(st.lists(st.sampled_from(["do", "do", "undo", "undo", "redo"]), max_size=60))
def test_replay_is_a_list_and_a_place_in_it(deeds: list[str]) -> None:
    model = Model()
    events: list[Event] = []
    for deed in deeds:
        if deed == "do":
            label = len(events) + 1
            model.do(label)
            events.append(Event(number=label, at=AT, kind="reading", data={"label": label}))
        else:
            choose = replay.next_undo if deed == "undo" else replay.next_redo
            of = choose(events)
            assert (of is not None) == (model.undo() if deed == "undo" else model.redo())
            if of:
                events.append(undo(len(events) + 1, of))
        assert [e.data["label"] for e in replay.live(events)] == model.done[: model.left]


@given(st.lists(st.sampled_from(["do", "do", "undo", "redo"]), max_size=12))
def test_the_log_on_disk_follows_the_same_model(deeds: list[str]) -> None:
    model = Model()
    labels = itertools.count()
    with (
        tempfile.TemporaryDirectory() as folder,
        CaseLog.create(Path(folder, "one.hsplit"), at=AT) as log,
    ):
        for deed in deeds:
            if deed == "do":
                label = next(labels)
                model.do(label)
                log.append("reading", {"label": label}, at=AT)
            elif model.undo() if deed == "undo" else model.redo():
                (log.undo if deed == "undo" else log.redo)(at=AT)
            else:
                with pytest.raises(CaseError, match=f"something to {deed}, found nothing"):
                    (log.undo if deed == "undo" else log.redo)(at=AT)
            assert [e.data["label"] for e in log.live()] == model.done[: model.left]


@given(st.data())
def test_any_undo_of_anything_follows_the_definition(data: st.DataObject) -> None:
    """An event counts when no undo that counts takes it back, worked out by recursion over all."""
    events: list[Event] = []
    for number in range(1, data.draw(st.integers(1, 15)) + 1):
        of = data.draw(st.integers(0, number - 1))
        events.append(undo(number, of) if of else reading(number))

    def counts(number: int) -> bool:
        undos = [e.number for e in events if e.kind == "undo" and replay.target(e) == number]
        return not any(counts(n) for n in undos)

    assert [e.number for e in replay.live(events)] == [
        e.number for e in events if e.kind != "undo" and counts(e.number)
    ]


def test_kinds_to_keep_are_passed_over() -> None:
    events = [reading(1), Event(number=2, at=AT, kind="note", data={})]
    assert replay.next_undo(events) == 2
    assert replay.next_undo(events, keep={"note"}) == 1
    assert replay.next_undo(events, keep={"note", "reading"}) is None
    events = [reading(1), undo(2, 1), Event(number=3, at=AT, kind="note", data={})]
    assert replay.next_redo(events) is None
    assert replay.next_redo(events, keep={"note"}) == 2


@pytest.mark.parametrize("of", [None, 0, 2, 3, True, "1", 1.0])
def test_an_undo_must_name_an_earlier_event(of: object) -> None:
    wrong = Event(number=2, at=AT, kind="undo", data={"takes_back": of})  # type: ignore[dict-item]
    with pytest.raises(CaseError, match="event 2: expected in 'takes_back' the number"):
        replay.live([reading(1), wrong])
