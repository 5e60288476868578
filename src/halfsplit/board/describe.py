"""Parts that the table of kinds lacks, described in the board file: their pins, and what their
outputs give.

``describe`` says the pins; each output may have a line ``gives``, and one without is a black box
whose level the states say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.draft import Draft
from halfsplit.board.equation import NAME, EquationError, read_equation, table_equation
from halfsplit.board.lexer import Token, Word
from halfsplit.board.model import DescribedPin, Description, Gives
from halfsplit.board.names import ROLES, is_kind_name, pin_fault

__all__ = ["OUTPUTS", "read_describe", "read_gives"]

OUTPUTS = ("out", "oc", "tri", "io")
"""Roles of pins that give something."""
_INPUTS = ("in", "io")
_CLAUSES = ("when", "on")


def read_describe(tokens: Sequence[Token], draft: Draft) -> None:
    """``describe NAME FAMILY "title" in 1=A 2=B out 3=Y supply 14=VCC ground 7=GND``."""
    problems, before = draft.problems, draft.problems.errors
    head = tokens[1] if len(tokens) > 1 else None
    if head is None or head.value is not None or not is_kind_name(head.text):
        spot = (head or tokens[0]).spot
        problems.error(spot, "expected a name for the part after describe, such as DECODER1")
        return
    name = head.text
    taken = draft.lexicon.kind(name) or draft.lexicon.type(name)
    if taken is not None:
        problems.error(head.spot, f"{name} is a part already ({taken.name}); expected a new name")
    word = tokens[2] if len(tokens) > 2 else None
    family = draft.lexicon.family(word.text) if word is not None and word.value is None else None
    if family is None:
        came = f", got {word.text!r}" if word is not None else ""
        message, families = f"expected a logic family such as 74LS{came}", draft.lexicon.families
        problems.error((word or head).spot, message, name=word.text if word else "",
                       known=sorted(families))  # fmt: skip
    rest = list(tokens[3:])
    title = rest.pop(0).text if rest and rest[0].word.quoted else ""
    pins = _pins(rest, draft)
    roles = {pin.role for pin in pins.values()}
    if pins and roles & {*OUTPUTS, "in"}:
        for role in ("supply", "ground"):
            if role not in roles and problems.errors == before:
                problems.error(head.spot, f"expected a pin with the role {role}; type e.g. "
                               f"{role} {'14=VCC' if role == 'supply' else '7=GND'}")  # fmt: skip
    if not pins and problems.errors == before:
        problems.error(head.spot, "expected its pins, such as in 1=A 2=B out 3=Y")
    if problems.errors > before or family is None:
        draft.undescribed.add(name)
    else:
        draft.describe(
            Description(name=name, title=title, family=family, pins=tuple(pins.values()),
                        spot=head.spot)
        )  # fmt: skip


def read_gives(tokens: Sequence[Token], draft: Draft) -> None:
    """``gives NAME.PIN EQUATION``, or ``table``, then ``when EQUATION`` (three-state) and
    ``on EQUATION`` (takes its value as that rises)."""
    head = tokens[1] if len(tokens) > 1 else None
    name, dot, output = head.text.partition(".") if head is not None else ("", "", "")
    if head is None or not dot or head.value is not None:
        spot = (head or tokens[0]).spot
        draft.problems.error(spot, "expected a described part and its output, such as DECODER1.Y0")
        return
    found = draft.descriptions.get(name)
    if found is None:
        if name in draft.undescribed:
            draft.problems.errors += 1
        else:
            message = f"expected a part that a describe line describes, got {name!r}"
            draft.problems.error(head.spot, message, name=name, known=draft.descriptions)
        return
    pin = next((pin for pin in found.pins if output in (pin.title, pin.name)), None)
    outputs = [each.title for each in found.pins if each.role in OUTPUTS]
    if pin is None or pin.role not in OUTPUTS:
        message = (
            f"expected an output of {name} ({', '.join(outputs) or 'it has none'}), got {output!r}"
        )
        draft.problems.error(head.spot, message, name=output, known=outputs)
    elif any(gives.output == pin.title for gives in found.gives):
        draft.problems.error(head.spot, f"{name}.{pin.title} is given twice")
    else:
        try:
            gives = _gives(tokens, pin, found)
        except EquationError as error:
            inputs = _inputs(found)
            draft.problems.error(error.spot, str(error), name=error.name, known=inputs)
        else:
            draft.describe(replace(found, gives=(*found.gives, gives)))


def _pins(tokens: Sequence[Token], draft: Draft) -> dict[str, DescribedPin]:
    problems, role = draft.problems, "passive"
    pins: dict[str, DescribedPin] = {}
    titles = set[str]()
    for token in tokens:
        text = token.text.casefold()
        if token.value is None:
            if text in ROLES:
                role = text
            else:
                message = f"expected PIN=FUNCTION or {', '.join(ROLES)}, got {token.text!r}"
                problems.error(token.spot, message, name=token.text, known=ROLES)
            continue
        pin, title = token.word.text, token.value
        if fault := pin_fault(pin):
            problems.error(token.spot, fault)
        elif pin in pins:
            problems.error(token.spot, f"pin {pin} is typed twice")
        elif title.text in titles:
            problems.error(title.spot, f"the function {title.text} is typed twice; "
                           "number like pins, such as GND1 GND2")  # fmt: skip
        elif role in (*OUTPUTS, "in") and not _usable(title.text):
            message = (
                f"expected a name of letters and figures, got {title.text!r}; "
                "an active-low one is nCS, not /CS, and q is taken"
            )
            problems.error(title.spot, message)
        else:
            pins[pin] = DescribedPin(name=pin, title=title.text, role=role)
            titles.add(title.text)
    return pins


def _usable(title: str) -> bool:
    return NAME.fullmatch(title) is not None and title != "q"


def _gives(tokens: Sequence[Token], pin: DescribedPin, found: Description) -> Gives:
    parts: dict[str, list[Word]] = {"": []}
    clause, where = "", tokens[1].spot
    for token in tokens[2:]:
        if token.value is not None:
            raise EquationError(f"expected an equation without =, got {token.text!r}", token.spot)
        if token.text in _CLAUSES:
            clause, where = token.text, token.spot
            if clause in parts:
                raise EquationError(f"{clause} is typed twice", token.spot)
            parts[clause] = []
        else:
            parts[clause].append(token.word)
    if "when" in parts and pin.role not in ("tri", "io"):
        raise EquationError(
            f"expected when only for a tri or io pin; {pin.title} is {pin.role}", where
        )
    inputs, level = _inputs(found), parts[""]
    table = bool(level) and level[0].text.casefold() == "table" and "table" not in inputs
    return Gives(
        output=pin.title,
        level=table_equation(level[1:], inputs, level[0].spot)
        if table
        else read_equation(level, inputs, tokens[1].spot),
        enable=read_equation(parts["when"], inputs, where) if "when" in parts else "",
        clock=read_equation(parts["on"], inputs, where) if "on" in parts else "",
    )


def _inputs(found: Description) -> list[str]:
    return [pin.title for pin in found.pins if pin.role in _INPUTS]
