"""The next check, or the repair: what to do now, ranked, with reasons."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

import numpy as np

from halfsplit.belief.posterior import normalise
from halfsplit.belief.tables import Tables
from halfsplit.build.world import World
from halfsplit.checks._told_by import words_for
from halfsplit.checks.constancy import CONSTANCY
from halfsplit.checks.kind import Check, Setup
from halfsplit.checks.meaning import meaning_lines
from halfsplit.diagnose.catalogue import SYMPTOM, Offer
from halfsplit.diagnose.contradiction import contradiction
from halfsplit.diagnose.cost import cost_here
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.outlook import LITTLE, Outlook, look_ahead, standing_of
from halfsplit.diagnose.plan import Step
from halfsplit.diagnose.session import Session, percent
from halfsplit.diagnose.standing import Standing, change_minutes
from halfsplit.diagnose.two_ahead import better_two_ahead
from halfsplit.diagnose.verdict import Verdict, repeatable, verdict
from halfsplit.diagnose.wider import ask_whether_always, considered
from halfsplit.frozen import dataclass

__all__ = ["Suggestion", "suggest", "suggestion_at"]

REPAIR = "repair"
"""``Suggestion.kind`` of a repair."""
BEFORE_SOLDERING = (
    "Switch off, unplug, and let the capacitors empty (measure them) before soldering.",
    "Where mains is near, follow your local rules or leave it to licensed hands.",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suggestion:
    """A check to do, or a repair (``kind`` ``"repair"``, ``check`` ``None``).

    ``minutes`` are the check's own, ``setup_minutes`` those to change the bench from how it
    stands, ``risk`` in minutes; ``gain`` bits expected about what to repair; ``score`` gain per
    minute, all three counted. ``meanings`` are lines, one for each span of outcomes; ``words``
    the outcome words and what they mean; ``expected`` what a good board gives.
    """

    id: str
    kind: str
    places: tuple[str, ...]
    state: str
    setup: Setup
    sentence: str
    why: str
    minutes: float
    setup_minutes: float = 0.0
    risk: float = 0.0
    gain: float = 0.0
    score: float = 0.0
    unit: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    meanings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    expected: str = ""
    check: Check | None = None


def suggest(session: Session, count: int = 5) -> list[Suggestion]:
    """At most ``count`` things to do, best first.

    A reading that contradicts the rest is taken again first; then repairs, when one is likely
    enough or nothing is left to gain; then checks by gain per minute, each of another kind of
    news; the first is a symptom. A check that has been answered is not suggested again, unless it
    is the contradicting one, or continuity that a slip would explain.
    """
    wide = considered(session)
    first = _doubtful(session) or _whether_always(session)
    if wide is not session:
        first = first or _doubtful(wide)
    things = _ranked_things(wide, count - len(first))
    if things and things[0].kind == REPAIR and not first:
        first = _whether_always(session, verdict(wide).order[0])
    return [*first, *things][:count]


def _ranked_things(session: Session, count: int) -> list[Suggestion]:
    """Repairs and checks, whatever is to be asked or done again before them."""
    if count < 1:
        return []
    outlook, judged = look_ahead(session), verdict(session)
    if judged.acceptance is not None:
        return [_accept(session, name, judged) for name in judged.acceptance.checks[:count]]
    found: list[Suggestion] = []
    if judged.again is not None:
        found.append(_again(session, judged.sentence, LITTLE, judged.again))
    if judged.first is not None:
        found.append(suggestion_at(session, outlook, judged.first, judged.sentence))
    found += [_repair(session, step, judged) for step in judged.order[: max(count - 1, 1)]]
    for at in _ranked(session, outlook):
        if len(found) < count and at != judged.first:
            found.append(suggestion_at(session, outlook, at))
    return found[:count]


def _doubtful(session: Session) -> list[Suggestion]:
    """The reading that contradicts the rest, where it is worth taking again."""
    against = contradiction(session)
    if against is None or against.misread is None or not repeatable(session, against):
        return []
    return [_again(session, against.sentence, against.gain, against.misread)]


def _whether_always(session: Session, repair: Step | None = None) -> list[Suggestion]:
    """The question whether the trouble comes and goes, where the answer matters: also before a
    ``repair`` that would be for nothing if it did."""
    known = session.catalogue.kinds.get(CONSTANCY)
    if known is None or CONSTANCY in session.limits.without_kinds:
        return []
    check = next(iter(known.offers(session.world)), None)
    if check is None:
        return []
    at_stake = cost_here(session, repair.suspect) if repair else 0.0
    if not ask_whether_always(session, at_stake, _setup_minutes(session, check)):
        return []
    why = "Readings clear a fault that comes and goes only while it is there."
    return [_given(session, check, why, LITTLE)]


def _setup_minutes(session: Session, check: Check) -> float:
    """Minutes to change the bench for a check."""
    setup = session.catalogue.kind(check.kind).setup(check, session.world)
    then = Standing.for_check(check, setup)
    return change_minutes(standing_of(session), then, session.world)


def _ranked(session: Session, outlook: Outlook) -> list[int]:
    """Indices of checks worth doing, best first, without those that tell the same again."""
    useful = outlook.exact & (outlook.bits >= LITTLE) & (outlook.score > 0.0)
    symptom = np.array([offer.check.kind == SYMPTOM for offer in outlook.offers], dtype=np.bool_)
    asked = any(entry.check.kind == SYMPTOM for entry in session.entries)
    first = symptom & (not asked)
    ranked: list[int] = []
    known = set()
    order = [int(at) for at in np.lexsort((-outlook.score, ~first)) if useful[at]]
    ahead = None if first.any() else better_two_ahead(session, outlook, order)
    for at in order if ahead is None else [ahead, *order]:
        news = _news(outlook.offers[at], float(outlook.bits[at]), session.world)
        if news not in known:
            known.add(news)
            ranked.append(at)
    return ranked


def _news(offer: Offer, bits: float, world: World) -> tuple[str, str, tuple[str, ...], int]:
    """Two checks with the same news differ only in where on the same nets the probes go."""
    check = offer.check
    known = [world.places.get(name) for name in check.places]
    nets = tuple(place.net for place in known if place is not None)
    where = nets if len(nets) == len(known) else check.places
    return check.kind, check.state, where, round(50.0 * bits)


def suggestion_at(session: Session, outlook: Outlook, at: int, reason: str = "") -> Suggestion:
    """The check numbered ``at`` of the outlook, with what it tells and costs."""
    offer = outlook.offers[at]
    check, bits, setup = offer.check, float(outlook.bits[at]), float(outlook.setup_minutes[at])
    cost = f"{bits:.2f} bit about what to repair for {offer.minutes + setup:.1f} min"
    split = _split(session, outlook.tables, at)
    if reason:
        why = reason
    elif check.kind == SYMPTOM and not any(e.check.kind == SYMPTOM for e in session.entries):
        why = f"What the outputs do narrows the board down fastest: {cost}."
    elif split:
        why = f"Tells {split}: {cost}."
    else:
        why = f"Shifts many suspects a little: {cost}."
    return _suggestion(session, offer, why=why, gain=bits, setup_minutes=setup)


def _accept(session: Session, name: str, judged: Verdict) -> Suggestion:
    """A check of the acceptance run."""
    word, _, rest = name.partition(" ")
    kind = session.catalogue.kind(word)
    check = next(
        (one for one in kind.offers(session.world) if one.id == name),
        Check(kind=word, places=(rest,)),
    )
    return _given(session, check, f"Acceptance: {judged.sentence}", LITTLE)


def _again(session: Session, reason: str, gain: float, entry: Entry) -> Suggestion:
    return _given(session, entry.check, f"Measure again: {reason}", gain)


def _given(session: Session, check: Check, why: str, gain: float) -> Suggestion:
    """A check that is asked for a reason of its own."""
    kind, world = session.catalogue.kind(check.kind), session.world
    setup = kind.setup(check, world)
    offer = Offer(
        check=check,
        kind=kind,
        setup=setup,
        minutes=kind.minutes(check, world),
        risk=kind.risk(check, world),
    )
    return _suggestion(
        session, offer, why=why, gain=gain, setup_minutes=_setup_minutes(session, check)
    )


def _suggestion(
    session: Session, offer: Offer, *, why: str, gain: float, setup_minutes: float
) -> Suggestion:
    check, world = offer.check, session.world
    kind = session.catalogue.kind(check.kind)
    return Suggestion(
        id=check.id,
        kind=check.kind,
        places=check.places,
        state=check.state,
        setup=offer.setup,
        sentence=kind.sentence(check, world),
        why=why,
        minutes=offer.minutes,
        setup_minutes=setup_minutes,
        risk=offer.risk,
        gain=gain,
        score=gain / max(offer.minutes + offer.risk + setup_minutes, 0.1),
        unit=kind.unit,
        words=words_for(check, kind, world.board),
        meanings=tuple(meaning_lines(check, world, session.meter, session.p, kind=kind)),
        cautions=tuple(kind.cautions(check, world)),
        expected=kind.expected(check, world, session.meter),
        check=check,
    )


def _repair(session: Session, step: Step, judged: Verdict) -> Suggestion:
    suspect = step.suspect
    also = f" This renews {', '.join(step.also)} too." if step.also else ""
    return Suggestion(
        id=f"{REPAIR} {suspect.id}",
        kind=REPAIR,
        places=(suspect.designator or suspect.id,),
        state="",
        setup="off",
        sentence=f"{suspect.repair[:1].upper()}{suspect.repair[1:]}.{also}",
        why=f"{suspect.id} is the one with {percent(step.probability)}. {judged.sentence}",
        minutes=suspect.minutes,
        cautions=BEFORE_SOLDERING,
    )


def _split(session: Session, tables: Tables, check: int) -> str:
    """``U3 from R7 and Q2``: the likeliest suspect and those that would read otherwise, or ""."""
    shares = session.by_suspect()[:-1]
    among = [int(at) for at in np.argsort(-shares, kind="stable")[:6] if shares[at] > LITTLE]
    if len(among) < 2:
        return ""
    table = tables.table(check)
    mixed = [normalise(np.where(session.group == name, session.p, 0.0)) @ table for name in among]
    names = [session.world.suspects[at].id for at in among]
    apart = [
        name
        for name, outcome in zip(names[1:], mixed[1:], strict=True)
        if 0.5 * np.abs(outcome - mixed[0]).sum() >= 0.5
    ]
    if not apart:
        return ""
    *first, last = apart[:3]
    return f"{names[0]} from {', '.join(first)} and {last}" if first else f"{names[0]} from {last}"
