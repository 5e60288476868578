"""What the reader of board files is told: every registered kind, every type number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._families import FAMILIES
from halfsplit.parts.kind import PartKind
from halfsplit.parts.registry import KINDS, type_words
from halfsplit.registry import Registry

__all__ = ["LETTERS", "PartsVocabulary"]

LETTERS: Mapping[str, str] = {
    "C": "capacitor",
    "D": "diode",
    "F": "fuse",
    "J": "connector",
    "L": "coil",
    "P": "connector",
    "R": "resistor",
    "RV": "potentiometer",
    "S": "switch",
    "SW": "switch",
}
"""Designator letters -> kind when none is typed (IEEE 315 class letters, from memory). A
transistor (Q) and a chip (U) must be typed: the letter does not say which way round it is."""


@dataclass(frozen=True, slots=True)
class PartsVocabulary:
    """The :class:`halfsplit.board.vocabulary.Vocabulary` of a registry of kinds."""

    registry: Registry[PartKind] = KINDS

    def kinds(self) -> Mapping[str, KindWord]:
        """Kind name -> grammar."""
        return _Words(self.registry)

    def types(self) -> Mapping[str, TypeWord]:
        """Type number -> kind and preset fields. Raises :class:`RegistryError` for one given
        twice."""
        return _Types(self.registry)

    def letters(self) -> Mapping[str, str]:
        """Designator letters -> kind implied when none is typed."""
        return LETTERS

    def families(self) -> frozenset[str]:
        """Logic families an off-sheet net or a controller may name."""
        return frozenset(FAMILIES)


@dataclass(frozen=True, slots=True)
class _Words(Mapping[str, KindWord]):
    """The grammar of a kind, made when asked for: there are many hundred kinds."""

    registry: Registry[PartKind]

    def __getitem__(self, name: str) -> KindWord:
        if name not in self.registry:
            raise KeyError(name)
        return self.registry.get(name).word

    def __contains__(self, name: object) -> bool:
        return name in self.registry

    def __iter__(self) -> Iterator[str]:
        return iter(self.registry.names())

    def __len__(self) -> int:
        return len(list(self.registry.names()))


@dataclass(frozen=True, slots=True)
class _Types(Mapping[str, TypeWord]):
    """What a type number stands for, asked of its kind when somebody wants to know."""

    registry: Registry[PartKind]

    def __getitem__(self, name: str) -> TypeWord:
        kind = self.registry.get(self.registry.others()[name])
        return next(word for word in type_words(kind) if word.name == name)

    def __iter__(self) -> Iterator[str]:
        return iter(self.registry.others())

    def __len__(self) -> int:
        return len(self.registry.others())
