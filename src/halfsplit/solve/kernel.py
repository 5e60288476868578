"""The compiled kernel: kernel.c, loaded at run time.

Whatever is missing (no library, another revision, a law it does not know) shows as None, and the
caller takes :mod:`halfsplit.solve.newton` instead, which does the same in numpy.
"""

from __future__ import annotations

import ctypes
from collections.abc import Sequence
from functools import lru_cache, partial
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from halfsplit.errors import SolveError
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.crew import Crew
from halfsplit.solve.kernel_layout import Laid, Layout, lay_out, settings
from halfsplit.solve.law import Array
from halfsplit.solve.library import library_path, open_library
from halfsplit.solve.newton import Probe, Solution

__all__ = ["Kernel", "load_kernel"]

_ENOUGH = 64
"""Columns for one thread: below, starting it costs more than it saves."""


class Kernel:
    """The loaded library. ``name`` is the instruction set it runs with."""

    def __init__(self, library: ctypes.CDLL) -> None:
        library.halfsplit_name.restype = ctypes.c_char_p
        self.name: str = library.halfsplit_name().decode()
        self._call: Any = library.halfsplit_solve
        self._layouts: WeakKeyDictionary[Circuit, Layout | None] = WeakKeyDictionary()
        self._settings = settings()
        self._crew = Crew("halfsplit-solve")

    def solve(
        self,
        circuit: Circuit,
        params: Sequence[Array],
        guess: Array | None = None,
        *,
        want_ohms: bool = False,
        probe: Probe | None = None,
        threads: int = 1,
    ) -> Solution | None:
        """As :func:`halfsplit.solve.newton.solve`; None for a circuit with an unknown law."""
        layout = self._layout(circuit)
        if layout is None:
            return None
        width = max((p.shape[2] for p in params), default=1)
        if guess is not None:
            width = max(width, guess.shape[1])
        if probe is not None:
            width = max(width, probe.red.size)
        v = np.empty((circuit.size, width))
        batch = Laid(circuit, params, v, want_ohms=want_ohms)
        if guess is not None:
            batch.start_from(guess)
        if probe is not None:
            batch.attach(circuit, probe)
        self._run(layout, batch, threads)
        return Solution(v=v, resolved=batch.resolved, ohms=batch.ohms, steps=int(batch.steps.sum()))

    def linear(
        self,
        circuit: Circuit,
        v: Array,
        params: Sequence[Array],
        varied: Sequence[Sequence[Array]] = (),
        *,
        want_ohms: bool = False,
        threads: int = 1,
    ) -> tuple[Array, Array] | None:
        """Source resistances [N, B] (if wanted) and, for S sets of parameters, the change of
        every node [S, N, B] to first order; None for a circuit with an unknown law.

        ``v`` [N, B] finite solutions with ``params``; see :mod:`halfsplit.solve.response`.
        """
        layout = self._layout(circuit)
        if layout is None:
            return None
        batch = Laid(circuit, params, np.ascontiguousarray(v), varied, want_ohms=want_ohms)
        batch.struct.guess_row = -1
        self._run(layout, batch, threads)
        return batch.ohms, batch.moved

    def _layout(self, circuit: Circuit) -> Layout | None:
        if circuit not in self._layouts:
            self._layouts[circuit] = lay_out(circuit)
        return self._layouts[circuit]

    def _run(self, layout: Layout, batch: Laid, threads: int) -> None:
        width = batch.resolved.size
        parts = max(1, min(threads, width // _ENOUGH))
        edges = [width * k // parts for k in range(parts + 1)]
        codes = [0] * parts

        def work(k: int) -> None:
            codes[k] = self._span(layout, batch, (edges[k], edges[k + 1]))

        self._crew.share([partial(work, k) for k in range(parts)])
        if any(codes):
            raise SolveError(f"no memory to solve {width} cases at once; close other programs")

    def _span(self, layout: Layout, batch: Laid, span: tuple[int, int]) -> int:
        return int(
            self._call(
                ctypes.byref(layout.struct),
                ctypes.byref(self._settings),
                ctypes.byref(batch.struct),
                ctypes.c_int64(span[0]),
                ctypes.c_int64(span[1]),
            )
        )


@lru_cache(maxsize=4)
def load_kernel(path: str = "") -> Kernel | None:
    """The library at ``path`` (default: beside this file), or None when it cannot be used."""
    try:
        return Kernel(open_library(Path(path) if path else library_path()))
    except OSError:
        return None
