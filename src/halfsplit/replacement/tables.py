"""The tables of types beside this module, read when somebody asks."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

__all__ = ["table"]


@cache
def table(name: str) -> Mapping[str, Any]:
    """The table ``name``.toml."""
    text = (files("halfsplit.replacement") / f"{name}.toml").read_text(encoding="utf-8")
    found: Mapping[str, Any] = tomllib.loads(text)
    return found
