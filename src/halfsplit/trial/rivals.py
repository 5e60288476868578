"""Other ways to look for a fault, played on the same boards: what a repairer does without the
program, and what the program would do without choosing.

All begin with the complaint and all symptoms, and repair until the board is cured.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

import numpy as np

from halfsplit.belief.posterior import UNEXPLAINED, misfit
from halfsplit.build.fault import ELSE, Suspect
from halfsplit.build.world import World
from halfsplit.checks._places import representative
from halfsplit.checks.kind import Check, Limits
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue
from halfsplit.diagnose.choose import Suggestion, suggestion_at
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.halving import Halving, halvings
from halfsplit.diagnose.outlook import LITTLE, look_ahead
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict
from halfsplit.trial.examine import MOST, Ask, Finding, begin, examine
from halfsplit.trial.patient import Patient

__all__ = ["PROGRAM", "RIVALS"]

SYMPTOM_MINUTES = 0.3
"""Minutes to see what one output does."""
VOLTS_MINUTES = 0.7
"""Minutes for one voltage, as the program reckons them."""
REPAIRS = 12
"""Repairs after which somebody gives up."""


def by_likelihood(world: World, patient: Patient, catalogue: Catalogue, limits: Limits) -> Finding:
    """Renew what fails most often among what the symptoms leave, one after the other."""
    session = _symptoms(world, patient, catalogue, limits)
    order = [one.suspect for one in session.suspects() if one.suspect.id != ELSE]
    return _repair_all(patient, order)


def by_halves(world: World, patient: Patient, catalogue: Catalogue, limits: Limits) -> Finding:
    """Halve the path to a wrong output by voltages until one stage is left between good and bad;
    renew that stage, then what else is on its nets."""
    session = _symptoms(world, patient, catalogue, limits)
    wrong = [entry.check for entry in session.entries if _is_wrong(entry)]
    outputs = {check.places[0] for check in wrong}
    for _ in range(MOST):
        found = next(_open(halvings(session), outputs), None)
        if found is None:
            break
        state = next(check.state for check in wrong if check.places[0] == found.path.output)
        check = Check(kind="volts", places=(representative(world, found.middle),), state=state)
        if check.id in session.answered():
            break
        kind = catalogue.kind("volts")
        session = session.enter(check, kind.read(check, patient.answer(check), world))
        patient.bill.minutes += VOLTS_MINUTES
    return _repair_all(patient, _at_first_bad(session, outputs))


def at_random(world: World, patient: Patient, catalogue: Catalogue, limits: Limits) -> Finding:
    """Any check that tells something, and the program's verdict."""
    rng = np.random.default_rng(len(world.faults))

    def pick(session: Session) -> Suggestion | None:
        outlook = look_ahead(session)
        judged = verdict(session)
        useful = np.flatnonzero(outlook.unanswered & outlook.exact & (outlook.bits >= LITTLE))
        if judged.kind != "measure" or not useful.size:
            return None
        return suggestion_at(session, outlook, int(rng.choice(useful)))

    return examine(world, patient, catalogue, limits, pick=pick)


PROGRAM = "the program"
RIVALS: Mapping[str, Ask] = {
    PROGRAM: examine,
    "the likeliest part first": by_likelihood,
    "halving the path": by_halves,
    "any useful check": at_random,
}
"""Name -> who examines, the program first."""


def _symptoms(world: World, patient: Patient, catalogue: Catalogue, limits: Limits) -> Session:
    session = begin(catalogue, limits, patient.complaint)
    kind = catalogue.kind(SYMPTOM)
    known = session.answered()
    for check in kind.offers(world):
        if check.id in known:
            continue
        session = session.enter(check, kind.read(check, patient.answer(check), world))
        patient.bill.minutes += SYMPTOM_MINUTES
    return session


def _is_wrong(entry: Entry) -> bool:
    return entry.check.kind == SYMPTOM and float(misfit(entry.likelihood)[0]) > UNEXPLAINED


def _open(found: Iterable[Halving], outputs: Container[str]) -> Iterator[Halving]:
    """Paths to a wrong output with more than one stage between good and bad."""
    for one in found:
        if one.path.output in outputs and one.first_bad - one.last_good > 1:
            yield one


def _at_first_bad(session: Session, outputs: Container[str]) -> list[Suspect]:
    """The stage before the first bad net first, then the rest of that net, then all others."""
    near: list[str] = []
    board = session.world.board
    for one in halvings(session):
        if one.path.output in outputs:
            net = one.path.nets[min(one.first_bad, len(one.path.nets) - 1)]
            stage = one.path.stages[min(one.first_bad, len(one.path.stages)) - 1].part
            near += [stage, *(designator for designator, _ in board.nets().get(net, ()))]
    ranked = [one.suspect for one in session.suspects() if one.suspect.id != ELSE]
    first = {name: at for at, name in reversed(list(enumerate(near)))}
    parts = [one for one in ranked if one.id in first]
    parts.sort(key=lambda one: first[one.id])
    beside = [one for one in ranked if one.designator in first and one.id not in first]
    rest = [one for one in ranked if one not in parts and one not in beside]
    return [*parts, *beside, *rest]


def _repair_all(patient: Patient, order: Sequence[Suspect]) -> Finding:
    for suspect in order[:REPAIRS]:
        if patient.mend(suspect):
            break
    first = order[0].id if order else ""
    return Finding(
        kind="repair", probability=0.0, named=((first, 0.0),), ties=(), first_repair=(first,),
        asked=(), cured=patient.well,
    )  # fmt: skip
