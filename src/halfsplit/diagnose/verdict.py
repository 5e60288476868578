"""Where the case stands: measure on, repair, nothing left to gain, or nothing fits."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from halfsplit.belief.ties import distances, tied
from halfsplit.build.fault import Suspect
from halfsplit.checks.constancy import FITFUL
from halfsplit.checks.kind import Check
from halfsplit.diagnose.acceptance import CURED, Acceptance, acceptance
from halfsplit.diagnose.contradiction import Contradiction, contradiction
from halfsplit.diagnose.cost import MINUTES_PER_PRICE, check_first, giving_up, overdone, repair_cost
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.outlook import LITTLE, Outlook, look_ahead, standing_of
from halfsplit.diagnose.plan import Step, plan
from halfsplit.diagnose.session import Ranked, Session, percent
from halfsplit.diagnose.standing import CAREFUL, Standing, change_minutes
from halfsplit.diagnose.watching import said
from halfsplit.diagnose.wider import considered, is_wider
from halfsplit.frozen import dataclass

__all__ = ["SURE", "Verdict", "repeatable", "verdict"]

SURE = 0.96
"""Probability at which a repair is proposed."""
SURER = 0.985
"""The same while being surer takes less than it saves."""
PROVEN = 0.995
"""The same, while a check tells anything, for a part that cannot be had again and for a supply:
one line is held low by what drives it, or by an input that hangs on it, and the first must not be
condemned for the second."""
CERTAIN = 0.995
"""Probability from which no reading is taken again first."""
HINGE, UNEXPECTED = 0.5, 3.0
"""A verdict hangs on a reading without which it falls below the first; it is worth taking again
when it came unexpected by the second, in bits."""
WORTH_NAMING = 0.02
"""Suspects less likely than this are not named."""
MOST_NAMED = 8
DULL = 0.15
"""Bits: while a check tells more and nothing is sure, what is wrong is soon known, and knowing is
worth more than the cheapest order."""
TWICE = 2
"""A repair done so often is not proposed again."""
QUICK = 5.0
"""Minutes: what takes longer is not done twice on suspicion."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Verdict:
    """``kind`` and ``sentence`` say where the case stands. ``probability`` is that of the
    suspects in ``order`` together (of the likeliest suspect while measuring goes on), ``order``
    the repairs by least expected cost, ``ties`` the suspects that no check left can tell from
    the likeliest, ``contradiction`` what does not fit, if anything."""

    kind: Literal["measure", "repair", "nothing left", "nothing fits", "cured"]
    sentence: str
    probability: float
    order: tuple[Step, ...] = ()
    ties: tuple[str, ...] = ()
    contradiction: Contradiction | None = None
    again: Entry | None = None
    """The reading that a verdict would hang on, to be taken once more before any repair."""
    first: int | None = None
    """Which check of the outlook is worth taking before the likeliest repair."""
    acceptance: Acceptance | None = None
    """After a cure: what the acceptance run still needs."""


def verdict(session: Session) -> Verdict:
    """Judge the session, or the wider one that its readings ask for."""
    ranked = session.suspects()
    listed = [one for one in ranked if one.faults and one.probability > 0.0]
    against = contradiction(session)
    if against is not None and repeatable(session, against):
        return _measure(ranked, f"{against.sentence} Measure it again first.", against)
    wide = considered(session)
    if wide is not session:
        return verdict(wide)
    outlook = look_ahead(session)
    if session.p[-1] > 0.5 and session.entries:
        return _nothing_fits(session, against)
    run = acceptance(session)
    if run is not None and not run.wrong and session.p[0] >= CURED:
        return _cured(session, run, against)
    listed = [one for one in listed if session.done.count(one.suspect.id) < TWICE]
    if not listed:
        return _nothing_fits(session, against)
    ties = _ties(session, listed, outlook)
    together = [listed[at] for at in ties] if ties else listed[:1]
    total = sum(one.probability for one in together)
    tells = outlook.most >= LITTLE
    proof = _to_be_proven(session, together[0].suspect)
    if total >= (PROVEN if proof and tells else SURE):
        hinge = _hinge(session, together) if total < CERTAIN else None
        if hinge is not None:
            said = f"{together[0]} leads, but all hangs on {hinge}. Take it once more first."
            return replace(_measure(ranked, said, against), again=hinge)
        ahead = check_first(session, outlook)
        if ahead is not None:
            return _one_more(session, ranked, together, outlook, ahead, against)
        if total < SURER and tells and overdone(session, outlook) is None:
            return _go_on(session, ranked, outlook, against)
        return _repair(session, together, total, against)
    too_dear = None
    if tells and session.entries and not proof and outlook.most <= DULL:
        too_dear = overdone(session, outlook)
    if not tells or too_dear is not None:
        return _nothing_left(session, listed, together, against, too_dear)
    return _go_on(session, ranked, outlook, against)


