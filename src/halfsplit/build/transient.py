"""Waveforms of a board under a schedule, healthy and with every fault.

The healthy board goes first and finds the steps; its moves are the guesses of the faults, which
go together in its steps or finer ones (:mod:`halfsplit.solve.transient`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.compiled import Compiled
from halfsplit.build.transient_network import Case, Network, make_network
from halfsplit.build.transient_probe import Probe
from halfsplit.build.transient_run import Course, Emf, Runner
from halfsplit.build.transient_schedule import Schedule
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = ["CHUNK", "Emf", "Waveforms", "run"]

CHUNK = 512
"""Cases that go together: what fits the cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waveforms:
    """What was recorded under F faults at K times.

    ``time`` [K] seconds, not evenly spaced: close behind edges, far apart at rest. ``volts``
    place -> [F, K] to ground; ``currents`` designator -> [F, K] ampere into pin 1 (a coil's, a
    capacitor's, or as the part's kind says). ``faults`` are their ids, the first healthy if it
    was asked for. ``unresolved`` [F]: could not be computed to the end; not-a-number from there.
    ``assumed`` designators whose farads or henries nobody gave: their timing is a guess.
    """

    time: Array
    faults: tuple[str, ...]
    volts: dict[str, Array]
    currents: dict[str, Array]
    unresolved: npt.NDArray[np.bool_]
    assumed: tuple[str, ...]

    def at(self, times: Array, of: Array) -> Array:
        """One of the arrays [F, K] at other times [J], by straight lines: [F, J]."""
        return np.stack([np.interp(times, self.time, row) for row in of])


def run(
    compiled: Compiled,
    schedule: Schedule,
    *,
    faults: Sequence[str] | None = None,
    places: Sequence[str] = (),
    currents: Sequence[str] = (),
    longest: float | None = None,
    accuracy: float = 6e-3,
    emf: Sequence[Emf] = (),
) -> Waveforms:
    """Play ``schedule`` for ``faults`` (ids; None for all, healthy first).

    ``longest`` seconds of a step (default: a quarter of the shortest phase, a fortieth of a swing
    of a rail); ``accuracy``: error of one step as a share of the highest rail, or of what it
    drives through a coil. ``emf``: volts that motion induces in windings. Raises UnknownName,
    PlaceError, ScheduleError, or BoardError for a state that sets what cannot be set.
    """
    rows = _rows(compiled, faults)
    network = make_network(compiled.assembly)
    probe = Probe.make(compiled, network, rows, places, currents)
    cases = [network.case(compiled.faults[row]) for row in rows]
    distinct = list(dict.fromkeys(cases))
    runner = Runner.make(network, schedule, longest=longest, accuracy=accuracy, emf=emf)
    course = runner.lead(Case((), ()))
    recorded = np.full((probe.height, course.time.size, len(rows)), np.nan)
    place = {case: k for k, case in enumerate(distinct)}
    row_of = np.asarray([place[case] for case in cases], dtype=np.intp)
    lost = np.zeros(len(distinct), dtype=bool)
    for start in range(0, len(distinct), CHUNK):
        some = distinct[start : start + CHUNK]
        mine = np.flatnonzero((row_of >= start) & (row_of < start + len(some)))
        lost[start : start + len(some)] = _follow(
            runner, course, some, probe, mine, row_of[mine] - start, recorded
        )
    values = np.ascontiguousarray(np.transpose(recorded, (0, 2, 1)))
    return Waveforms(
        time=course.time,
        faults=tuple(compiled.faults[row].id for row in rows),
        volts=dict(zip(places, values, strict=False)),
        currents=dict(zip(currents, values[len(places) :], strict=True)),
        unresolved=lost[row_of],
        assumed=_assumed(network),
    )


def _follow(
    runner: Runner,
    course: Course,
    cases: Sequence[Case],
    probe: Probe,
    rows: npt.NDArray[np.intp],
    column_of: npt.NDArray[np.intp],
    recorded: Array,
) -> npt.NDArray[np.bool_]:
    """Record the ``rows`` of the answer, each from the column of its case; which cases [B] were
    lost on the way."""
    lost = np.ones(len(cases), dtype=bool)
    for k, march in enumerate(runner.follow(course, cases)):
        here = np.full(len(cases), -1, dtype=np.intp)
        here[march.which] = np.arange(march.which.size)
        found = here[column_of]
        alive = np.flatnonzero(found >= 0)
        recorded[:, k, rows[alive]] = probe.read(march, rows[alive], found[alive])
    lost[march.which] = False
    return lost


def _rows(compiled: Compiled, faults: Sequence[str] | None) -> list[int]:
    known = {fault.id: row for row, fault in enumerate(compiled.faults)}
    if faults is None:
        return list(known.values())
    for name in faults:
        if name not in known:
            raise UnknownName("fault", name, known)
    return [known[name] for name in faults]


def _assumed(network: Network) -> tuple[str, ...]:
    return tuple(dict.fromkeys(at.designator for at in network.stores if not at.store.known))
