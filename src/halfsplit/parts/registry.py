"""The kinds of part, found in this folder."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.vocabulary import TypeWord
from halfsplit.parts.kind import PartKind
from halfsplit.registry import Registry

__all__ = ["KINDS", "type_words"]

_NOT_KINDS = frozenset(
    {"ageing", "joints", "kind", "offsheet", "reference", "registry", "socket", "vocabulary"}
)


def type_words(kind: PartKind) -> Sequence[TypeWord]:
    """The type numbers that stand for a kind, which lists them in an attribute ``types``; kinds
    that are a type number themselves (``74LS38``) have none."""
    listed: Sequence[TypeWord] = getattr(kind, "types", ())
    return listed


KINDS: Registry[PartKind] = Registry(
    "halfsplit.parts",
    what="kind of part",
    skip=_NOT_KINDS,
    others=lambda kind: [word.name for word in type_words(kind)],
)