def _go_on(
    session: Session, ranked: list[Ranked], outlook: Outlook, against: Contradiction | None
) -> Verdict:
    first = f"{ranked[0]} leads" if session.entries else "Nothing has been read yet"
    said = f"{first}; the best check tells {outlook.most:.1f} bit. Go on measuring."
    return _measure(ranked, said, against)


def _to_be_proven(session: Session, suspect: Suspect) -> bool:
    """Whether it is a part that cannot be had again, or off this board."""
    part = session.world.board.part(suspect.designator)
    if part is None:
        return any(f"rail {rail.net}" == suspect.id for rail in session.world.board.rails)
    return suspect.id == suspect.designator and part.remarks.irreplaceable


def _one_more(
    session: Session,
    ranked: list[Ranked],
    together: list[Ranked],
    outlook: Outlook,
    ahead: tuple[int, float],
    against: Contradiction | None,
) -> Verdict:
    at, saved = ahead
    cost = repair_cost(together[0].suspect, session.world)
    said = (
        f"{together[0]} leads, but its repair for nothing would cost {cost:.0f} min, a good part "
        f"counted in; {outlook.offers[at].check.id} first saves {saved:.1f} min on average."
    )
    return replace(_measure(ranked, said, against), first=at)


def repeatable(session: Session, against: Contradiction) -> bool:
    """Whether the doubtful reading was taken once only and is quickly taken again: within limits,
    without soldering, in :data:`QUICK` minutes. Of what comes and goes readings may disagree."""
    if not is_wider(session) and said(session.entries) == FITFUL:
        return False
    return against.misread is not None and _quickly_again(session, against.misread.check)


def _hinge(session: Session, together: list[Ranked]) -> Entry | None:
    """The one reading, taken once and quickly taken again, without which the suspects would not
    be likelier than not; the weightiest of several."""
    index = {suspect.id: at for at, suspect in enumerate(session.world.suspects)}
    among = [index[one.suspect.id] for one in together]
    found, least = None, HINGE
    for entry in session.entries:
        if entry.surprise < UNEXPECTED or not _quickly_again(session, entry.check):
            continue
        left = float(session.by_suspect(session.p_without(entry.number))[among].sum())
        if left < least:
            found, least = entry, left
    return found


def _quickly_again(session: Session, check: Check) -> bool:
    limits, world = session.limits, session.world
    kind = session.catalogue.kind(check.kind)
    setup = kind.setup(check, world)
    allowed = check.kind not in limits.without_kinds and setup not in limits.without_setups
    still = change_minutes(standing_of(session), Standing.for_check(check, setup), world) == 0.0
    quick = still if setup in CAREFUL else kind.minutes(check, world) <= QUICK
    return allowed and quick and session.answered().get(check.id) == 1


def _ties(session: Session, listed: list[Ranked], outlook: Outlook) -> tuple[int, ...]:
    """Positions in ``listed`` of the likeliest suspect and those no check left tells from it."""
    named = [one for one in listed if one.probability >= WORTH_NAMING][:MOST_NAMED]
    enough = sum(one.probability for one in named) >= SURE or outlook.most < LITTLE
    if len(named) < 2 or not enough:
        return ()
    index = {suspect.id: at for at, suspect in enumerate(session.world.suspects)}
    among = [index[one.suspect.id] for one in named]
    apart = distances(session.p, session.group, outlook.tables, among, outlook.unanswered)
    sets = tied(apart)
    return next((positions for positions in sets if positions[0] == 0), ())


