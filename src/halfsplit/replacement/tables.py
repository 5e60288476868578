"""The tables of types beside this module, read when somebody asks."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from typing import Any

from halfsplit.packaged import packaged

__all__ = ["table"]


@cache
def table(name: str) -> Mapping[str, Any]:
    """The table ``name``.toml."""
    text = packaged(f"replacement/{name}.toml").read_text(encoding="utf-8")
    found: Mapping[str, Any] = tomllib.loads(text)
    return found
