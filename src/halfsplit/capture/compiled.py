"""The compiled readers: vcd.c and text.c, loaded at run time.

When the library is missing or of another revision, callers take the numpy readers, which give the
same. ``HALFSPLIT_ENGINE=numpy`` switches it off, as it does for the solver.
"""

from __future__ import annotations

import ctypes
import os
import sysconfig
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["address", "library_path", "load_readers"]

REVISION = 3
"""Of the arguments of the functions; vcd.c has the same number."""


def load_readers() -> ctypes.CDLL | None:
    """The library, or None when it cannot be used."""
    if os.environ.get("HALFSPLIT_ENGINE") == "numpy":
        return None
    return load(str(library_path()))


@lru_cache(maxsize=4)
def load(path: str) -> ctypes.CDLL | None:
    """The library at ``path``, or None when it cannot be used."""
    try:
        library = ctypes.CDLL(path)
        return library if library.halfsplit_readers_revision() == REVISION else None
    except (OSError, AttributeError):
        return None


def library_path() -> Path:
    """Where the installation puts the library: one name for each platform."""
    platform = sysconfig.get_platform().replace(".", "_").replace("-", "_")
    return Path(__file__).parent / f"_readers_{platform}.so"


def address(array: NDArray[Any]) -> ctypes.c_void_p:
    """Where the elements of a contiguous array begin; the caller keeps the array alive."""
    assert array.flags.c_contiguous
    return ctypes.c_void_p(array.ctypes.data if array.size else np.empty(1).ctypes.data)
