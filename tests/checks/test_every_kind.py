"""One contract for every kind of check, and the manual made from them."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.checks.fake import F, FakeWorld

from halfsplit.checks._manual import manual
from halfsplit.checks.catalogue import make_check, offers, parse_check
from halfsplit.checks.kind import Check, CheckKind, Limits, Meter, Reading
from halfsplit.checks.registry import CHECKS
from halfsplit.errors import PlaceError, ReadingError, UnknownName

WORLD = FakeWorld()
MARKED = [FakeWorld(), FakeWorld(floating=True), FakeWorld(two=True), FakeWorld(unresolved=True)]
METER = Meter()
KINDS = list(CHECKS)
kinds = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
NAMES = (
    "capacitance capture constancy continuity detent diode drag esr exchange flex heat homing "
    "level lifted look motion ohms parttest passes peak piggyback reseat settle signal sisters "
    "soak swap symptom touch turn unplugged volts warm worked"
)

ELSEWHERE = {"detent", "drag", "homing", "motion", "peak", "settle", "signal"}
"""Kinds that this board has no use for; tests/checks/test_mechanical.py, test_switched.py and
test_signal.py hold them to the same."""


def test_all_kinds_are_found() -> None:
    assert [kind.name for kind in KINDS] == NAMES.split()


@kinds
def test_a_kind_says_what_it_is(kind: CheckKind) -> None:
    assert kind.title
    assert len(kind.help) > 60
    assert kind.unit or kind.words
    for check in kind.offers(WORLD):
        assert check.kind == kind.name
        assert bool(check.state) == kind.stateful
        assert len(check.places) == (2 if kind.takes == "pair" else 1)
        assert kind.sentence(check, WORLD).endswith((".", "?"))
        assert 0.0 < kind.minutes(check, WORLD) < 60.0
        assert 0.0 <= kind.risk(check, WORLD) < 60.0
        assert kind.cautions(check, WORLD)
        assert kind.expected(check, WORLD, METER)


@kinds
@pytest.mark.parametrize("world", MARKED)
def test_tables_are_probabilities_with_no_zero(kind: CheckKind, world: FakeWorld) -> None:
    checks = kind.offers(world)
    assert checks or kind.name in ELSEWHERE
    tables = kind.outcomes(checks, world, METER)
    assert len(tables) == len(checks)
    for table in tables:
        assert table.p.dtype == np.float64
        assert table.p.shape == (F, len(table.labels))
        np.testing.assert_allclose(table.p.sum(axis=1), 1.0, atol=1e-12)
        assert (table.p > 0.0).all()
        if table.edges:
            assert len(table.edges) == len(table.labels) + 1
            assert list(table.edges) == sorted(table.edges)


@kinds
def test_table_and_likelihood_are_one_model(kind: CheckKind) -> None:
    """An outcome reported as a reading weighs as the table says; bins of numbers differ by the
    floors (2 % against 1 %), the heavier tails and the quick normal, 0.05 at most together."""
    checks = kind.offers(WORLD)
    for check, table in zip(checks, kind.outcomes(checks, WORLD, METER), strict=True):
        for o, label in enumerate(table.labels):
            if table.edges:
                reading = Reading(text=label, low=table.edges[o], high=table.edges[o + 1])
                tolerance = 0.05
            else:
                reading = kind.read(check, label, WORLD)
                tolerance = 1e-9
            got = kind.likelihood(check, reading, WORLD, METER)
            assert got.shape == (F + 1,)
            np.testing.assert_allclose(got[:F], table.p[:, o], atol=tolerance)


@kinds
def test_nothing_moves_nothing(kind: CheckKind) -> None:
    for check in kind.offers(WORLD):
        reading = kind.read(check, "?", WORLD)
        assert reading.nothing
        np.testing.assert_array_equal(kind.likelihood(check, reading, WORLD, METER), np.ones(F + 1))


@kinds
@given(text=st.text(max_size=25), pick=st.integers(0, 10**6))
def test_only_reading_errors(kind: CheckKind, text: str, pick: int) -> None:
    checks = kind.offers(WORLD)
    if not checks:
        assert kind.name in ELSEWHERE
        return
    check = checks[pick % len(checks)]
    try:
        reading = kind.read(check, text, WORLD)
    except ReadingError:
        return
    got = kind.likelihood(check, reading, WORLD, METER)
    assert np.isfinite(got).all()
    assert (got > 0.0).all()


def test_every_offer_is_named_by_its_own_text() -> None:
    found = offers(WORLD)
    assert len({check.id for check in found}) == len(found)
    for check in found:
        assert parse_check(check.id, WORLD) == check


def test_limits_leave_out_kinds_and_setups() -> None:
    limits = Limits(without_kinds=frozenset({"swap"}), without_setups=frozenset({"powered"}))
    left = {check.kind for check in offers(WORLD, limits)}
    assert left == set(NAMES.split()) - ELSEWHERE - {"swap", "volts", "level", "sisters", "capture"}


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("volts u3.6 @HOLD-A", "volts U3.6 @hold-A"),
        ("ohms r7.1 R7.2", "ohms R7.1 : R7.2"),
        ("ohms U3.6", "ohms U3.6 : net GND"),
        ("continuity net DRA : U3.6/pad", "continuity net DRA : U3.6/pad"),
        ("volts U3.6/pad @idle", "volts U3.6/pad @idle"),
        ("symptom COIL a @idle", "symptom coil A @idle"),
        ("parttest q3", "parttest Q3"),
    ],
)
def test_any_check_may_be_named(text: str, name: str) -> None:
    assert parse_check(text, WORLD).id == name


@pytest.mark.parametrize(
    ("text", "error", "match"),
    [
        ("volt U3.6 @idle", UnknownName, "did you mean volts"),
        ("", UnknownName, "kind of check"),
        ("volts U3.66 @idle", PlaceError, "U3.6"),
        ("volts U3.6 @hold", UnknownName, "hold-A"),
        ("volts U3.6", UnknownName, "state"),
        ("volts", PlaceError, "one place.*such as volts"),
        ("look R77", UnknownName, "R7"),
        ("symptom coil @idle", UnknownName, "coil A"),
    ],
)
def test_mistakes_name_the_nearest(text: str, error: type[Exception], match: str) -> None:
    with pytest.raises(error, match=match):
        parse_check(text, WORLD)


def test_make_check_takes_no_third_place() -> None:
    with pytest.raises(PlaceError, match="two places"):
        make_check("ohms", ["R7.1", "R7.2", "U3.6"], "", WORLD)


@kinds
def test_a_word_that_is_no_outcome_is_refused_by_name(kind: CheckKind) -> None:
    if kind.name in ELSEWHERE:
        with pytest.raises((UnknownName, PlaceError)):
            kind.outcomes([Check(kind=kind.name, places=("L11",))], WORLD, METER)
        return
    if kind.unit:
        check = kind.offers(WORLD)[0]
        assert kind.read(check, "1", WORLD).value == 1.0
        return
    with pytest.raises(UnknownName, match="answer"):
        kind.likelihood(kind.offers(WORLD)[0], Reading(text="x", word="purple"), WORLD, METER)


def test_part_names_are_checked_by_the_kinds_too() -> None:
    with pytest.raises(UnknownName, match="part"):
        CHECKS.get("look").outcomes([Check(kind="look", places=("R9",))], WORLD, METER)


def test_manual_is_up_to_date() -> None:
    page = Path(__file__).parents[2] / "docs" / "checks.md"
    assert page.read_text(encoding="utf-8") == manual(), (
        "docs/checks.md is stale: python -m halfsplit.checks._manual > docs/checks.md"
    )
