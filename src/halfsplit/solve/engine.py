"""Which engine solves: the compiled kernel when it is there, else numpy; both give the same.

``HALFSPLIT_ENGINE=numpy`` in the environment leaves the kernel alone.
"""

from __future__ import annotations

import os
from collections.abc import Sequence

from halfsplit.solve import newton
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.kernel import Kernel, load_kernel
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Probe, Solution

__all__ = ["engine_name", "solve"]


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
            circuit, params, guess, want_ohms=want_ohms, probe=probe, threads=os.cpu_count() or 1
        )
        if done is not None:
            return done
    return newton.solve(circuit, params, guess, want_ohms=want_ohms, probe=probe)


def engine_name() -> str:
    """What solves here: "compiled (avx2)" or the like, or "numpy"."""
    kernel = _kernel()
    return f"compiled ({kernel.name})" if kernel else "numpy"


def _kernel() -> Kernel | None:
    return None if os.environ.get("HALFSPLIT_ENGINE") == "numpy" else load_kernel()
