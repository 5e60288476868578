"""Which names are good, and the vocabulary with letters' case folded."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from halfsplit.board.model import Description, Part
from halfsplit.board.vocabulary import KindWord, PinWord, TypeWord, Vocabulary

__all__ = [
    "KEYWORDS",
    "ROLES",
    "Lexicon",
    "described_word",
    "is_designator",
    "is_kind_name",
    "net_fault",
    "pin_fault",
]

KEYWORDS = (
    "board", "note", "ground", "rail", "describe", "gives", "offsheet", "testpoint", "output",
    "state",
)  # fmt: skip
"""Words that open a line which is not a part's."""

ROLES = ("in", "out", "io", "oc", "tri", "supply", "ground", "passive", "nc")
"""Words that set the role of the pins after them on a line that names its own pins."""

UNKNOWN = KindWord(
    name="unknown",
    title="part that nobody could identify",
    free_pins=True,
    help="Its pins are typed as of a connector; nothing is assumed of how it behaves.",
    example="U9 unknown 1=A 2=B",
)
"""Always there, whatever the vocabulary."""

_DESIGNATOR = re.compile(r"(?=.*[0-9])(?=.*[A-Za-z])[A-Za-z0-9][A-Za-z0-9_.+-]*")
_KIND_NAME = re.compile(r"[A-Za-z0-9_-]*[A-Za-z_][A-Za-z0-9_-]*")
_LETTERS = re.compile(r"[A-Za-z]+")

_FIVE_VOLTS = (4.5, 5.5)

V = TypeVar("V")


def is_designator(text: str) -> bool:
    """Letters and figures, at least one of each: ``R1``, ``IC12``, ``Q4A``, ``3F``."""
    return _DESIGNATOR.fullmatch(text) is not None


def is_kind_name(text: str) -> bool:
    """Whether a described part may have that name: letters, figures, ``_`` and ``-``."""
    return _KIND_NAME.fullmatch(text) is not None


def net_fault(text: str, ground: str = "") -> str | None:
    """Why ``text`` cannot be a net, in words; ``None`` when it can."""
    if not text or text in ("-", "?"):
        return f"expected a net, got {text!r}"
    if text == "0" and ground != "0":
        return "expected a net, got '0'; type the name of ground (GND), or a line `ground 0`"
    for sign in text:
        if sign in ';"=[],|%\\' or sign.isspace():
            return f"expected a net, got {text!r}; a net's name has no {sign!r}"
    if text.startswith("#"):
        return f"expected a net, got {text!r}; # begins a comment"
    return None


def pin_fault(text: str) -> str | None:
    """Why ``text`` cannot name a pin of a part that names its own pins."""
    if "," in text:
        return f"expected one pin, got {text!r}; several go in brackets: [{text}]=NET"
    if net_fault(text, "0"):
        return f"expected a pin, got {text!r}"
    return None


def described_word(description: Description) -> KindWord:
    """The grammar of a described part: its pins by number or function."""
    return KindWord(
        name=description.name,
        title=description.title or "described in the board file",
        pins=tuple(
            PinWord(name=pin.name, role=pin.role, title=pin.title,
                    other_names=() if pin.title == pin.name else (pin.title,))
            for pin in description.pins
        ),
        supply_volts=_FIVE_VOLTS,
    )  # fmt: skip


class Lexicon:
    """The vocabulary as the reader asks it: case folded, ``unknown`` always there."""

    def __init__(self, vocabulary: Vocabulary, descriptions: Iterable[Description] = ()) -> None:
        self._described: dict[str, KindWord] = {}
        self.kinds: Mapping[str, KindWord] = _Kinds(vocabulary.kinds(), self._described)
        self.types: Mapping[str, TypeWord] = vocabulary.types()
        self.families = frozenset(vocabulary.families())
        self._kinds = _folded({name: name for name in self.kinds})
        self._types = _folded({name: name for name in self.types})
        self._families = _folded({name: name for name in self.families})
        self._letters = _folded(vocabulary.letters())
        for description in descriptions:
            self.describe(described_word(description))

    def describe(self, word: KindWord) -> None:
        """Take in a part that the board file describes, or what it now says of it."""
        self._described[word.name] = word
        self._kinds[word.name.casefold()] = word.name

    def word_of(self, part: Part) -> KindWord | None:
        """The grammar of a part's kind; of a described part, its own."""
        return self.kind(part.type if part.description is not None else part.kind)

    def kind(self, name: str) -> KindWord | None:
        """The kind of that name."""
        found = self._kinds.get(name.casefold())
        return self.kinds[found] if found is not None else None

    def type(self, name: str) -> TypeWord | None:
        """The type number, with a kind that the vocabulary has."""
        listed = self._types.get(name.casefold())
        found = self.types[listed] if listed is not None else None
        return found if found is not None and found.kind in self.kinds else None

    def family(self, name: str) -> str | None:
        """The logic family, spelt as the vocabulary spells it."""
        return self._families.get(name.casefold())

    def implied(self, designator: str) -> KindWord | None:
        """The kind that the designator's letters imply."""
        letters = _LETTERS.match(designator)
        name = self._letters.get(letters.group().casefold()) if letters else None
        return self.kind(name) if name else None

    def names(self) -> list[str]:
        """All kinds and type numbers."""
        return [*self.kinds, *self.types]


class _Kinds(Mapping[str, KindWord]):
    """The vocabulary's kinds, each asked for when it is needed, ``unknown``, and those that the
    board file describes."""

    def __init__(self, words: Mapping[str, KindWord], described: Mapping[str, KindWord]) -> None:
        self._words, self._described = words, described

    def __getitem__(self, name: str) -> KindWord:
        if name in self._described:
            return self._described[name]
        return UNKNOWN if name == UNKNOWN.name else self._words[name]

    def __iter__(self) -> Iterator[str]:
        yield UNKNOWN.name
        yield from self._described
        yield from (name for name in self._words if name != UNKNOWN.name)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __contains__(self, name: object) -> bool:
        return name == UNKNOWN.name or name in self._described or name in self._words


def _folded(table: Mapping[str, V]) -> dict[str, V]:
    return {name.casefold(): entry for name, entry in table.items()}
