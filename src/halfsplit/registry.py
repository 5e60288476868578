"""Kinds found by folder: one new kind is one new file, and nothing else to edit.

A folder (package) holds one module per kind; each module binds the name ``KIND`` (one kind)
or ``KINDS`` (several of one family). The registry goes through the folder once,
refuses a name taken twice (letters' case ignored, since files fold it) and a module that
registers nothing, and offers the nearest name for an unknown one. Modules whose name
starts with ``_`` are helpers and are not scanned.

What it found is kept (``halfsplit.index``) for as long as no file of the folder changes, so that
whoever asks for one kind by name waits for one module only.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterable, Iterator, Mapping
from types import ModuleType
from typing import Generic, Protocol, TypeVar

from halfsplit.errors import RegistryError, UnknownName
from halfsplit.index import Index, keep, kept

__all__ = ["Named", "Registry"]


class Named(Protocol):
    """What every kind has: a name, unique in its folder."""

    @property
    def name(self) -> str: ...


K = TypeVar("K", bound=Named)


class Registry(Generic[K]):
    """The kinds of one folder, by name.

    ``others`` says for which further names a kind stands (its type numbers).
    """

    def __init__(
        self,
        package: str,
        *,
        what: str,
        skip: frozenset[str] = frozenset(),
        others: Callable[[K], Iterable[str]] = lambda kind: (),
    ) -> None:
        self._package, self._what, self._skip, self._further = package, what, skip, others
        self._kinds: dict[str, K] | None = None
        self._met: dict[str, K] = {}
        self._listed: Index | None = None

    def all(self) -> dict[str, K]:
        """Name -> kind, in the order of module names. Raises :class:`RegistryError`."""
        if self._kinds is None:
            self._kinds, self._listed = self._scan()
        return self._kinds

    def get(self, name: str) -> K:
        """The kind of that name. Raises :class:`UnknownName` with the nearest one."""
        if name not in self._met:
            module = self._index().modules.get(name)
            if module is not None:
                self._met |= {kind.name: kind for kind in self._kinds_of(self._import(module))}
            if name not in self._met:
                self._met |= self.all()
        if name not in self._met:
            raise UnknownName(self._what, name, self.all())
        return self._met[name]

    def names(self) -> Iterable[str]:
        """All names, in the order of module names. Raises :class:`RegistryError`."""
        return self._index().modules

    def others(self) -> Mapping[str, str]:
        """Further name -> the name of the kind it stands for. Raises :class:`RegistryError`."""
        return self._index().others

    def __iter__(self) -> Iterator[K]:
        return iter(self.all().values())

    def __contains__(self, name: object) -> bool:
        return name in self._index().modules

    def _index(self) -> Index:
        if self._listed is None:
            folders = list(importlib.import_module(self._package).__path__)
            self._listed = kept(self._package, folders)
            if self._listed is None:
                self._kinds, self._listed = self._scan()
                keep(self._package, folders, self._listed)
        return self._listed

    def _scan(self) -> tuple[dict[str, K], Index]:
        found: dict[str, K] = {}
        taken: dict[str, str] = {}
        modules: dict[str, str] = {}
        others: dict[str, str] = {}
        package = importlib.import_module(self._package)
        for info in sorted(pkgutil.iter_modules(package.__path__), key=lambda item: item.name):
            if info.name.startswith("_") or info.name in self._skip:
                continue
            module = self._import(info.name)
            for kind in self._kinds_of(module):
                fold = kind.name.casefold()
                if fold in taken:
                    raise RegistryError(
                        f"{self._what} {kind.name!r} of {module.__name__} "
                        f"is already taken by {taken[fold]}"
                    )
                taken[fold] = module.__name__
                found[kind.name], modules[kind.name] = kind, info.name
                for other in self._further(kind):
                    if other in others:
                        raise RegistryError(
                            f"{other!r} of {self._what} {kind.name!r} already stands for "
                            f"{others[other]!r}"
                        )
                    others[other] = kind.name
        return found, Index(modules=modules, others=others)

    def _import(self, module: str) -> ModuleType:
        return importlib.import_module(f"{self._package}.{module}")

    def _kinds_of(self, module: ModuleType) -> tuple[K, ...]:
        if hasattr(module, "KIND") and hasattr(module, "KINDS"):
            raise RegistryError(
                f"{module.__name__} binds both KIND and KINDS; bind one, "
                "so that no kind is passed over"
            )
        kinds: tuple[K, ...] = getattr(module, "KINDS", None) or (
            (module.KIND,) if hasattr(module, "KIND") else ()
        )
        if not kinds:
            raise RegistryError(
                f"{module.__name__} registers no {self._what}: "
                "bind KIND or KINDS, or start the module's name with an underscore"
            )
        return kinds
