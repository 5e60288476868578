"""What becomes of a fault when something on the bench is changed: a pin lifted, a plug pulled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from halfsplit.board.model import Board, Output
from halfsplit.build.fault import Fault, PinRef
from halfsplit.trial.stand import Stand

__all__ = ["goes_unplugged", "let_go"]

_VOLTS, _SHARE = 0.3, 0.1
"""Readings closer than this are the same: volts, and share of the reading."""
_Reading = tuple[str, str]
"""A place and a state."""


def let_go(stand: Stand, good: Stand | None, leg: str) -> bool | None:
    """Whether the pad of a pin reads otherwise once the pin is lifted: in the state in which it is
    farthest from the good board's, in any state where it is like that board's everywhere. ``None``
    when nothing could be solved."""
    pad, designator = f"{leg}/pad", leg.split(".")[0]
    lifted = Stand(
        stand.board, stand.fault, stand.seed, stand.bench,
        (*stand.also, _cut(designator, leg.removeprefix(f"{designator}."))),
    )  # fmt: skip
    states = _powered(stand.board)
    wrong = [] if good is None else [one for one in states if _apart(stand, good, (pad, one))]
    if good is not None and wrong:
        states = [max(wrong, key=lambda one: _distance(stand, good, (pad, one)))]
    changes = [_apart(stand, lifted, (pad, state)) for state in states]
    return None if all(one is None for one in changes) else any(changes)


def goes_unplugged(stand: Stand, good: Stand | None, connector: str) -> bool | None:
    """Whether what is wrong is right once the connector is unplugged: at its own pins on the board
    and at the outputs that are not beyond it."""
    if good is None:
        return False
    places = dict.fromkeys(_watched(stand, connector))
    seen = [(place, state) for state in _powered(stand.board) for place in places]
    plugged = [_apart(stand, good, one) for one in seen]
    if not any(plugged):
        return False if None not in plugged else None
    pulled = [_apart(stand, good, one, out=connector) for one in seen]
    return None if None in pulled else not any(pulled)


def _watched(stand: Stand, connector: str) -> Iterator[str]:
    board = stand.board
    part = board.part(connector)
    far = f"{connector}/"
    for pin, net in (part.pins if part else {}).items():
        if net != board.ground:
            yield f"{connector}.{pin}/pad"
    for output in board.outputs:
        yield from (f"net {net}" for net in _nets(output, board) if not net.startswith(far))


def _nets(output: Output, board: Board) -> Iterable[str]:
    part = board.part(output.target)
    nets = [output.target] if part is None else part.pins.values()
    return (net for net in nets if net != board.ground)


def _apart(one: Stand, other: Stand, where: _Reading, out: str = "") -> bool | None:
    """Whether two boards read differently; ``None`` when one was not solved."""
    place, state = where
    a, b = one.volts(place, state, out=out), other.volts(place, state, out=out)
    return None if a is None or b is None else abs(a - b) > _VOLTS + _SHARE * abs(b)


def _distance(one: Stand, other: Stand, where: _Reading) -> float:
    a, b = one.volts(*where), other.volts(*where)
    return 0.0 if a is None or b is None else abs(a - b)


def _powered(board: Board) -> list[str]:
    return [state.name for state in board.states if state.powered]


def _cut(designator: str, pin: str) -> Fault:
    """The pin off its pad, as a joint that is open."""
    name = f"{designator}.{pin}"
    return Fault(
        id=f"{name} lifted", suspect=name, where="joint", mode="joint open", words="", rate=0.0,
        source="", designator=designator, pins=(PinRef(designator=designator, pin=pin),),
    )  # fmt: skip
