"""Faults played on random worlds: how often a verdict is right, and how many checks it takes.

The half-split figures are in tests/truth/diagnosis_examples.csv.
"""

from collections.abc import Callable

import numpy as np
import pytest
from tests.belief.truth import truth
from tests.diagnose.fakes import FakeWorld, TableKind, check, kind, start, word, world

from halfsplit.checks.kind import Check, Reading
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import SURE, Verdict, verdict

SLIP = 0.02
FAULTS, PER_SUSPECT, CHECKS, OUTCOMES = 40, 2, 30, 5
MOST_CHECKS = 40


def play(session: Session, read: Callable[[Check], Reading]) -> tuple[Session, Verdict]:
    """Do what is suggested until the verdict is something else than to measure."""
    for _ in range(MOST_CHECKS):
        judged = verdict(session)
        if judged.kind != "measure":
            return session, judged
        asked = suggest(session, 1)[0].check
        assert asked is not None
        session = session.enter(asked, read(asked))
    return session, verdict(session)


def random_world(rng: np.random.Generator) -> tuple[FakeWorld, TableKind, np.ndarray]:
    """A world, its kind of check, and the [C, F, O] tables without slips of the meter."""
    faults = {f"U{n // PER_SUSPECT} fault {n}": float(w) for n, w in enumerate(rng.random(FAULTS))}
    board = world(faults, suspects={name: name.split()[0] for name in faults})
    core = np.zeros((CHECKS, FAULTS + 1, OUTCOMES))
    core[..., 0] = 1.0
    moved = rng.random((CHECKS, FAULTS + 1)) < 0.25
    moved[:, 0] = False
    core[moved] = rng.dirichlet(np.full(OUTCOMES, 0.2), int(moved.sum()))
    labels = tuple("abcde"[:OUTCOMES])
    tables = {
        check("volts", f"N{n}"): (labels, (1.0 - SLIP) * p + SLIP / OUTCOMES)
        for n, p in enumerate(core)
    }
    return board, TableKind(name="volts", tables=tables), core


def test_verdicts_at_nine_in_ten_are_right_nine_times_in_ten(rng: np.random.Generator) -> None:
    board, volts, core = random_world(rng)
    empty = start(board, volts)
    index = {one: n for n, one in enumerate(volts.tables)}
    sure, right, used = 0, 0, []
    chances = board.prior[:-1] / board.prior[:-1].sum()
    for fault in rng.choice(FAULTS + 1, 300, p=chances):
        stands = [rng.choice(OUTCOMES, p=core[c, fault]) for c in range(CHECKS)]

        def read(asked: Check, stands: list[int] = stands) -> Reading:
            slipped = rng.random() < SLIP
            at = int(rng.integers(OUTCOMES)) if slipped else stands[index[asked]]
            return word("abcde"[at])

        session, judged = play(empty, read)
        used.append(len(session.entries))
        if judged.kind == "repair":
            assert judged.probability >= SURE
            sure += 1
            true = board.faults[fault].suspect
            named = {step.suspect.id for step in judged.order}
            right += true in named
    print(f"{sure} of 300 sure, {right} of them right, {np.mean(used):.2f} checks in the mean")
    assert sure >= 200
    assert right >= 0.9 * sure


@pytest.mark.parametrize("n", [8, 16])
def test_half_split_of_a_row_of_stages(n: int) -> None:
    """A clean world of n stages in a row is halved each time."""
    board = world({f"U{k} dead": 1.0 for k in range(n)}, something_else=0.0)
    probes = {
        check("volts", f"TP{k}"): (
            ("right", "wrong"),
            ["right", *("wrong" if bad <= k else "right" for bad in range(n))],
        )
        for k in range(n - 1)
    }
    volts = kind("volts", probes, floor=0.0)
    empty, used = start(board, volts), []
    for bad in range(n):
        session, judged = play(
            empty,
            lambda asked, bad=bad: word(  # type: ignore[misc]
                "wrong" if bad <= int(asked.places[0][2:]) else "right"
            ),
        )
        assert judged.kind == "repair"
        assert judged.order[0].suspect.id == f"U{bad} dead"
        used.append(len(session.entries))
    assert np.mean(used) == pytest.approx(truth()[f"half-split {n}"])
