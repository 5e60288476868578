"""The kinds of part, found in this folder."""

from __future__ import annotations

from halfsplit.parts.kind import PartKind
from halfsplit.registry import Registry

__all__ = ["KINDS"]

_NOT_KINDS = frozenset(
    {"ageing", "joints", "kind", "offsheet", "reference", "registry", "socket", "vocabulary"}
)

KINDS: Registry[PartKind] = Registry("halfsplit.parts", what="kind of part", skip=_NOT_KINDS)
