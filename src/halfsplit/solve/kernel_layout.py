"""Circuits and batches laid out for kernel.c: the structures of kernel.h, filled in.

Whoever changes them raises REVISION in kernel.h and in library.py.
"""

from __future__ import annotations

import ctypes
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass
from halfsplit.solve import newton
from halfsplit.solve.circuit import LEAK, Circuit, Group
from halfsplit.solve.expression import parse
from halfsplit.solve.law import Array, Law
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.analog import Comparator, PhotoTransistor, Regulator
from halfsplit.solve.laws.contact import Contact
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance, Source
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.laws.mosfet import Mosfet
from halfsplit.solve.laws.stage import StageDrive, StageTrouble
from halfsplit.solve.newton import Probe
from halfsplit.solve.smooth import VT

__all__ = ["Laid", "Layout", "Settings", "lay_out", "settings"]

Int32 = npt.NDArray[np.int32]

_KINDS: tuple[type, ...] = (
    Conductance, Source, Diode, Bipolar, TtlInput, LogicOutput, Mosfet, Regulator,
    PhotoTransistor, Comparator, Amplifier, Contact, StageTrouble, StageDrive,
)  # fmt: skip
_MOST_INPUTS, _MOST_VALUES = 16, 96
_HIGH = {"none": 0, "follower": 1, "mos": 2, "darlington": 3}


class _Group(ctypes.Structure):
    _fields_ = (
        *((name, ctypes.c_int32)
          for name in ("kind", "members", "terminals", "parameters", "inputs", "high")),
        ("sign", ctypes.c_double),
        *((name, ctypes.c_void_p) for name in ("nodes", "slots", "level", "enable")),
    )  # fmt: skip


class _Circuit(ctypes.Structure):
    _fields_ = (
        *((name, ctypes.c_int32)
          for name in ("size", "slots", "static_slots", "groups", "pivots", "static_pivots")),
        *((name, ctypes.c_void_p) for name in ("program", "starts", "diagonal", "group")),
    )  # fmt: skip


class Settings(ctypes.Structure):
    _fields_ = (
        *((name, ctypes.c_double)
          for name in ("vt", "leak", "tolerance", "logic_tolerance", "noise", "stalled",
                       "short_step")),
        *((name, ctypes.c_int32)
          for name in ("patience", "first", "logic", "full", "soft", "soften")),
    )  # fmt: skip


