"""What the mechanism does, as soft evidence."""

import numpy as np
import pytest
from tests.motion.boards import compiled

from halfsplit.checks.catalogue import parse_check
from halfsplit.checks.kind import Meter, Reading
from halfsplit.checks.motion import KIND
from halfsplit.errors import UnknownName

WORLD = compiled()
[CHECK] = KIND.offers(WORLD)
METER = Meter()
ROW = {fault.id: row for row, fault in enumerate(WORLD.faults)}


def said(text: str) -> dict[str, float]:
    """Likelihood of an answer by fault."""
    got = KIND.likelihood(CHECK, KIND.read(CHECK, text, WORLD), WORLD, METER)
    assert got.shape == (len(WORLD.faults) + 1,)
    return {**dict(zip(ROW, got.tolist(), strict=False)), "else": float(got[-1])}


def test_the_table_is_one_of_probabilities_and_has_a_floor() -> None:
    table = KIND.outcomes([CHECK], WORLD, METER)[0]
    assert table.labels == tuple(KIND.words)
    np.testing.assert_allclose(table.p.sum(axis=1), 1.0)
    assert table.p.min() > 0.01  # never a hard exclusion
    for o, label in enumerate(table.labels):
        reading = KIND.read(CHECK, label, WORLD)
        got = KIND.likelihood(CHECK, reading, WORLD, METER)
        np.testing.assert_allclose(got[:-1], table.p[:, o])
    unsure = KIND.likelihood(CHECK, KIND.read(CHECK, "?", WORLD), WORLD, METER)
    np.testing.assert_array_equal(unsure, 1.0)


def test_what_people_say_points_where_it_should() -> None:
    """Common practice, no source: a phase stuck on buzzes; no supply is dead; a sensor that is not
    followed never finds home."""
    buzz = said("buzzes and stays")
    assert buzz["Q2 c short to e"] > 8.0 * buzz["healthy"]
    dead = said("nothing")
    assert dead["+24 missing"] > 10.0 * max(dead["healthy"], dead["Q2 c short to e"])
    lost = said("never finds home")
    assert lost["S1 open"] > 10.0 * lost["Q2 c short to e"]
    assert said("runs")["healthy"] > 0.75
    assert said("lands on the wrong track")["Q2 c open"] > 3.0 * said("wrong place")["healthy"]
    cold = said("fails when warm")
    assert cold["Q1 c leaky to e"] > 2.0 * cold["healthy"]


def test_a_person_is_told_what_to_watch_and_to_mind() -> None:
    assert KIND.expected(CHECK, WORLD, METER) == "runs"
    assert KIND.sentence(CHECK, WORLD).endswith("?")
    assert any("no writing" in text for text in KIND.cautions(CHECK, WORLD))
    assert parse_check("motion l1", WORLD) == CHECK
    with pytest.raises(UnknownName, match="answer"):
        KIND.likelihood(CHECK, Reading(text="x", word="purple"), WORLD, METER)
