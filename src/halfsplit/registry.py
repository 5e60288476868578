"""Kinds found by folder: one new kind is one new file, and nothing else to edit.

A folder (package) holds one module per kind; each module binds the name ``KIND`` (one kind)
or ``KINDS`` (several of one family). The registry imports the folder once, on first use,
refuses a name taken twice (letters' case ignored, since files fold it) and a module that
registers nothing, and offers the nearest name for an unknown one. Modules whose name
starts with ``_`` are helpers and are not scanned.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from typing import Generic, Protocol, TypeVar

from halfsplit.errors import RegistryError, UnknownName

__all__ = ["Named", "Registry"]


class Named(Protocol):
    """What every kind has: a name, unique in its folder."""

    @property
    def name(self) -> str: ...


K = TypeVar("K", bound=Named)


class Registry(Generic[K]):
    """The kinds of one folder, by name."""

    def __init__(self, package: str, *, what: str, skip: frozenset[str] = frozenset()) -> None:
        self._package, self._what, self._skip = package, what, skip
        self._kinds: dict[str, K] | None = None

    def all(self) -> dict[str, K]:
        """Name -> kind, in the order of module names. Raises :class:`RegistryError`."""
        if self._kinds is None:
            self._kinds = self._scan()
        return self._kinds

    def get(self, name: str) -> K:
        """The kind of that name. Raises :class:`UnknownName` with the nearest one."""
        kinds = self.all()
        if name not in kinds:
            raise UnknownName(self._what, name, kinds)
        return kinds[name]

    def __iter__(self) -> Iterator[K]:
        return iter(self.all().values())

    def __contains__(self, name: object) -> bool:
        return name in self.all()

    def _scan(self) -> dict[str, K]:
        found: dict[str, K] = {}
        taken: dict[str, str] = {}
        package = importlib.import_module(self._package)
        for info in sorted(pkgutil.iter_modules(package.__path__), key=lambda item: item.name):
            if info.name.startswith("_") or info.name in self._skip:
                continue
            module = importlib.import_module(f"{self._package}.{info.name}")
            if hasattr(module, "KIND") and hasattr(module, "KINDS"):
                raise RegistryError(
                    f"{module.__name__} binds both KIND and KINDS; bind one, "
                    "so that no kind is passed over"
                )
            kinds = getattr(module, "KINDS", None) or (
                (module.KIND,) if hasattr(module, "KIND") else ()
            )
            if not kinds:
                raise RegistryError(
                    f"{module.__name__} registers no {self._what}: "
                    "bind KIND or KINDS, or start the module's name with an underscore"
                )
            for kind in kinds:
                fold = kind.name.casefold()
                if fold in taken:
                    raise RegistryError(
                        f"{self._what} {kind.name!r} of {module.__name__} "
                        f"is already taken by {taken[fold]}"
                    )
                taken[fold] = module.__name__
                found[kind.name] = kind
        return found