def _measure(ranked: list[Ranked], said: str, against: Contradiction | None) -> Verdict:
    return Verdict(
        kind="measure", sentence=said, probability=ranked[0].probability, contradiction=against
    )


def _repair(
    session: Session, together: list[Ranked], total: float, against: Contradiction | None
) -> Verdict:
    planned = plan(session, together)
    steps = planned.steps
    likeliest, *others = together
    said = f"{_capital(steps[0].suspect.repair)} ({percent(total)})."
    if others:
        with_whom = _listed([str(one) for one in others])
        said = (
            f"{likeliest} is right only together with {with_whom}, which no check left can tell "
            f"from it: {percent(total)} in all. {_in_order(steps)}"
        )
    said += _beyond_limits(session, steps[0].suspect, planned.minutes)
    return Verdict(
        kind="repair",
        sentence=_with_doubt(said, against),
        probability=total,
        order=steps,
        ties=tuple(one.suspect.id for one in others),
        contradiction=against,
    )


def _beyond_limits(session: Session, suspect: Suspect, minutes: float) -> str:
    """What the person's own limits have to say about a repair."""
    part = session.world.board.part(suspect.designator)
    solders = part is not None and not part.remarks.socketed
    said = ""
    if solders and "part out" in session.limits.without_setups:
        said = " It takes soldering, which you have ruled out: hand it on, or stop here."
    price = session.limits.give_up
    if price is not None and minutes > giving_up(session):
        said += (
            f" That is {minutes:.0f} min expected, money counted in, against {price:g} "
            f"({MINUTES_PER_PRICE * price:.0f} min) for a substitute: think of stopping."
        )
    return said


def _nothing_left(
    session: Session,
    listed: list[Ranked],
    together: list[Ranked],
    against: Contradiction | None,
    too_dear: tuple[float, float] | None,
) -> Verdict:
    named = [one for one in listed if one.probability >= WORTH_NAMING][:MOST_NAMED] or listed[:1]
    steps = plan(session, named).steps
    total = sum(one.probability for one in named)
    said = "No check left tells more about what to repair. "
    if too_dear is not None:
        to_go, saved = too_dear
        said = (
            f"What is left to check takes longer than it saves: some {to_go:.0f} min to be sure, "
            f"and {saved:.0f} min saved by that. "
        )
    if len(together) > 1:
        said += f"Not to be told apart: {_listed([str(one) for one in together])}. "
    if steps:
        said += f"{_in_order(steps)} Together {percent(total)}"
        said += f"; something else {percent(float(session.p[-1]))}."
    return Verdict(
        kind="nothing left",
        sentence=_with_doubt(said, against),
        probability=total,
        order=steps,
        ties=tuple(one.suspect.id for one in together[1:]),
        contradiction=against,
    )


def _cured(session: Session, run: Acceptance, against: Contradiction | None) -> Verdict:
    return Verdict(
        kind="cured",
        sentence=run.sentence,
        probability=float(session.p[0]),
        contradiction=against,
        acceptance=run,
    )


def _nothing_fits(session: Session, against: Contradiction | None) -> Verdict:
    share = percent(float(session.p[-1]))
    said = (
        f"Something else is likelier than all listed faults ({share}). Think of two faults at "
        "once, of what the board file leaves out (connectors, harness, what is off the sheet), "
        "and of work done on the board before."
    )
    return Verdict(
        kind="nothing fits",
        sentence=_with_doubt(said, against),
        probability=float(session.p[-1]),
        contradiction=against,
    )


def _with_doubt(said: str, against: Contradiction | None) -> str:
    return f"{said} {against.sentence}" if against else said


def _in_order(steps: tuple[Step, ...]) -> str:
    words = []
    for step in steps:
        also = f" (this renews {_listed(list(step.also))} too)" if step.also else ""
        words.append(f"{step.suspect.repair}{also}")
    return f"In order: {'; then '.join(words)}."


def _listed(words: list[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
