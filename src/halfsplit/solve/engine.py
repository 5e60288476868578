"""Which engine solves: the compiled kernel when it is there, else numpy; both give the same.

``HALFSPLIT_ENGINE=numpy`` in the environment leaves the kernel alone.
"""

from __future__ import annotations

import os
from collections.abc import Sequence

import numpy as np

from halfsplit.solve import newton
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.kernel import Kernel, load_kernel
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Probe, Solution
from halfsplit.solve.response import Linear as Reference

__all__ = ["Linear", "engine_name", "solve"]


def solve(
    circuit: Circuit,
    params: Sequence[Array],
    guess: Array | None = None,
    *,
    want_ohms: bool = False,
    probe: Probe | None = None,
) -> Solution:
    """Solve B cases; see :func:`halfsplit.solve.newton.solve`."""
    kernel = _kernel()
    if kernel is not None:
        done = kernel.solve(
            circuit, params, guess, want_ohms=want_ohms, probe=probe, threads=_threads()
        )
        if done is not None:
            return done
    return newton.solve(circuit, params, guess, want_ohms=want_ohms, probe=probe)


class Linear:
    """The circuit made linear at solutions ``v`` [N, B] with ``params`` (each [P, M, B]): what
    :class:`halfsplit.solve.response.Linear` gives. Columns of ``v`` must be finite."""

    def __init__(self, circuit: Circuit, v: Array, params: Sequence[Array]) -> None:
        self.circuit, self.v, self.params = circuit, v, params
        self._reference: Reference | None = None

    def ohms(self) -> Array:
        """Source resistance of each node [N, B], ohm."""
        found = self._compiled((), want_ohms=True)
        return found[0] if found else self._numpy().ohms()

    def responses(self, varied: Sequence[Sequence[Array]]) -> Array:
        """Change of every node [S, N, B], volt, for each of S sets of parameters."""
        found = self._compiled(varied, want_ohms=False)
        if found:
            return found[1]
        return np.stack([self._numpy().response(params) for params in varied])

    def response(self, varied: Sequence[Array]) -> Array:
        """Change of every node [N, B], volt, when the parameters become ``varied``."""
        changed: Array = self.responses([varied])[0]
        return changed

    def _compiled(
        self, varied: Sequence[Sequence[Array]], *, want_ohms: bool
    ) -> tuple[Array, Array] | None:
        kernel = _kernel()
        if kernel is None:
            return None
        return kernel.linear(
            self.circuit, self.v, self.params, varied, want_ohms=want_ohms, threads=_threads()
        )

    def _numpy(self) -> Reference:
        if self._reference is None:
            self._reference = Reference.at(self.circuit, self.v, self.params)
        return self._reference


def engine_name() -> str:
    """What solves here: "compiled (avx2)" or the like, or "numpy"."""
    kernel = _kernel()
    return f"compiled ({kernel.name})" if kernel else "numpy"


def _kernel() -> Kernel | None:
    return None if os.environ.get("HALFSPLIT_ENGINE") == "numpy" else load_kernel()


def _threads() -> int:
    return os.cpu_count() or 1
