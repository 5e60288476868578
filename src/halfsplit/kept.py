"""Where this user's programs keep what can be made again."""

from __future__ import annotations

import os
import sys
from pathlib import Path

__all__ = ["kept_folder"]


def kept_folder() -> Path:
    """``XDG_CACHE_HOME`` (XDG Base Directory Specification) when it is set, else the folder that
    the system has for it."""
    chosen = os.environ.get("XDG_CACHE_HOME", "")
    if os.path.isabs(chosen):
        base = Path(chosen)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or os.path.expanduser("~"))
    else:
        home = Path(os.path.expanduser("~"))
        base = home / "Library" / "Caches" if sys.platform == "darwin" else home / ".cache"
    return base / "halfsplit"