class _Batch(ctypes.Structure):
    _fields_ = (
        ("width", ctypes.c_int64),
        ("params", ctypes.c_void_p),
        ("strides", ctypes.c_void_p),
        ("guess", ctypes.c_void_p),
        ("guess_row", ctypes.c_int64),
        ("guess_column", ctypes.c_int64),
        *((name, ctypes.c_void_p)
          for name in ("meter", "meter_g", "meter_amps", "v", "ohms", "resolved", "steps")),
        ("samples", ctypes.c_int64),
        ("moved", ctypes.c_void_p),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Layout:
    """A circuit as the kernel reads it, and the arrays that its pointers point into."""

    struct: _Circuit
    kept: tuple[object, ...]


class Laid:
    """One batch as the kernel reads it, and the arrays it writes: ``v`` (given), ``ohms``,
    ``resolved``, ``steps``, ``moved``."""

    def __init__(
        self,
        circuit: Circuit,
        params: Sequence[Array],
        v: Array,
        varied: Sequence[Sequence[Array]] = (),
        *,
        want_ohms: bool,
    ) -> None:
        n, width = v.shape
        self.ohms = np.empty((n, width)) if want_ohms else np.full((0, width), np.nan)
        self.resolved = np.zeros(width, dtype=bool)
        self.steps = np.zeros(width, dtype=np.int64)
        self.moved = np.empty((len(varied), n, width))
        flat = [np.asarray(p, dtype=np.float64) for one in (params, *varied) for p in one]
        if len(flat) != len(circuit.groups) * (1 + len(varied)):
            raise ValueError("each set of parameters needs one array for each group")
        pointers = np.asarray([p.ctypes.data for p in flat], dtype=np.uintp)
        strides = np.asarray([_strides(p, width) for p in flat], dtype=np.int64)
        self.kept: list[object] = [v, flat, pointers, strides]
        self.struct = _Batch(
            width=width,
            params=pointers.ctypes.data,
            strides=strides.ctypes.data,
            v=v.ctypes.data,
            ohms=self.ohms.ctypes.data if want_ohms else None,
            resolved=self.resolved.ctypes.data,
            steps=self.steps.ctypes.data,
            samples=len(varied),
            moved=self.moved.ctypes.data,
        )

    def start_from(self, guess: Array) -> None:
        """``guess`` [N, B] or [N, 1]."""
        guess = np.asarray(guess, dtype=np.float64)
        self.kept.append(guess)
        self.struct.guess = guess.ctypes.data
        self.struct.guess_row = guess.strides[0] // 8
        self.struct.guess_column = guess.strides[1] // 8 if guess.shape[1] > 1 else 0

    def attach(self, circuit: Circuit, probe: Probe) -> None:
        """A meter in each case."""
        meter = _meter(circuit, probe)
        g, amps = (np.ascontiguousarray(x, dtype=np.float64) for x in (probe.g, probe.amps))
        self.kept += [meter, g, amps]
        self.struct.meter, self.struct.meter_g = meter.ctypes.data, g.ctypes.data
        self.struct.meter_amps = amps.ctypes.data


def _strides(p: Array, width: int) -> tuple[int, int, int]:
    """Strides in numbers; one column serves a whole batch."""
    if p.shape[2] not in (1, width):
        raise ValueError(f"parameters of {p.shape[2]} columns in a batch of {width}")
    by_row, by_member, by_column = (s // 8 for s in p.strides)
    return by_row, by_member, by_column if p.shape[2] > 1 else 0


def _meter(circuit: Circuit, probe: Probe) -> Int32:
    """[6, B]: the meter's nodes and slots, the spare place where there is none."""
    slots, n = _slots(circuit), circuit.size
    red, black = (np.where(node < 0, n, node) for node in (probe.red, probe.black))
    cross = (probe.g != 0.0) & (red != black)
    from_red, from_black = np.where(cross, red, n), np.where(cross, black, n)
    own = slots[red, red], slots[black, black]
    both = slots[from_red, from_black], slots[from_black, from_red]
    return np.ascontiguousarray(np.stack((red, black, *own, *both)), dtype=np.int32)


@lru_cache(maxsize=4)
def _slots(circuit: Circuit) -> Int32:
    """[N + 1, N + 1] slot of every pair of nodes; the spare one for ground, which is the last, and
    for what is not joined."""
    found = np.full((circuit.size + 1, circuit.size + 1), circuit.pattern.slots, dtype=np.int32)
    for (row, column), slot in circuit.pattern.slot.items():
        found[row, column] = slot
    return found


def settings() -> Settings:
    most = newton._MOST
    return Settings(
        VT,
        LEAK,
        newton.TOLERANCE,
        newton._LOGIC_TOLERANCE,
        newton._NOISE,
        newton._STALLED,
        newton._SHORT_STEP,
        newton._PATIENCE,
        most["first"],
        most["logic"],
        most["full"],
        most["soft"],
        120,
    )


def lay_out(circuit: Circuit) -> Layout | None:
    kept: list[object] = []
    groups = (_Group * len(circuit.groups))()
    for k, group in enumerate(circuit.groups):
        made = _lay_out_group(circuit, group, kept)
        if made is None:
            return None
        groups[k] = made
    pattern = circuit.pattern
    program, starts = _program(circuit)
    diagonal = circuit.diagonal.astype(np.int32)
    kept += [groups, program, starts, diagonal]
    struct = _Circuit(
        circuit.size,
        pattern.slots,
        pattern.static_slots,
        len(circuit.groups),
        circuit.size,
        sum(step.nodes.size for step in pattern.static),
        program.ctypes.data,
        starts.ctypes.data,
        diagonal.ctypes.data,
        ctypes.addressof(groups),
    )
    return Layout(struct, tuple(kept))


def _lay_out_group(circuit: Circuit, group: Group, kept: list[object]) -> _Group | None:
    law = group.law
    kind = next((k for k, known in enumerate(_KINDS) if type(law) is known), None)
    tapes = _tapes(law)
    if kind is None or tapes is None:
        return None
    n, spare, slot = circuit.size, circuit.pattern.slots, circuit.pattern.slot
    nodes = np.ascontiguousarray(group.nodes.T.astype(np.int32))
    slots = np.full((*nodes.shape, nodes.shape[1]), spare, dtype=np.int32)
    for m, at in enumerate(nodes.tolist()):
        for e, i in enumerate(at):
            for f, j in enumerate(at):
                if i < n and j < n:
                    slots[m, e, f] = slot.get((i, j), spare)
    kept += [nodes, slots, *tapes]
    return _Group(
        kind,
        nodes.shape[0],
        nodes.shape[1],
        len(law.parameters),
        law.inputs if isinstance(law, StageTrouble) else len(getattr(law, "inputs", ())),
        _HIGH[getattr(law, "high", "none")],
        getattr(law, "sign", 1.0),
        nodes.ctypes.data,
        slots.ctypes.data,
        tapes[0].ctypes.data,
        tapes[1].ctypes.data,
    )


def _tapes(law: Law) -> tuple[Int32, Int32] | None:
    """Level and enable of a logic law, ready to run; None when the kernel has no room for it."""
    always = np.asarray([-1, 0], dtype=np.int32)
    if law.terminals > 3 + _MOST_INPUTS:
        return None
    if not isinstance(law, LogicOutput):
        return always, always
    level = _tape(law.level, law.inputs)
    enable = _tape(law.enable, law.inputs) if law.enable else always
    return None if level is None or enable is None else (level, enable)


def _tape(text: str, inputs: Sequence[str]) -> Int32 | None:
    """Result, count, then (operator, left, right) of each operation. Values are numbered: the
    inputs, the stored bit, 0, 1, then the results in order."""
    number = {name: k for k, name in enumerate((*inputs, "q", "0", "1"))}
    stack: list[int] = []
    tape: list[int] = []
    for token in parse(text):
        if token in number:
            stack.append(number[token])
        elif token in ("!", "&", "^", "|"):
            right = stack.pop()
            left = right if token == "!" else stack.pop()
            stack.append(len(number) + len(tape) // 3)
            tape += [ord(token), left, right]
        else:
            return None
    count = len(tape) // 3
    if len(number) + count > _MOST_VALUES:
        return None
    return np.asarray([stack[0], count, *tape], dtype=np.int32)


def _program(circuit: Circuit) -> tuple[Int32, Int32]:
    """Of each pivot: node, slot, k, then k x (lower, upper, node), then the k x k slots that its
    products are taken from; and where each pivot begins."""
    pattern = circuit.pattern
    slot, position = pattern.slot, {node: k for k, node in enumerate(pattern.order)}
    later: list[list[int]] = [[] for _ in pattern.order]
    for row, column in slot:
        if position[row] > position[column]:
            later[position[column]].append(row)
    program: list[int] = []
    starts = []
    for node, rows in zip(pattern.order, later, strict=True):
        starts.append(len(program))
        program += [node, slot[node, node], len(rows)]
        for row in rows:
            program += [slot[row, node], slot[node, row], row]
        program += [slot[i, j] for i in rows for j in rows]
    return np.asarray(program, dtype=np.int32), np.asarray(starts, dtype=np.int32)
