"""The work of a trial done here, over processes of this machine, or over a cluster."""

from __future__ import annotations

import multiprocessing
import threading
import uuid
from collections.abc import Iterator, Sequence

from halfsplit.errors import TrialError
from halfsplit.trial.hidden import Hidden
from halfsplit.trial.report import Outcome
from halfsplit.trial.work import Plan, Work

__all__ = ["Done", "Job", "alone", "can_fork", "forked", "on_cluster"]

Job = tuple[int, Hidden]
"""Its number in the trial, and what is hidden."""
Done = Iterator[tuple[int, Outcome]]
"""Outcomes by number, as they come."""


def alone(plan: Plan, jobs: Sequence[Job]) -> Done:
    """One after the other."""
    work = Work(plan)
    try:
        for number, hidden in jobs:
            yield number, work.play(number, hidden)
    finally:
        work.close()


def can_fork() -> bool:
    """Whether :func:`forked` works on this machine."""
    return "fork" in multiprocessing.get_all_start_methods()


def forked(plan: Plan, jobs: Sequence[Job], processes: int) -> Done:
    """By forks that share what has been predicted before. Raises :class:`TrialError` when one
    dies."""
    work = _predicted(plan)
    context = multiprocessing.get_context("fork")
    waiting = context.SimpleQueue()
    done = context.SimpleQueue()
    for number, _ in jobs:
        waiting.put(number)
    for _ in range(processes):
        waiting.put(None)
    hidden = dict(jobs)

    def run() -> None:
        try:
            while (number := waiting.get()) is not None:
                done.put((number, work.play(number, hidden[number])))
        except BaseException as error:
            # told to the parent, which raises it
            done.put((None, repr(error)))
        finally:
            work.close()

    team = [context.Process(target=run) for _ in range(processes)]
    for one in team:
        one.start()
    left = len(jobs)
    try:
        while left:
            number, outcome = done.get()
            if number is None:
                raise TrialError(f"a process of the trial died: {outcome}")
            left -= 1
            yield number, outcome
    finally:
        for one in team:
            if left:
                one.terminate()
            one.join()


def on_cluster(plan: Plan, jobs: Sequence[Job], address: str) -> Done:
    """By the workers of a Dask cluster, each with a simulator of its own; the plan, with all that
    has been predicted, is sent to each once. Raises :class:`TrialError`."""
    try:
        from distributed import Client, as_completed
    except ImportError as error:
        raise TrialError(
            "expected Dask for a trial on a cluster, found none: install halfsplit[cluster]"
        ) from error
    try:
        client = Client(address, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise TrialError(
            f"expected a Dask scheduler at {address!r} (tcp://HOST:PORT), got: {error}"
        ) from error
    with client:
        _predicted(plan)
        sent = client.scatter(plan, broadcast=True)  # type: ignore[no-untyped-call]
        name = uuid.uuid4().hex
        futures = client.map(
            _there, [name] * len(jobs), [sent] * len(jobs), jobs, pure=False, retries=1
        )
        for future in as_completed(futures):  # type: ignore[no-untyped-call]
            number, outcome = future.result()
            yield number, outcome


def _predicted(plan: Plan) -> Work:
    """Work whose world has predicted all that may be asked: to be shared, not made anew by each."""
    work = Work(plan)
    work.catalogue.offers(plan.limits)
    return work


_AT_WORK: dict[str, Work] = {}
_ONE = threading.Lock()
"""A worker has several threads, and one pair of simulators."""


def _there(name: str, plan: Plan, job: Job) -> tuple[int, Outcome]:
    """On a worker: the work that goes by ``name`` is kept from job to job."""
    with _ONE:
        if name not in _AT_WORK:
            for other in list(_AT_WORK):
                _AT_WORK.pop(other).close()
            _AT_WORK[name] = Work(plan)
        number, hidden = job
        return number, _AT_WORK[name].play(number, hidden)
