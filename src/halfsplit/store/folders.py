"""The owner's own folders, for what outlives a case.

XDG Base Directory Specification; the folders of Windows and macOS else.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

__all__ = ["data_folder", "settings_folder"]


def settings_folder() -> Path:
    """What the owner has set: in ``XDG_CONFIG_HOME`` when that is set, else the system's folder."""
    return _folder("XDG_CONFIG_HOME", ".config")


def data_folder() -> Path:
    """What has come together: in ``XDG_DATA_HOME`` when that is set, else the system's folder."""
    return _folder("XDG_DATA_HOME", ".local/share")


def _folder(variable: str, otherwise: str) -> Path:
    chosen = os.environ.get(variable, "")
    home = Path(os.path.expanduser("~"))
    if os.path.isabs(chosen):
        base = Path(chosen)
    elif sys.platform == "win32":
        base = Path(os.environ.get("APPDATA") or home)
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = home / otherwise
    return base / "halfsplit"
