"""Sessions: frozen, the order of readings does not matter, undo is a replay."""

import dataclasses

import numpy as np
import pytest
from tests.diagnose.fakes import FakeWorld, TableKind, check, kind, shares, start, word, world

from halfsplit.checks.kind import Limits, Meter, Reading
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.session import Session, percent
from halfsplit.diagnose.story import replay
from halfsplit.errors import RegistryError, UnknownName
from halfsplit.solve.law import Array

A, B = check("volts", "TP1", "run"), check("volts", "TP2", "run")
LEVELS = ("low", "high")


def three() -> tuple[FakeWorld, TableKind]:
    board = world({"R1 open": 3.0, "R2 open": 2.0, "R3 open": 1.0})
    volts = kind(
        "volts",
        {
            A: (LEVELS, ["low", "high", "low", "low"]),
            B: (LEVELS, ["low", "low", "high", "low"]),
        },
    )
    return board, volts


def test_bayes_by_hand() -> None:
    board, volts = three()
    session = start(board, volts).enter(A, word("low"))
    prior = np.array([0.97 * 3 / 6, 0.97 * 2 / 6, 0.97 / 6, 0.03])
    weights = prior * np.array([0.01, 0.99, 0.99, 0.6 * 0.99 + 0.4 * 0.5])
    expected = weights / weights.sum()
    found = shares(session)
    assert [found[f"R{n} open"] for n in (1, 2, 3)] == pytest.approx(expected[:3])
    assert found["something-else"] == pytest.approx(expected[3])
    assert session.p[0] == 0.0


def test_order_of_readings_does_not_matter_and_entering_leaves_the_old_session() -> None:
    board, volts = three()
    empty = start(board, volts)
    one = empty.enter(A, word("low")).enter(B, word("high"))
    other = empty.enter(B, word("high")).enter(A, word("low"))
    assert one.p == pytest.approx(other.p)
    assert empty.entries == ()
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.p = other.p  # type: ignore[misc]


def test_without_is_as_if_never_entered_and_numbers_stay() -> None:
    board, volts = three()
    empty = start(board, volts)
    both = empty.enter(A, word("low")).enter(B, word("high"))
    left = both.without(1)
    assert [entry.number for entry in left.entries] == [2]
    assert left.p == pytest.approx(empty.enter(B, word("high")).p)
    assert left.entries[0].surprise == pytest.approx(
        empty.enter(B, word("high")).entries[0].surprise
    )
    assert [entry.number for entry in left.enter(A, word("low")).entries] == [2, 3]
    with pytest.raises(UnknownName, match="entry '7'"):
        both.without(7)


def test_numbers_of_the_log_are_kept_and_not_taken_twice() -> None:
    board, volts = three()
    session = start(board, volts).enter(A, word("low"), number=12)
    assert [entry.number for entry in session.enter(B, word("low")).entries] == [12, 13]
    with pytest.raises(UnknownName, match="12"):
        session.enter(B, word("low"), number=12)


def test_could_not_tell_moves_nothing_and_counts_as_answered() -> None:
    board, volts = three()
    empty = start(board, volts)
    session = empty.enter(A, Reading(text="?", nothing=True))
    assert session.p == pytest.approx(empty.p)
    assert session.entries[0].surprise == 0.0
    assert session.answered() == {A.id: 1}


def test_surprise_is_large_when_the_belief_expected_otherwise() -> None:
    board, volts = three()
    session = start(board, volts).enter(A, word("high")).enter(B, word("high"))
    expected, unexpected = (entry.surprise for entry in session.entries)
    assert expected < 1.5
    assert unexpected > 3.0


def test_repeats_do_not_count_twice_but_slips_do() -> None:
    board, volts = three()
    once = start(board, volts).enter(A, word("low"))
    twice = once.enter(A, word("low"))
    assert twice.p[2] / twice.p[3] == pytest.approx(once.p[2] / once.p[3])
    assert twice.p[1] < once.p[1]
    torn = once.enter(A, word("high"))
    assert torn.p[1] / torn.p[2] == pytest.approx(1.5, rel=0.05)


