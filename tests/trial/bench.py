"""Small circuits for the tests of the independent simulator: one part and what is around it."""

import csv
from collections.abc import Sequence
from itertools import product
from pathlib import Path

import numpy as np

from halfsplit.board.model import Board, Part, Rail
from halfsplit.build.fault import HEALTHY, Fault, PinRef
from halfsplit.parts.logic import LogicChip
from halfsplit.parts.registry import KINDS
from halfsplit.solve import expression
from halfsplit.trial.netlist import Netlist, write_netlist
from halfsplit.trial.simulator import Simulator

TRUTH = Path(__file__).parents[1] / "truth"

GOOD = Fault(id=HEALTHY, suspect="", where="none", mode="healthy", words="", rate=0.0, source="")


def rows(name: str) -> list[dict[str, str]]:
    with (TRUTH / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def part_fault(designator: str, mode: str, test_out: float = 0.9) -> Fault:
    return Fault(
        id=f"{designator} {mode}", suspect=designator, where="part", mode=mode, words="", rate=1.0,
        source="", designator=designator, test_out=test_out,
    )  # fmt: skip


def pin_fault(where: str, mode: str, *pins: str) -> Fault:
    refs = tuple(PinRef(designator=name.split(".")[0], pin=name.split(".")[1]) for name in pins)
    return Fault(
        id=f"{'-'.join(pins)} {mode}", suspect=where, where=where, mode=mode, words="",  # type: ignore[arg-type]
        rate=1.0, source="", designator=refs[0].designator, pins=refs,
    )  # fmt: skip


def chip_board(kind: LogicChip, supply: float) -> Board:
    """One chip with every pin on a net named by its function."""
    pins = {pin.number: pin.name for pin in kind.chip.pins if pin.role != "nc"}
    renamed = {number: {"VCC": "+5"}.get(name, name) for number, name in pins.items()}
    return Board(
        title="one chip",
        rails=(Rail(net="+5", volts=supply, tolerance=0.0, ohms=1e-2),),
        parts=(Part(designator="U1", kind=kind.name, pins=renamed),),
    )


def inputs_for(kind: LogicChip, level: int) -> dict[str, int]:
    """Input levels that make the first output high or low, enabled."""
    output = kind.chip.outputs[0]
    names = output.inputs()
    for bits in product((0, 1), repeat=len(names)):
        told = dict(zip(names, bits, strict=True))
        values = {name: np.asarray(float(bit)) for name, bit in told.items()}
        values["q"] = np.asarray(0.0)
        on = not output.enable or float(expression.evaluate(output.enable, values)) > 0.5
        if on and (float(expression.evaluate(output.level, values)) > 0.5) == bool(level):
            return told
    raise AssertionError(f"{kind.name} never gives {level}")


def chip_with(family: str, drive: str, *, inverter: bool = False) -> LogicChip:
    """Some chip of that family with that output."""
    found = [
        kind for kind in KINDS
        if isinstance(kind, LogicChip) and kind.family.name == family
        and kind.chip.drive_of(family) == drive and not kind.chip.schmitt
    ]  # fmt: skip
    if inverter:
        return next(kind for kind in found if kind.chip.number == "04")
    return min(found, key=lambda kind: kind.chip.inputs != "")


def solved(
    simulator: Simulator, board: Board, seed: int, extra: Sequence[str], fault: Fault = GOOD
) -> tuple[Netlist, dict[str, float]]:
    """The circuit of a board with more lines in which ``{NET}`` stands for a net's node."""
    netlist = write_netlist(board, fault, seed)
    nodes = {"GND": "0", **netlist.sheet.nodes()}
    lines = [line.format_map(nodes) for line in extra]
    simulator.load(netlist.sheet.text(lines))
    found = simulator.solve({})
    assert found is not None, "did not converge"
    by_net = {net: found[node] for net, node in netlist.sheet.nodes().items() if node in found}
    return netlist, {**found, **by_net}
