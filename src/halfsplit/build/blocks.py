"""What a state means for blocks: expected levels through known functions, and how each input is
judged, by its voltage or by what is said of the block before it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

import numpy as np

from halfsplit import units
from halfsplit.board.model import BLOCK, Board, Drive, Part
from halfsplit.errors import UnitError
from halfsplit.parts._base import changed
from halfsplit.parts.block import FED, FINE, KIND, PULSES, block_inputs, block_outputs, does, drives
from halfsplit.parts.kind import Change
from halfsplit.parts.registry import KINDS
from halfsplit.solve import expression
from halfsplit.solve.laws.stage import WRONG

__all__ = ["block_changes", "blocks", "by_volts", "driver", "values", "volts_of"]

_LEVELS = ("low", "high")
_SPAN = 1.3
"""Volts by which a logic level may be out: from a usual high or low to what inputs surely take."""


def blocks(board: Board) -> tuple[Part, ...]:
    """The parts that are blocks."""
    return tuple(part for part in board.parts if part.kind == BLOCK)


def driver(board: Board, net: str) -> Part | None:
    """The first block with an output on the net."""
    return next(
        (part for part in blocks(board)
         if any(part.pins[pin] == net for pin in block_outputs(part))), None
    )  # fmt: skip


def values(board: Board, drives_: Iterable[Drive]) -> dict[str, str]:
    """Net -> what a state says it is (``low``, ``high``, ``2.4V``, ``pulses``, ``good``), and what
    follows from that through the blocks whose function is known."""
    nets = board.nets()
    known = {drive.target: drive.value for drive in drives_ if drive.target in nets}
    while True:
        new = {
            part.pins[pin]: found
            for part in blocks(board)
            for pin in block_outputs(part)
            if part.pins[pin] not in known and (found := _given(part, known))
        }
        if not new:
            return known
        known |= new


def by_volts(board: Board, net: str, known: Mapping[str, str]) -> bool:
    """Whether a net is judged by its voltage: something else than blocks is on it, and it is not a
    block of which no level or voltage is said that drives it."""
    if not any(net in part.pins.values() for part in board.parts if part.kind != BLOCK):
        rails = {board.ground, *(rail.net for rail in board.rails)}
        return net in rails or any(net == leaving.net for leaving in board.offsheet)
    return driver(board, net) is None or volts_of(board, net, known) is not None


def volts_of(board: Board, net: str, known: Mapping[str, str]) -> float | None:
    """The voltage that a block is expected to give on a net; ``None`` when nobody says."""
    part, value = driver(board, net), known.get(net, "")
    if part is None or value in ("", "open", PULSES, FED):
        return None
    if value in _LEVELS:
        return KIND.levels(part)[_LEVELS.index(value)]
    try:
        return units.parse(value, "V")
    except UnitError:
        return None


def block_changes(board: Board, drives_: Sequence[Drive]) -> list[tuple[str, Change]]:
    """Changes of the blocks for one step of a state."""
    found: list[tuple[str, Change]] = []
    if not blocks(board):
        return found
    known = values(board, drives_)
    for part in blocks(board):
        for pin in block_outputs(part):
            volts = volts_of(board, part.pins[pin], known)
            unsure = _by_chance(part, pin, known) and not by_volts(board, part.pins[pin], known)
            changes = [
                *drives(part, pin, volts),
                *changed(f"does {pin}", most=WRONG if unsure else 1.0),
            ]
            for k, one in enumerate(block_inputs(part), 1):
                net = part.pins[one]
                ignored = known.get(net) == FED or not _matters(part, one, known)
                judged = by_volts(board, net, known)
                changes += changed(
                    f"does {pin}",
                    **{f"u{k}": float(not ignored and not judged),
                       f"s{k}": float(not ignored and judged),
                       f"least{k}": _SPAN if _is_level(board, net, known) else FINE},
                )  # fmt: skip
            found += [(part.designator, change) for change in changes]
    return found


def _is_level(board: Board, net: str, known: Mapping[str, str]) -> bool:
    """Whether a net carries logic levels, which are right over a wide span."""
    if known.get(net) in _LEVELS or any(net == one.net and one.family for one in board.offsheet):
        return True
    return any(
        net in part.pins.values()
        and (KINDS.get(part.kind).word.family or part.description or part.fields.get("family"))
        for part in board.parts
        if part.kind != BLOCK
    )


def _by_chance(part: Part, pin: str, known: Mapping[str, str]) -> bool:
    """Whether an output may give the level it should with a wrong input: nobody said what the
    block does, and it is not a matter of one level making the other."""
    if known.get(part.pins[pin]) not in _LEVELS or does(part)[0]:
        return False
    inputs = [known.get(part.pins[one]) for one in block_inputs(part) if part.roles[one] == "in"]
    return len(inputs) != 1 or inputs[0] not in _LEVELS


def _given(part: Part, known: Mapping[str, str]) -> str:
    """What its outputs give, empty when that does not follow."""
    text, pins = does(part)
    if not text:
        return ""
    inputs = {name: known.get(part.pins[pin], "") for name, pin in pins.items()}
    found = set(_results(text, inputs))
    if len(found) == 1:
        return _LEVELS[found.pop()]
    used = {inputs[name] for name in expression.names(text)}
    return PULSES if used <= {*_LEVELS, PULSES} else ""


def _matters(part: Part, pin: str, known: Mapping[str, str]) -> bool:
    """Whether an input can be seen at the outputs, the others being what they are."""
    text, pins = does(part)
    name = next((name for name, at in pins.items() if at == pin), None)
    if not text or name is None:
        return True
    inputs = {each: known.get(part.pins[at], "") for each, at in pins.items()}
    one, other = (_results(text, {**inputs, name: level}) for level in _LEVELS)
    return one != other


def _results(text: str, inputs: Mapping[str, str]) -> list[int]:
    """The expression for every way that inputs which are not steady may stand."""
    names = [name for name in expression.names(text) if name in inputs]
    choices = [
        (_LEVELS.index(inputs[name]),) if inputs[name] in _LEVELS else (0, 1) for name in names
    ]
    return [
        round(float(expression.evaluate(text, {
            name: np.asarray(float(bit)) for name, bit in zip(names, bits, strict=True)
        })))
        for bits in product(*choices)
    ]  # fmt: skip
