"""A trial: faults played by the independent simulator, for the diagnosis to find."""

from __future__ import annotations

import math
import multiprocessing
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from halfsplit.board.model import Board
from halfsplit.build.fault import HEALTHY, Fault
from halfsplit.build.world import World
from halfsplit.checks.kind import Limits, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.errors import HalfsplitError, TrialError
from halfsplit.trial.examine import Ask, Finding, examine
from halfsplit.trial.hidden import Hidden
from halfsplit.trial.patient import Patient
from halfsplit.trial.player import PLAYED, STEADY, Hand, Player
from halfsplit.trial.report import Outcome, TrialReport
from halfsplit.trial.stand import Bench
from halfsplit.trial.visible import visible_by, wrong_output

__all__ = ["run_trial"]

BOARDS = 4
"""Boards with tolerances of their own that the faults are spread over."""
_DISAGREES = 0.08
"""A reading that the true fault makes this much less likely than the best fault speaks against
the prediction, not against luck."""


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
    progress: Callable[[int, int, Outcome], None] | None = None,
) -> TrialReport:
    """Play each fault and record how the examination ends.

    ``board`` gives the title; played is ``world.board``, which may have more (the cable's side of
    connectors).
    ``ask`` examines (see :func:`halfsplit.trial.examine.examine`); ``hand`` is the meter and the
    person; ``progress`` is called with how many are done, how many there are, and the last
    outcome. With more than one process the work is shared by forks.

    Raises :class:`TrialError` when the simulator is missing or a process dies; a single fault
    that cannot be played is an outcome with ``failed`` set.
    """
    work = _Work(
        board=world.board,
        world=world,
        seed=seed,
        ask=ask,
        hand=hand or Hand(),
        limits=limits or Limits(),
        catalogue=Catalogue(world, Meter(), [kind for kind in CHECKS if kind.name in PLAYED]),
    )
    jobs = list(enumerate(_hidden(fault) for fault in faults))
    work.catalogue.offers(work.limits)
    processes = max(1, min(processes, len(jobs)))
    if processes == 1 or "fork" not in multiprocessing.get_all_start_methods():
        results = _alone(work, jobs, progress)
    else:
        results = _shared(work, jobs, processes, progress)
    return TrialReport(
        board=board.title, seed=seed, outcomes=tuple(results[k] for k in sorted(results))
    )


