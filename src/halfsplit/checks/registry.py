"""All kinds of check, by name."""

from __future__ import annotations

from halfsplit.checks.kind import CheckKind
from halfsplit.registry import Registry

__all__ = ["CHECKS"]

CHECKS: Registry[CheckKind] = Registry(
    "halfsplit.checks",
    what="kind of check",
    skip=frozenset({"kind", "registry", "catalogue", "meaning"}),
)
