"""A trial gives the same outcomes whoever does the work, and goes on where it was stopped."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from distributed import LocalCluster

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.errors import TrialError
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.hidden import Hidden
from halfsplit.trial.journal import Journal, told_apart
from halfsplit.trial.report import Outcome
from halfsplit.trial.run import run_trial

BOARD = """
board "divider"
rail +5 5V
R1 10k 1% +5 A
R2 10k 1% A GND
output "half" volts A above 2V
state on
"""


@pytest.fixture(scope="module")
def world() -> Compiled:
    return compile_board(read_board(BOARD, PartsVocabulary()))


@pytest.fixture(scope="module")
def hidden(world: Compiled) -> list[Hidden]:
    names = ("R1 open", "R2 open", "R2 short")
    return [Hidden(faults=(fault,)) for fault in world.faults if fault.id in names]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address


def told(outcomes: tuple[Outcome, ...]) -> list[tuple[object, ...]]:
    return [(one.fault, one.named, one.checks, one.minutes) for one in outcomes]


@pytest.mark.spice
def test_a_cluster_of_two_workers_gives_the_same_outcomes(
    world: Compiled, hidden: list[Hidden], address: str, ngspice: str
) -> None:
    here = run_trial(world.board, world, hidden, 3)
    there = run_trial(world.board, world, hidden, 3, cluster=address)
    assert len(there.asked) == 3
    assert told(there.outcomes) == told(here.outcomes)


def test_a_cluster_that_is_not_there(world: Compiled, hidden: list[Hidden]) -> None:
    with pytest.raises(TrialError, match="expected a Dask scheduler at 'nonsense'"):
        run_trial(world.board, world, hidden, 3, cluster="nonsense")


@pytest.mark.spice
def test_a_stopped_trial_goes_on(
    world: Compiled, hidden: list[Hidden], tmp_path: Path, ngspice: str
) -> None:
    """Stopped after two outcomes, in the middle of writing a third."""
    path, name = tmp_path / "journal.jsonl", told_apart(BOARD, hidden, 3, 0.01)
    first = Journal(path, name)
    whole = run_trial(world.board, world, hidden, 3, keep=lambda k, one: first.add("us", k, one))
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:3]) + lines[3][:40])
    again = Journal(path, name)
    known = dict(again.known["us"])
    assert sorted(known) == [0, 1]
    report = run_trial(
        world.board, world, hidden, 3, known=known, keep=lambda k, one: again.add("us", k, one)
    )
    assert told(report.outcomes) == told(whole.outcomes)
    assert report.outcomes[0] == whole.outcomes[0]
    assert sorted(Journal(path, name).known["us"]) == [0, 1, 2]


def test_a_journal_of_another_trial_is_left_alone(hidden: list[Hidden], tmp_path: Path) -> None:
    path = tmp_path / "journal.jsonl"
    Journal(path, told_apart(BOARD, hidden, 3, 0.01))
    kept = path.read_bytes()
    for other in (
        told_apart(BOARD, hidden, 4, 0.01),
        told_apart(BOARD, hidden[:2], 3, 0.01),
        told_apart(BOARD + "# 2", hidden, 3, 0.01),
        told_apart(BOARD, hidden, 3, 0.03),
    ):
        with pytest.raises(TrialError, match="is of another one"):
            Journal(path, other)
    assert path.read_bytes() == kept


def test_a_file_that_is_no_journal(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("bread\nmilk\n")
    with pytest.raises(TrialError, match=r"notes\.txt:1: b'bread"):
        Journal(path, "x")
    assert path.read_text() == "bread\nmilk\n"
