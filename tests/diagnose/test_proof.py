"""The acceptance run joined to a case; its numbers are held to published values in
tests/belief/test_acceptance.py."""

import numpy as np
import pytest
from scipy import stats
from tests.diagnose import boards
from tests.diagnose.boards import case, more
from tests.diagnose.test_lessons_repair import OPEN, RIGHT

from halfsplit.checks.passes import KIND, NEEDED
from halfsplit.cli.main import main
from halfsplit.diagnose.acceptance import acceptance
from halfsplit.diagnose.counted import passes_of, quiet_needed, seen_before
from halfsplit.diagnose.proof import Claim, proof
from halfsplit.diagnose.session import Session
from halfsplit.errors import ReadingError

PASSES = "passes phase A pulls"


@pytest.fixture(scope="module")
def repaired() -> Session:
    return more(case(boards.CHANNEL, *OPEN).repaired("R2"), *RIGHT)


def test_the_usual_run_is_the_success_run() -> None:
    """ln 0.05 / ln 0.99 = 298.07."""
    assert NEEDED == 299
    assert proof(Claim()).passes == 299
    assert proof(Claim(reliability=0.9, confidence=0.9, failures=1)).passes == 38


def test_too_few_passes_do_not_close_a_case(repaired: Session) -> None:
    some = acceptance(more(repaired, (PASSES, "120")))
    assert some is not None
    assert any("120 so far" in words for words in some.missing)
    assert "120 of 120" in some.claim
    enough = acceptance(more(repaired, (PASSES, "120"), (PASSES, "179 of 179")))
    assert enough is not None
    assert PASSES not in enough.checks
    wrong = acceptance(more(repaired, (PASSES, "297 of 299")))
    assert wrong is not None
    assert wrong.wrong


def test_the_claim_is_the_exact_binomial_limit(repaired: Session) -> None:
    counted = passes_of(more(repaired, (PASSES, "299"), (PASSES, "49 of 50")))
    assert (counted.right, counted.of) == (348, 349)
    assert counted.bound == pytest.approx(stats.beta.ppf(0.95, 2, 348), rel=1e-6)


def test_passes_raise_belief_in_the_cure_and_a_failure_ends_it(repaired: Session) -> None:
    assert more(repaired, (PASSES, "299")).p[0] > repaired.p[0]
    assert more(repaired, (PASSES, "280 of 299")).p[0] < 0.5 * repaired.p[0]


def test_an_intermittent_sets_its_own_run() -> None:
    session = case(boards.CHANNEL, ("symptom phase A pulls @hold", "wrong"), (PASSES, "17 of 20"))
    assert seen_before(session) == (4, 21)
    need = quiet_needed(session)
    assert need is not None
    chance = stats.betabinom.pmf(0, np.array([need - 1, need]), 4.5, 17.5)
    assert chance[0] > 0.05 >= chance[1]
    assert proof(Claim(), session).quiet == need
    assert quiet_needed(case(boards.CHANNEL, *OPEN)) is None


def test_right_in_one_state_and_wrong_in_another_is_no_intermittent() -> None:
    """Common practice, no source: it comes and goes when the same thing was seen both ways."""
    wrong, right = (
        ("symptom phase A pulls @hold", "wrong"),
        ("symptom phase A pulls @idle", "right"),
    )
    assert seen_before(case(boards.CHANNEL, wrong, right)) == (0, 0)
    again = ("symptom phase A pulls @hold", "right")
    assert seen_before(case(boards.CHANNEL, wrong, right, again)) == (1, 2)


@pytest.mark.parametrize("text", ["0 of 0", "5 of 3", "plenty"])
def test_counts_that_make_no_sense(repaired: Session, text: str) -> None:
    check = KIND.offers(repaired.world)[0]
    with pytest.raises(ReadingError):
        KIND.read(check, text, repaired.world)


def test_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["prove", "--reliability", "0.95"]) == 0
    assert " 59 " in capsys.readouterr().out
    assert main(["prove", "--confidence", "1.5"]) == 2
    assert "between 0 and 1" in capsys.readouterr().err
