"""What the reader of board files is told: every registered kind, every type number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.errors import RegistryError
from halfsplit.frozen import dataclass
from halfsplit.parts._families import FAMILIES
from halfsplit.parts.kind import PartKind
from halfsplit.parts.registry import KINDS
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
        """Type number -> kind and preset fields. Raises :class:`RegistryError` for one given twice.

        A kind lists its type numbers in an attribute ``types``; kinds that are a type number
        themselves (``74LS38``) have none.
        """
        found: dict[str, TypeWord] = {}
        for kind in self.registry:
            listed: tuple[TypeWord, ...] = getattr(kind, "types", ())
            for word in listed:
                if word.name in found:
                    raise RegistryError(
                        f"type number {word.name!r} of kind {kind.name!r} already stands for "
                        f"{found[word.name].kind!r}"
                    )
                found[word.name] = word
        return found

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
        return self.registry.all()[name].word

    def __iter__(self) -> Iterator[str]:
        return iter(self.registry.all())

    def __len__(self) -> int:
        return len(self.registry.all())
