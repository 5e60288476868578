"""How a case stands, as the page is told: plain values for JSON."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

from halfsplit.bench import Bench
from halfsplit.board.model import Board, Output
from halfsplit.board.opening import blocks_of
from halfsplit.checks._told_by import answers
from halfsplit.checks.kind import Check, CheckKind
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.views import EntryView, SuggestionView
from halfsplit.diagnose.wider import considered
from halfsplit.errors import HalfsplitError
from halfsplit.report.course import course, is_odd, leaders
from halfsplit.report.wording import SETUPS, reading_words
from halfsplit.web.words import buttons

__all__ = ["Data", "asked", "board_mark", "outputs_table", "snapshot"]

Data = dict[str, object]
SUGGESTIONS, SUSPECTS = 6, 8
CLEARED = 20.0
"""A suspect so many times less likely than before the first reading is cleared."""


def board_mark(board: Board) -> str:
    """Changes when the board's text does."""
    return hashlib.sha256(board.text.encode()).hexdigest()[:16]


def snapshot(bench: Bench, expected: dict[str, str]) -> Data:
    """Everything that follows from the log. ``expected`` keeps what a good board gives, by check,
    from one time to the next."""
    view = bench.next(SUGGESTIONS)
    data = view.to_json()
    suggestions = [_suggested(one, bench) for one in view.suggestions]
    session = considered(bench.session)
    odd = {entry.number for entry in session.entries if is_odd(entry)}
    events = [_entry(entry, bench, expected) for entry in bench.log()]
    leading = leaders(session)
    run = bench.acceptance()
    return {
        **data,
        "suggestions": suggestions,
        "suspects": [one.to_json(most_faults=3) for one in bench.suspects(SUSPECTS)],
        "shares": _shares(session),
        "events": [event | {"odd": event["number"] in odd} for event in events],
        "acceptance": run.to_json() if run else None,
        "closed": bool(bench.told.closed),
        "leaders": leading,
        "course": course(session, leading),
        "photos": [photo.to_json() for photo in bench.photos()],
    }


def outputs_table(board: Board, expected: Mapping[str, str]) -> Data:
    """The outputs by state: what each check of a symptom is, and what a good board does."""
    states = [state for state in board.states if state.powered]
    kind = CHECKS.get("symptom")
    return {
        "states": [
            {
                "name": state.name,
                "note": state.note,
                "cells": [
                    _cell(output, state.name, kind, board, expected) for output in board.outputs
                ],
            }
            for state in states
        ],
    }


def asked(bench: Bench, check: Check, expected: dict[str, str]) -> Data:
    """A check that a person chose: what to do, what it expects, how it is answered."""
    kind, world = CHECKS.get(check.kind), bench.world
    setup = kind.setup(check, world)
    return {
        "id": check.id,
        "kind": check.kind,
        "sentence": kind.sentence(check, world),
        "setup": setup,
        "setup_words": SETUPS.get(setup, setup),
        "cautions": list(kind.cautions(check, world)),
        "unit": kind.unit,
        **buttons(check, kind, world),
        "expected": expectation(bench, check, expected),
    }


def expectation(bench: Bench, check: Check, expected: dict[str, str]) -> str:
    """What a good board gives, in words; empty when it cannot be said."""
    if check.id not in expected:
        kind = CHECKS.get(check.kind)
        try:
            expected[check.id] = kind.expected(check, bench.world, bench.told.meter)
        except HalfsplitError:
            return ""
    return expected[check.id]


def _suggested(one: SuggestionView, bench: Bench) -> Data:
    """A suggestion with what answers it: of a repair that changes a part, the swap of the part."""
    data, suggestion = one.to_json(), one.suggestion
    check = suggestion.check
    if check is None:
        place = suggestion.places[0]
        if bench.board.part(place) is not None and suggestion.id.split()[-1] == place:
            check = Check(kind="swap", places=(place,))
    data["setup_words"] = SETUPS.get(suggestion.setup, suggestion.setup)
    data["reads"] = check.id if check else ""
    data["mends"] = suggestion.id.partition(" ")[2] if suggestion.kind == "repair" else ""
    data["marks"] = _marks(suggestion.kind, suggestion.places, bench.board)
    data["opens"] = _block(suggestion.places, bench.board) if suggestion.kind == "repair" else ""
    none: Data = {"answers": [], "lines": {}}
    data |= buttons(check, CHECKS.get(check.kind), bench.world) if check else none
    return data


def _block(places: Sequence[str], board: Board) -> str:
    """The block that a repair is about, whose parts can be typed in its place."""
    names = {one.designator for one in blocks_of(board)}
    return next((place for place in places if place in names), "")


def _marks(kind: str, places: Sequence[str], board: Board) -> list[str]:
    """Places, parts or nets to mark on the drawing; of an output what it is read at."""
    outputs = {output.name: output for output in board.outputs} if kind == "symptom" else {}
    found = []
    for place in places:
        output = outputs.get(place)
        if output is None:
            found.append(place)
        else:
            on_part = output.measure == "current"
            found.append(output.target if on_part else f"net {output.target}")
    return found


def _shares(session: Session) -> Data:
    """Probability of each part, and of each pin (its joint, contact, track or bridge); and the
    parts that readings have cleared."""
    parts: dict[str, float] = {}
    pins: dict[str, float] = {}
    for ranked in session.suspects():
        suspect = ranked.suspect
        if suspect.id == suspect.designator:
            parts[suspect.id] = ranked.probability
            continue
        for fault, probability in ranked.faults:
            for pin in fault.pins:
                pins[str(pin)] = pins.get(str(pin), 0.0) + probability
    return {"parts": parts, "pins": pins, "cleared": _cleared(session, parts)}


def _cleared(session: Session, parts: Mapping[str, float]) -> list[str]:
    """Parts that readings have made `CLEARED` times less likely than they were."""
    before: dict[str, float] = {}
    world = session.world
    for fault, prior in zip(world.faults, world.prior, strict=False):
        if fault.suspect == fault.designator:
            before[fault.designator] = before.get(fault.designator, 0.0) + float(prior)
    return [name for name, prior in before.items() if parts.get(name, 0.0) * CLEARED < prior]


def _cell(
    output: Output, state: str, kind: CheckKind, board: Board, expected: Mapping[str, str]
) -> Data:
    check = Check(kind="symptom", places=(output.name,), state=state)
    return {
        "output": output.name,
        "check": check.id,
        "expected": expected.get(check.id, ""),
        "answers": answers(check, kind, board),
    }


def _entry(entry: EntryView, bench: Bench, expected: dict[str, str]) -> Data:
    data = entry.to_json()
    data["reading_words"] = reading_words(entry.reading, entry.unit) if entry.reading else ""
    data["expected"] = ""
    if entry.check is not None and not entry.why_not:
        data["expected"] = expectation(bench, entry.check, expected)
    return data
