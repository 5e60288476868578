"""A trial: faults played by the independent simulator, for the diagnosis to find."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from halfsplit.board.model import Board
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks.kind import Limits, Meter
from halfsplit.trial.examine import Ask, examine
from halfsplit.trial.hidden import Hidden
from halfsplit.trial.player import Hand
from halfsplit.trial.report import Outcome, TrialReport
from halfsplit.trial.share import alone, can_fork, forked, on_cluster
from halfsplit.trial.work import Plan

__all__ = ["run_trial"]


def run_trial(
    board: Board,
    world: World,
    faults: Sequence[Fault | Hidden],
    seed: int,
    processes: int = 1,
    ask: Ask = examine,
    *,
    hand: Hand | None = None,
    limits: Limits | None = None,
    meter: Meter | None = None,
    cluster: str = "",
    known: Mapping[int, Outcome] | None = None,
    keep: Callable[[int, Outcome], None] | None = None,
    progress: Callable[[int, int, Outcome], None] | None = None,
) -> TrialReport:
    """Play each fault and record how the examination ends.

    ``board`` gives the title; played is ``world.board``, which may have more (the cable's side of
    connectors).
    ``ask`` examines (see :func:`halfsplit.trial.examine.examine`); ``hand`` is how well the person
    measures, ``meter`` what with; ``progress`` is called with how many are done, how many there
    are, and the last outcome. With more than one process the work is shared by forks, with the
    address of a ``cluster`` by its workers. ``known`` are outcomes of an earlier run by number,
    which are not played again, and ``keep`` is told each new one.

    Raises :class:`TrialError` when the simulator is missing, a process dies or the cluster is not
    there; a single fault that cannot be played is an outcome with ``failed`` set.
    """
    plan = Plan(
        world=world, seed=seed, ask=ask, hand=hand or Hand(), limits=limits or Limits(),
        meter=meter or Meter(),
    )  # fmt: skip
    results = dict(known or {})
    jobs = [(at, _hidden(one)) for at, one in enumerate(faults) if at not in results]
    processes = max(1, min(processes, len(jobs)))
    if cluster and jobs:
        done = on_cluster(plan, jobs, cluster)
    elif processes == 1 or not can_fork():
        done = alone(plan, jobs)
    else:
        done = forked(plan, jobs, processes)
    for number, outcome in done:
        results[number] = outcome
        if keep:
            keep(number, outcome)
        if progress:
            progress(len(results), len(faults), outcome)
    return TrialReport(
        board=board.title, seed=seed, outcomes=tuple(results[k] for k in sorted(results))
    )


def _hidden(what: Fault | Hidden) -> Hidden:
    return what if isinstance(what, Hidden) else Hidden(faults=(what,))
