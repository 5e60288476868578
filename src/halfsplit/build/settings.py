"""What a state sets: from the words of the file to parameters of the circuit."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit import units
from halfsplit.board.model import Board, Drive, State, Step
from halfsplit.build.assemble import BOARD, Assembly
from halfsplit.build.blocks import block_changes, blocks
from halfsplit.errors import BoardError, Problem, UnitError, UnknownName
from halfsplit.parts.block import FED, PULSES
from halfsplit.parts.kind import Change
from halfsplit.parts.offsheet import offsheet_drive

__all__ = ["OFF", "Owned", "power_off", "step_changes"]

Owned = tuple[str, Change]
"""A change and the part (or ``"*"``) whose element it alters."""

OFF = 1e-3
"""What a rail that is switched off still conducts to ground, S (its bleeder, assumed)."""

_LEVELS = {"low": 0.0, "high": 1.0, "open": None}
_LOGIC_SWING = 5.0


def step_changes(assembly: Assembly, state: State, step: Step) -> tuple[Owned, ...]:
    """All that one step of a state sets. Raises :class:`BoardError` at the drive's place."""
    found: list[Owned] = []
    if not state.powered:
        found.extend(power_off(assembly.board))
    for drive in step.drives:
        found.extend(_drive(assembly, drive))
    found.extend(block_changes(assembly.board, step.drives))
    return tuple(found)


def power_off(board: Board) -> tuple[Owned, ...]:
    """Supplies unplugged: no rail is driven or loaded."""
    return tuple(
        (BOARD, Change(element=f"rail:{rail.net}", param="g", value=0.0)) for rail in board.rails
    )


def _drive(assembly: Assembly, drive: Drive) -> Sequence[Owned]:
    board = assembly.board
    if drive.target == "rails":
        return power_off(board) if drive.value == "off" else ()
    rail = next((rail for rail in board.rails if rail.net == drive.target), None)
    if rail is not None:
        return _rail(rail.net, drive)
    part = board.part(drive.target)
    if part is not None:
        settings = assembly.kinds[part.designator].settings(part)
        for setting in settings:
            if setting.word == drive.value:
                return [(part.designator, change) for change in setting.changes]
        if drive.value == "in":
            return ()
        raise UnknownName(
            f"setting of {part.designator} ({part.kind})",
            drive.value,
            [setting.word for setting in settings],
        )
    if drive.value in (FED, PULSES):
        return ()  # no level: what it is to the blocks is theirs
    if drive.target in assembly.net_node:
        return _net(assembly, drive)
    raise UnknownName(
        "net, rail or part to set in a state",
        drive.target,
        [*assembly.net_node, *assembly.kinds],
    )


def _rail(net: str, drive: Drive) -> Sequence[Owned]:
    element = f"rail:{net}"
    if drive.value == "on":
        return ()
    if drive.value == "off":
        return [
            (BOARD, Change(element=element, param="volts", value=0.0)),
            (BOARD, Change(element=element, param="g", value=OFF)),
        ]
    return [(BOARD, Change(element=element, param="volts", value=_volts(drive)))]


def _net(assembly: Assembly, drive: Drive) -> Sequence[Owned]:
    level = _level(drive)
    found: list[Owned] = []
    for part in assembly.board.parts:
        kind = assembly.kinds[part.designator]
        for pin, net in part.pins.items():
            if net == drive.target:
                found += [(part.designator, change) for change in kind.drive(part, pin, level)]
    for leaving in assembly.board.offsheet:
        if leaving.net == drive.target and leaving.what != "load":
            found += [
                (f"offsheet {leaving.net}", change) for change in offsheet_drive(leaving, level)
            ]
    if not found and not blocks(assembly.board):  # else it says what is expected there
        raise BoardError(
            [
                Problem(
                    line=drive.spot.line,
                    column=drive.spot.column,
                    severity="error",
                    message=f"nothing on net {drive.target} can be driven by a state: give a "
                    "controller pin there the role out, or add: "
                    f"offsheet {drive.target} drive 74LS",
                )
            ]
        )
    return found


def _level(drive: Drive) -> float | None:
    if drive.value in _LEVELS:
        return _LEVELS[drive.value]
    return _volts(drive) / _LOGIC_SWING


def _volts(drive: Drive) -> float:
    try:
        return units.parse(drive.value, "V")
    except UnitError as error:
        raise BoardError(
            [
                Problem(
                    line=drive.spot.line,
                    column=drive.spot.column,
                    severity="error",
                    message=f"{drive.target}={drive.value}: expected low, high, open or a voltage",
                )
            ]
        ) from error
