"""Actions at one part: Bayes on paper, and what each may and may not conclude."""

import numpy as np
import pytest
from tests.checks.fake import BRIDGE, CONTACT, HEALTHY, JOINT, Q3, R7, RAIL, U3, F, FakeWorld

from halfsplit.checks import look, parttest, reseat, swap, touch
from halfsplit.checks._vague import AT_ONE_PART
from halfsplit.checks.kind import Check, CheckKind, Meter
from halfsplit.solve.law import Array

WORLD = FakeWorld()
METER = Meter()


def likelihood(kind: CheckKind, designator: str, text: str) -> Array:
    check = Check(kind=kind.name, places=(designator,))
    return kind.likelihood(check, kind.read(check, text, WORLD), WORLD, METER)


def test_a_passed_part_test_lowers_by_its_coverage_and_never_clears() -> None:
    """Field lesson 29. U3's fault shows in 0.7 of tests. From 50 : 50 against R7, on paper:
    P(pass | U3) = 0.99 (0.3 * 0.985) + 0.005 = 0.297545; P(pass | R7) = 0.985;
    P(U3 | pass) = 0.297545 / 1.282545 = 0.232 (not 0)."""
    passed = likelihood(parttest.KIND, "U3", "passed")
    assert passed[U3] == pytest.approx(0.297545, abs=1e-9)
    assert passed[R7] == pytest.approx(0.985, abs=1e-9)
    assert passed[U3] / (passed[U3] + passed[R7]) == pytest.approx(0.23200, abs=1e-5)


def test_a_failed_part_test_on_paper() -> None:
    """R7 open shows always: P(fail | R7) = 0.99 + 0.005; elsewhere a false alarm of 0.015.
    From 10 : 90 the posterior is 0.0995 / (0.0995 + 0.0135) = 0.8805."""
    failed = likelihood(parttest.KIND, "R7", "failed")
    assert failed[R7] == pytest.approx(0.995)
    assert failed[Q3] == failed[HEALTHY] == pytest.approx(0.015)
    assert 0.1 * failed[R7] / (0.1 * failed[R7] + 0.9 * failed[Q3]) == pytest.approx(
        0.8805, abs=1e-4
    )
    assert failed[F] == pytest.approx((1 - AT_ONE_PART) * 0.015 + AT_ONE_PART * 0.5)


def test_a_part_test_says_nothing_about_joints() -> None:
    failed = likelihood(parttest.KIND, "Q3", "failed")
    assert failed[JOINT] == pytest.approx(0.99 * 0.015 + 0.005)
    assert failed[Q3] > 40 * failed[JOINT]


def test_a_cure_by_swap_is_confounded_by_the_contact() -> None:
    """Field lessons 25 and 32: U3 sits in a socket, so a cure points at its contact too."""
    cured = likelihood(swap.KIND, "U3", "cured")
    assert cured[U3] == pytest.approx(0.99 * 0.97 + 0.01 / 3)
    assert cured[CONTACT] == pytest.approx(0.99 * 0.8 + 0.01 / 3)
    assert cured[BRIDGE] == pytest.approx(0.99 * 0.05 + 0.01 / 3)  # the socket's joints stay
    assert cured[R7] == cured[RAIL] == pytest.approx(0.01)
    soldered = likelihood(swap.KIND, "Q3", "cured")
    assert soldered[JOINT] == pytest.approx(0.99 * 0.7 + 0.01 / 3)


def test_swap_is_never_offered_for_what_cannot_be_replaced() -> None:
    assert [check.places for check in swap.KIND.offers(WORLD)] == [("U3",), ("Q3",)]
    assert "U9" not in {check.places[0] for check in parttest.KIND.offers(WORLD)}
    at = [Check(kind="parttest", places=(name,)) for name in ("U9", "U3")]
    assert parttest.KIND.risk(at[0], WORLD) > 5 * parttest.KIND.risk(at[1], WORLD)


def test_what_is_seen_raises_and_does_not_settle() -> None:
    """Field lesson 11: damage seen on R7 under a prior of 10 in 100. P(damage | R7) =
    0.99 (0.03 + 0.95 * 0.2) + 0.01 / 3 = 0.221133, elsewhere 0.03: odds move by 7.4."""
    damage = likelihood(look.KIND, "R7", "burnt")
    assert damage[R7] == pytest.approx(0.2211333, abs=1e-6)
    assert damage[Q3] == pytest.approx(0.03)
    assert 0.1 * damage[R7] / (0.1 * damage[R7] + 0.9 * damage[Q3]) < 0.5
    joint = likelihood(look.KIND, "Q3", "cracked joint")
    assert joint[JOINT] > 10 * joint[Q3]
    bridge = likelihood(look.KIND, "U3", "solder bridge")
    assert bridge[BRIDGE] > 10 * bridge[RAIL]


def test_works_while_touched_points_at_joint_or_contact() -> None:
    """Field lesson 17."""
    changes = likelihood(touch.KIND, "Q3", "works while touched")
    assert changes[JOINT] == pytest.approx(0.99 * (0.4 + 0.6 * 0.01) + 0.005)
    assert changes[JOINT] > 20 * changes[Q3]
    assert touch.KIND.setup(Check(kind="touch", places=("Q3",)), WORLD) == "touching"


def test_reseating_cures_contacts_only() -> None:
    """Field lesson 18: cheap, and only for what is plugged."""
    cured = likelihood(reseat.KIND, "U3", "fixed")
    assert cured[CONTACT] == pytest.approx(0.99 * (0.8 + 0.2 * 0.015) + 0.005)
    assert cured[CONTACT] > 30 * cured[U3]
    assert [check.places for check in reseat.KIND.offers(WORLD)] == [("U3",)]


def test_cost_goes_by_pins_and_socket() -> None:
    test = parttest.KIND
    socketed, soldered = (Check(kind="parttest", places=(name,)) for name in ("U3", "Q3"))
    assert test.minutes(socketed, WORLD) == pytest.approx(3.0)
    assert test.minutes(soldered, WORLD) == pytest.approx(2.0 + 3.0)
    assert "Pull" in test.sentence(socketed, WORLD)
    assert "Unsolder" in test.sentence(soldered, WORLD)
    assert any("program" in text for text in swap.KIND.cautions(socketed, WORLD))


def test_rows_of_faults_elsewhere_are_alike() -> None:
    table = parttest.KIND.outcomes([Check(kind="parttest", places=("q3",))], WORLD, METER)[0]
    rest = [row for row in range(F) if row not in (Q3, JOINT)]
    np.testing.assert_array_equal(table.p[rest], np.tile(table.p[HEALTHY], (len(rest), 1)))
