"""The compiled steps of time: transient.c, loaded at run time.

Without the library (no compiler at install, another revision, ``HALFSPLIT_ENGINE=numpy``, a law it
does not know) :class:`Stepper.make` gives None and :mod:`halfsplit.solve.transient` does the same
in numpy.
"""

from __future__ import annotations

import ctypes
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from itertools import pairwise
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from halfsplit.errors import SolveError
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.kernel_layout import Layout, lay_out, settings
from halfsplit.solve.law import Array
from halfsplit.solve.library import library_path
from halfsplit.solve.transient_stores import Stores

__all__ = ["Stepper"]

Mask = npt.NDArray[np.bool_]

_REVISION = 3
_MOST_MEMORY = 1 << 26
"""Bytes for what is kept of a repeated drive."""
_ENOUGH = 8
"""Blocks for one thread: below, starting it costs more than it saves."""


class _March(ctypes.Structure):
    _fields_ = (
        ("circuit", ctypes.c_void_p),
        ("settings", ctypes.c_void_p),
        ("width", ctypes.c_int64),
        ("stores", ctypes.c_int64),
        *((name, ctypes.c_void_p) for name in ("store_nodes", "store_slots", "coil")),
    )


class _Step(ctypes.Structure):
    _fields_ = (
        *((name, ctypes.c_void_p)
          for name in ("params", "strides", "value", "ohms", "x", "slope", "v", "guide",
                       "memory")),
        *((name, ctypes.c_int64) for name in ("slots", "slot", "filled")),
        ("tolerance", ctypes.c_void_p),
        *((name, ctypes.c_double) for name in ("h", "shortest", "gamma", "third")),
        ("reload", ctypes.c_int64),
        *((name, ctypes.c_void_p) for name in ("lost", "error", "middle")),
    )  # fmt: skip


