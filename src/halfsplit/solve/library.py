"""The compiled library and what it is: nothing here needs numpy, so that a question is quick."""

from __future__ import annotations

import ctypes
import os
import sysconfig
from pathlib import Path

from halfsplit.frozen import dataclass

__all__ = ["REVISION", "Engine", "describe", "library_path", "open_library"]

REVISION = 10
"""Of the structures that kernel_layout.py fills, as kernel.h has them."""
_WIDTHS = {"avx512": ("AVX-512", 8), "avx2": ("AVX2", 4), "plain": ("plain", 2)}
_SWITCH = "HALFSPLIT_ENGINE"


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """What solves: ``name`` "compiled" or "numpy"; ``vector`` the instruction set and ``lanes``
    the cases in one vector (1 for numpy); ``why`` numpy, else empty."""

    name: str
    vector: str
    lanes: int
    why: str

    def __str__(self) -> str:
        if self.name == "numpy":
            return f"numpy, because {self.why}"
        return f"{self.name}, {self.vector}, {self.lanes} cases in a vector"


def describe(path: Path | None = None) -> Engine:
    """The engine that solves here. ``path``: of the library, else where an install puts it."""
    if os.environ.get(_SWITCH) == "numpy":
        return _numpy(f"{_SWITCH}=numpy says so")
    path = path or library_path()
    try:
        library = open_library(path)
    except OSError as error:
        return _numpy(str(error))
    library.halfsplit_name.restype = ctypes.c_char_p
    vector, lanes = _WIDTHS[library.halfsplit_name().decode()]
    return Engine(name="compiled", vector=vector, lanes=lanes, why="")


def open_library(path: Path) -> ctypes.CDLL:
    """The library at ``path``. Raises OSError, which says why, when it cannot be used."""
    if not path.exists():
        raise OSError(f"the install made no {path.name} (was there a C compiler?)")
    try:
        library = ctypes.CDLL(str(path))
        revision = library.halfsplit_revision()
    except (OSError, AttributeError) as error:
        raise OSError(f"{path.name} does not load: {error}") from error
    if revision != REVISION:
        raise OSError(f"{path.name} has revision {revision}, wanted {REVISION}: install again")
    return library


def library_path() -> Path:
    """Where the installation puts the library: one name for each platform."""
    platform = sysconfig.get_platform().replace(".", "_").replace("-", "_")
    return Path(__file__).parent / f"_kernel_{platform}.so"


def _numpy(why: str) -> Engine:
    return Engine(name="numpy", vector="", lanes=1, why=why)
