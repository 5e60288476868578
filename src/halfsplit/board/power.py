"""Power pins that nobody types: ground, and the one rail that suits the family."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.board.draft import Draft
from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord

__all__ = ["imply_power"]

_LOGIC_VOLTS = 5.0


def imply_power(draft: Draft) -> None:
    """Put the power pins left out of every chip on ground and on its rail.

    A pin typed (``14=+5``, ``14=-``) stays as typed. No rail, or several, is an error at the
    designator that says what to type; the part stays on the board without the pin.
    """
    for designator, part in draft.parts.items():
        kind = draft.lexicon.word_of(part)
        if kind is not None and kind.supply_volts is not None:
            draft.parts[designator] = _with_power(part, kind, draft)


def _with_power(part: Part, kind: KindWord, draft: Draft) -> Part:
    given = part.pins.keys() | draft.left_open[part.designator]
    implied: dict[str, str] = {}
    for pin in kind.pins:
        if pin.name in given:
            continue
        if pin.role == "ground":
            implied[pin.name] = draft.ground
        elif pin.role == "supply":
            rail = _rail(part, pin.name, kind, draft)
            if rail is not None:
                implied[pin.name] = rail
    return replace(part, pins={**part.pins, **implied}, implied=frozenset(implied))


def _rail(part: Part, pin: str, kind: KindWord, draft: Draft) -> str | None:
    low, high = kind.supply_volts or (0.0, 0.0)
    fit = [rail for rail in draft.rails.values() if low <= rail.volts <= high]
    if len(fit) > 1:
        fit = [rail for rail in fit if rail.volts == _LOGIC_VOLTS] or fit
    if len(fit) == 1:
        return fit[0].net
    where = f"supply pin {pin} of {part.designator} ({kind.name}, {low:g} to {high:g} V)"
    if fit:
        names = ", ".join(rail.net for rail in fit)
        message = f"expected one rail for the {where}, got {names}; type e.g. {pin}={fit[0].net}"
    else:
        volts = _LOGIC_VOLTS if low <= _LOGIC_VOLTS <= high else low
        message = (
            f"expected a rail for the {where}; "
            f"type a line such as rail +{volts:g} {volts:g}V, or {pin}=NET on this line"
        )
    draft.problems.error(part.spot, message)
    return None