class Stepper:
    """Steps B cases of one circuit; keeps what it has evaluated between the steps."""

    def __init__(self, library: Any, layout: Layout, stores: Stores) -> None:
        circuit, width = stores.circuit, stores.value.shape[1]
        size, spare, slot = circuit.size, circuit.pattern.slots, circuit.pattern.slot
        nodes = circuit.groups[stores.group].nodes[:, stores.members].T
        pairs = ((0, 0), (0, 1), (1, 0), (1, 1))
        slots = [[slot.get((int(at[a]), int(at[b])), spare) for a, b in pairs] for at in nodes]
        self._kept = [
            np.ascontiguousarray(nodes, dtype=np.int32),
            np.asarray(slots, dtype=np.int32).reshape(-1, 4),
            np.ascontiguousarray(stores.coil[:, 0], dtype=np.int32),
        ]
        self._layout, self._settings, self._library = layout, settings(), library
        self._march = _March(
            ctypes.addressof(layout.struct),
            ctypes.addressof(self._settings),
            width,
            len(nodes),
            *(array.ctypes.data for array in self._kept),
        )
        count = library.halfsplit_transient_bytes(ctypes.byref(self._march))
        self._memory = np.zeros(count // 8 + 1)
        self.blocks = -(-width // library.halfsplit_transient_lanes())
        self.memory: npt.NDArray[np.float32] | None = None
        self.filled: npt.NDArray[np.bool_] = np.zeros(0, dtype=bool)
        self.lost = np.zeros(width, dtype=bool)
        self.error = np.zeros(width)
        self.middle = np.zeros(size)

    @classmethod
    def make(cls, stores: Stores) -> Stepper | None:
        """For these cases; None where numpy has to do it."""
        library = _library()
        layout = _layout(stores.circuit) if library else None
        if library is None or layout is None or not stores.members.size:
            return None
        return cls(library, layout, stores)

    def remember(self, slots: int) -> None:
        """Make room to keep what the cases do in ``slots`` steps, where a drive that is repeated
        begins the next time; fewer where that would take too much memory."""
        circuit, lanes = self._layout.struct, self._library.halfsplit_transient_lanes()
        each = self.blocks * 3 * (circuit.pivots - circuit.static_pivots) * lanes
        slots = min(slots, _MOST_MEMORY // max(4 * each, 1))
        if slots:
            self.memory = np.zeros(slots * each, dtype=np.float32)
            self.filled = np.zeros(slots, dtype=bool)

    def step(
        self, params: Sequence[Array], stores: Stores, x: Array, slope: Array, v: Array,
        guide: Array | None, *, slot: int = -1, tolerance: Array, h: float, shortest: float,
        gamma: float, third: float, reload: bool,
    ) -> Mask:  # fmt: skip
        """Take ``x``, ``slope`` [K, B] and ``v`` [N, B] over ``h`` seconds, in place; which cases
        [B] were lost. ``guide`` [3, N]; ``slot``: where this step is kept, or -1; ``reload``:
        ``params`` or ``stores`` have changed. The errors [B] are in ``error``, the volts of case 0
        at its first stage in ``middle``."""
        flat = [np.asarray(p, dtype=np.float64) for p in params]
        pointers = np.asarray([p.ctypes.data for p in flat], dtype=np.uintp)
        strides = np.asarray(
            [[s // 8 if n > 1 or axis < 2 else 0 for axis, (s, n) in
              enumerate(zip(p.strides, p.shape, strict=True))] for p in flat],
            dtype=np.int64,
        )  # fmt: skip
        value, ohms = (np.ascontiguousarray(array) for array in (stores.value, stores.ohms))
        arrays = [value, ohms, x, slope, v]
        for array in arrays:
            if not array.flags.c_contiguous:
                raise ValueError("the arrays of a march must be contiguous")
        slot = slot if slot < self.filled.size else -1
        allowed = np.ascontiguousarray(tolerance[:, 0])
        guided = None if guide is None else np.ascontiguousarray(guide)
        step = _Step(
            pointers.ctypes.data,
            strides.ctypes.data,
            *(array.ctypes.data for array in arrays),
            None if guided is None else guided.ctypes.data,
            None if self.memory is None else self.memory.ctypes.data,
            self.filled.size,
            slot,
            int(slot >= 0 and self.filled[slot]),
            allowed.ctypes.data,
            h,
            shortest,
            gamma,
            third,
            reload,
            self.lost.ctypes.data,
            self.error.ctypes.data,
            self.middle.ctypes.data,
        )
        if slot >= 0:
            self.filled[slot] = True
        parts = max(1, min(os.cpu_count() or 1, self.blocks // _ENOUGH))
        edges = [self.blocks * k // parts for k in range(parts + 1)]

        def some(span: tuple[int, int]) -> int:
            return int(
                self._library.halfsplit_transient_step(
                    ctypes.byref(self._march), ctypes.c_void_p(self._memory.ctypes.data),
                    ctypes.byref(step), ctypes.c_int64(span[0]), ctypes.c_int64(span[1]),
                )
            )  # fmt: skip

        spans = list(pairwise(edges))
        codes = list(_pool().map(some, spans)) if parts > 1 else [some(spans[0])]
        if any(codes):
            raise SolveError("no memory for a step of time; close other programs")
        return self.lost


_layouts: WeakKeyDictionary[Circuit, Layout | None] = WeakKeyDictionary()


def _layout(circuit: Circuit) -> Layout | None:
    if circuit not in _layouts:
        _layouts[circuit] = lay_out(circuit)
    return _layouts[circuit]


@lru_cache(maxsize=1)
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(thread_name_prefix="halfsplit-time")


def _library() -> Any:
    return None if os.environ.get("HALFSPLIT_ENGINE") == "numpy" else _load()


@lru_cache(maxsize=1)
def _load() -> Any:
    path = library_path()
    path = path.with_name(path.name.replace("_kernel_", "_transient_"))
    try:
        library = ctypes.CDLL(str(path))
        if library.halfsplit_transient_revision() != _REVISION:
            return None
    except (OSError, AttributeError):
        return None
    library.halfsplit_transient_bytes.restype = ctypes.c_size_t
    return library