def test_suspects_are_ranked_and_carry_their_faults() -> None:
    board = world(
        {"U1 open": 1.0, "U1 short": 3.0, "R9 open": 2.0},
        suspects={"U1 open": "U1", "U1 short": "U1"},
    )
    ranked = start(board).suspects()
    assert [one.suspect.id for one in ranked] == ["U1", "R9 open", "something-else"]
    assert [fault.id for fault, _ in ranked[0].faults] == ["U1 short", "U1 open"]
    assert ranked[0].probability == pytest.approx(0.97 * 4 / 6)
    assert sum(one.probability for one in ranked) == pytest.approx(1.0)
    assert ranked[-1].faults == ()
    assert str(ranked[0]) == "U1 (65 %)"


def test_when_nothing_explains_something_else_takes_all() -> None:
    board, volts = three()
    hard = kind("hard", {check("hard", "X"): (LEVELS, ["low"] * 4)}, floor=0.0)
    session = start(board, volts, hard).enter(check("hard", "X"), word("high"))
    assert shares(session)["something-else"] == pytest.approx(1.0)


def test_replay_is_entering_one_by_one() -> None:
    board, volts = three()
    meter = Meter()
    items = [(A, word("low")), (B, word("high"))]
    told = replay(board, meter, Limits(), items, catalogue=Catalogue(board, meter, [volts]))
    assert told.p == pytest.approx(start(board, volts).enter(*items[0]).enter(*items[1]).p)
    assert [entry.number for entry in told.entries] == [1, 2]


def test_unknown_kind_and_unusable_likelihoods_are_refused() -> None:
    class Broken(TableKind):
        def likelihood(self, *args: object) -> Array:
            return np.array([1.0, np.nan])

    board, volts = three()
    broken = Broken(name="broken", tables={check("broken", "X"): volts.tables[A]})
    session = start(board, volts, broken)
    with pytest.raises(UnknownName, match="did you mean volts"):
        session.enter(check("volt", "TP1"), word("low"))
    with pytest.raises(RegistryError, match="expected 5 likelihoods"):
        session.enter(check("broken", "X"), word("low"))


def test_catalogue_asks_each_kind_once_and_only_when_allowed() -> None:
    asked: list[str] = []

    class Counting(TableKind):
        def outcomes(self, checks, world, meter):  # type: ignore[no-untyped-def]
            asked.append(self.name)
            return super().outcomes(checks, world, meter)

    board, volts = three()
    kinds = [
        Counting(name=name, tables={check(name, "TP1"): volts.tables[A]}) for name in ("x", "y")
    ]
    catalogue = Catalogue(board, Meter(), kinds)
    no_y = Limits(without_kinds=frozenset({"y"}))
    for _ in range(2):
        assert [o.check.kind for o in catalogue.offers(no_y).offers] == ["x"]
    assert asked == ["x"]
    assert [o.check.kind for o in catalogue.offers(Limits()).offers] == ["x", "y"]
    assert asked == ["x", "y"]
    off = Limits(without_setups=frozenset({"powered"}))
    assert catalogue.offers(off).offers == ()
    assert catalogue.offers(off).tables.count == 0


def test_a_catalogue_of_another_world_is_not_used() -> None:
    board, volts = three()
    other, _ = three()
    catalogue = Catalogue(other, Meter(), [volts])
    session = Session.start(board, Meter(), catalogue=catalogue)
    assert session.catalogue is not catalogue
    assert session.catalogue.world is board
    assert Session.start(other, Meter(), catalogue=catalogue).catalogue is catalogue


def test_percent() -> None:
    assert [percent(p) for p in (0.0, 0.004, 0.615, 0.999)] == [
        "under 1 %",
        "under 1 %",
        "62 %",
        "over 99 %",
    ]