@dataclass(slots=True)
class _Work:
    board: Board
    world: World
    seed: int
    ask: Ask
    hand: Hand
    limits: Limits
    catalogue: Catalogue
    bench: Bench | None = None
    good_bench: dict[int, Bench] = field(default_factory=dict)
    good: dict[int, Player] = field(default_factory=dict)

    def play(self, number: int, hidden: Hidden) -> Outcome:
        """One board from the symptoms to the cure."""
        started = time.perf_counter()
        try:
            outcome = self._play(number, hidden)
        except HalfsplitError as error:
            self.close()
            outcome = Outcome(
                fault=hidden.name,
                suspect=" + ".join(hidden.suspects),
                visible="",
                failed=str(error)[:300],
            )
        return replace(outcome, seconds=time.perf_counter() - started)

    def close(self) -> None:
        """End the simulators."""
        for bench in (self.bench, *self.good_bench.values()):
            if bench is not None:
                bench.close()
        self.bench = None
        self.good_bench.clear()
        self.good.clear()

    def _play(self, number: int, hidden: Hidden) -> Outcome:
        if self.bench is None:
            self.bench = Bench()
        seed = self.seed * 1000 + number % BOARDS
        good = self._good(seed)
        fault, *also = hidden.faults
        player = Player(
            self.board, fault, seed, self.bench, self.hand, luck=self.seed + number,
            also=tuple(also), present=hidden.present, good=good.stand,
        )  # fmt: skip
        suspects = " + ".join(hidden.suspects)
        shown = visible_by(player, good, self.world, self.catalogue)
        if not shown or not self._noticed(hidden, seed, good):
            return Outcome(fault=hidden.name, suspect=suspects, visible="")
        patient = Patient(answer=player.answer, wrong=set(hidden.suspects), renewed=player.mended)
        found = self.ask(self.world, patient, self.catalogue, self.limits)
        named = {one for name, _ in found.named[:1] for one in name.split(" + ")}
        right = bool(named & set(hidden.suspects) or set(found.ties) & set(hidden.suspects))
        why, detail = ("", "") if right else self._why(fault, found, player)
        after = found.after_symptoms
        return Outcome(
            fault=hidden.name,
            suspect=suspects,
            visible=shown,
            right=right,
            mended=bool(set(hidden.suspects) & set(found.first_repair)),
            verdict=found.kind,
            probability=found.probability,
            named=found.named,
            checks=len(found.asked),
            checks_after_symptoms=len(after),
            bits_after_symptoms=after[0].bits if after else 0.0,
            minutes=found.minutes,
            cured=found.cured,
            bill=replace(patient.bill),
            unresolved=player.unresolved,
            misread=player.misread,
            why=why,
            detail=detail,
        )

    def _noticed(self, hidden: Hidden, seed: int, good: Player) -> bool:
        """Whether each of several faults puts an output wrong by itself: what nobody notices
        nobody looks for once the board works."""
        assert self.bench is not None
        return len(hidden.faults) == 1 or all(
            wrong_output(Player(self.board, one, seed, self.bench, STEADY), good, self.world)
            for one in hidden.faults
        )

    def _good(self, seed: int) -> Player:
        if seed not in self.good:
            healthy = next(fault for fault in self.world.faults if fault.id == HEALTHY)
            self.good_bench[seed] = Bench()
            self.good[seed] = Player(self.board, healthy, seed, self.good_bench[seed], STEADY)
        return self.good[seed]

    def _why(self, fault: Fault, found: Finding, player: Player) -> tuple[str, str]:
        """A class of miss, and the reading that spoke most against the truth."""
        row = next((k for k, one in enumerate(self.world.faults) if one.id == fault.id), -1)
        worst, least = None, 1.0
        for one in found.asked:
            share = float(one.likelihood[row] / max(float(one.likelihood.max()), 1e-300))
            if share < least:
                worst, least = one, share
        detail = ""
        if worst is not None:
            detail = f"{worst.check.id} = {worst.answer} ({least:.2g} of the best fit)"
        if player.misread and least < _DISAGREES:
            return "misread", detail
        if least < _DISAGREES:
            return "prediction differs from the simulator", detail
        if player.unresolved:
            return "simulator did not converge", detail
        if math.isclose(found.probability, 0.0) or found.kind == "too many":
            return "too many checks", detail
        return "not told apart", detail


def _hidden(what: Fault | Hidden) -> Hidden:
    return what if isinstance(what, Hidden) else Hidden(faults=(what,))


def _alone(
    work: _Work,
    jobs: Sequence[tuple[int, Hidden]],
    progress: Callable[[int, int, Outcome], None] | None,
) -> dict[int, Outcome]:
    results: dict[int, Outcome] = {}
    try:
        for number, hidden in jobs:
            results[number] = work.play(number, hidden)
            if progress:
                progress(len(results), len(jobs), results[number])
    finally:
        work.close()
    return results


def _shared(
    work: _Work,
    jobs: Sequence[tuple[int, Hidden]],
    processes: int,
    progress: Callable[[int, int, Outcome], None] | None,
) -> dict[int, Outcome]:
    context = multiprocessing.get_context("fork")
    waiting = context.SimpleQueue()
    done = context.SimpleQueue()
    for job in jobs:
        waiting.put(job[0])
    for _ in range(processes):
        waiting.put(None)
    faults = dict(jobs)

    def run() -> None:
        try:
            while (number := waiting.get()) is not None:
                done.put((number, work.play(number, faults[number])))
        except BaseException as error:
            # told to the parent, which raises it
            done.put((None, repr(error)))
        finally:
            work.close()

    team = [context.Process(target=run) for _ in range(processes)]
    for one in team:
        one.start()
    results: dict[int, Outcome] = {}
    try:
        while len(results) < len(jobs):
            number, outcome = done.get()
            if number is None:
                raise TrialError(f"a process of the trial died: {outcome}")
            results[number] = outcome
            if progress:
                progress(len(results), len(jobs), outcome)
    finally:
        for one in team:
            if len(results) < len(jobs):
                one.terminate()
            one.join()
    return results
