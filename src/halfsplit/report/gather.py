"""The record of a case, gathered from its log and what follows from it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.album import photos_of
from halfsplit.checks.kind import Check, CheckKind, Meter
from halfsplit.diagnose.acceptance import Acceptance, acceptance
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.explain import explain
from halfsplit.diagnose.present import Present
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.told import NOTE, ReadingEntry, RepairEntry
from halfsplit.diagnose.verdict import Verdict
from halfsplit.diagnose.wider import considered
from halfsplit.errors import HalfsplitError
from halfsplit.finding import findings_of
from halfsplit.glossary import WORDS
from halfsplit.report.course import course, is_odd, leaders
from halfsplit.report.justified import parts_changed, switching_on
from halfsplit.report.model import MENDED, Line, Reason, Record
from halfsplit.report.weighed import protected, weighed
from halfsplit.report.wording import reading_words, state_by_state
from halfsplit.store.event import Event
from halfsplit.store.replay import live
from halfsplit.units import format_quantity
from halfsplit.version import installed_version

__all__ = ["gather"]

REPAIRS = frozenset({"swap", "reseat", "exchange"})
"""Kinds of check that change something on the board."""
MOST_REASONS = 4
MOST_SENTENCES = 4


def gather(present: Present, judged: Verdict, *, case: str) -> Record:
    """The record of a case named ``case`` as it stands; ``judged`` is the verdict on it."""
    session, board, events = considered(present.session), present.board, live(present.events)
    run = acceptance(present.session)
    at = {event.number: event.at for event in events}
    names = [suspect.id for suspect in session.world.suspects]
    whole = course(session, names)
    leading = leaders(session)
    entries = {entry.number: entry for entry in session.entries}
    tops = {entry.number: _top(names, whole[n]) for n, entry in enumerate(session.entries, 1)}
    lines = [
        _line(told, at[told.number], present, entries.get(told.number), tops.get(told.number))
        for told in present.told.readings
    ]
    changed = [_repair(one, at[one.number]) for one in present.told.repairs]
    repairs = tuple(
        sorted(
            [*changed, *(line for line in lines if line.kind in REPAIRS)],
            key=lambda line: line.number,
        )
    )
    symptoms = tuple(line for line in lines if line.kind == "symptom")
    return Record(
        title=board.title or "Board without a title",
        revision=board.revision,
        case=case,
        begun=present.events[0].at,
        last=present.events[-1].at,
        version=installed_version(),
        standing=judged.kind,
        short=tuple(_short(symptoms, lines, repairs, judged, run)),
        told=board.notes,
        symptoms=symptoms,
        readings=tuple(line for line in lines if line.kind not in REPAIRS),
        repairs=repairs,
        acceptance=state_by_state(run.met) if run else (),
        missing=state_by_state(run.missing) if run else (),
        proof=f"{run.sentence} {run.claim}".strip() if run else "",
        changed=parts_changed(present.session),
        power_up=switching_on(present.session),
        weighed=weighed(present.session),
        protected=protected(present.session),
        reasons=tuple(_reasons(session.before_repairs() if session.done else session)),
        leaders=leading,
        course=tuple(tuple(row[names.index(name)] for name in leading) for row in whole),
        notes=tuple(_notes(events)),
        cautions=tuple(_cautions(session, [one.check for one in present.told.readings])),
        photos=photos_of(events),
        findings=findings_of(events),
        meter=_meter(present.told.meter),
        glossary=WORDS,
        board_text=present.told.board_text,
        board=board,
    )


def _line(
    told: ReadingEntry,
    at: str,
    present: Present,
    entry: Entry | None,
    top: tuple[str, float] | None,
) -> Line:
    check, session = told.check, present.session
    kind = session.catalogue.kinds.get(check.kind)
    asked, expected = check.id, ""
    if kind is not None and entry is not None:
        asked = _said(kind, check, session)
        expected = kind.expected(check, session.world, session.meter)
    leader, share = top or ("", 0.0)
    return Line(
        number=told.number,
        at=at,
        kind=check.kind,
        check=check.id,
        asked=asked,
        state=check.state,
        read=reading_words(told.reading, kind.unit if kind else ""),
        expected=expected,
        odd=entry is not None and is_odd(entry),
        why_not=present.left_out.get(told.number, ""),
        leader=leader,
        share=share,
        source=told.source,
    )


def _repair(done: RepairEntry, at: str) -> Line:
    return Line(
        number=done.number, at=at, kind="repaired", check=done.suspect,
        asked=f"Repaired: {done.suspect}", state="", read="done", expected="", odd=False,
    )  # fmt: skip


def _said(kind: CheckKind, check: Check, session: Session) -> str:
    try:
        return kind.sentence(check, session.world)
    except HalfsplitError:
        return check.id


def _top(names: Sequence[str], shares: Sequence[float]) -> tuple[str, float]:
    best = max(range(len(names)), key=shares.__getitem__)
    return names[best], shares[best]


def _short(
    symptoms: Sequence[Line],
    lines: Sequence[Line],
    repairs: Sequence[Line],
    judged: Verdict,
    run: Acceptance | None,
) -> Iterable[str]:
    """What an owner wants to know, in the order of asking."""
    wrong = [line for line in symptoms if line.odd]
    if wrong:
        yield "What was wrong: " + "; ".join(_symptom(line) for line in wrong[:3]) + "."
    measured = sum(line.kind not in (*REPAIRS, "symptom") for line in lines)
    odd = sum(line.odd for line in lines if line.kind not in (*REPAIRS, "symptom"))
    if measured:
        counted = _count(measured, "measurement")
        yield f"{counted} taken, {odd or 'none'} of them not as on a good board."
    else:
        yield "No measurement was taken yet."
    done = [line for line in repairs if line.read in MENDED]
    if done:
        yield "What was put right: " + "; ".join(line.check for line in done) + "."
    elif judged.kind == "repair":
        yield (
            "What is to be done: "
            + ", then ".join(one.suspect.repair for one in judged.order[:3])
            + "."
        )
    else:
        yield judged.sentence
    if run is not None and run.closed:
        yield "The acceptance run is complete: the repair is proved."
    elif done:
        yield "The acceptance run is not complete: the repair is not proved yet."
    else:
        yield "The repair is not finished."


def _count(number: int, what: str) -> str:
    return f"{number} {what} was" if number == 1 else f"{number or 'no'} {what}s were"


def _symptom(line: Line) -> str:
    output = line.check.removeprefix("symptom ").partition(" @")[0]
    good = f", where a good board gives {line.expected}" if line.expected else ""
    return f"{output} was {line.read} in state {line.state}{good}"


def _reasons(session: Session) -> Iterable[Reason]:
    ranked = {one.suspect.id: one for one in session.suspects()}
    for said in explain(session, MOST_REASONS):
        yield Reason(
            suspect=said.suspect,
            repair=ranked[said.suspect].suspect.repair,
            probability=said.probability,
            why=tuple(weight.sentence for weight in said.raised[:MOST_SENTENCES]),
            why_not=tuple(weight.sentence for weight in said.lowered[:MOST_SENTENCES]),
        )


def _notes(events: Iterable[Event]) -> Iterable[tuple[str, str]]:
    for event in events:
        if event.kind == NOTE:
            yield event.at, str(event.data.get("text", ""))


def _cautions(session: Session, checks: Iterable[Check]) -> list[str]:
    """Those of all checks that were made, each once, in order."""
    found: dict[str, None] = {}
    for check in checks:
        kind = session.catalogue.kinds.get(check.kind)
        if kind is None:
            continue
        try:
            found |= dict.fromkeys(kind.cautions(check, session.world))
        except HalfsplitError:
            continue
    return list(found)


def _meter(meter: Meter) -> str:
    ohms = format_quantity(meter.input_ohms, "Ω")
    return (
        f"input {ohms}; volts within {100 * meter.volts_relative:g} % and "
        f"{format_quantity(meter.volts_absolute, 'V')}; ohms within "
        f"{100 * meter.ohms_relative:g} % and {format_quantity(meter.ohms_absolute, 'Ω')}"
    )
