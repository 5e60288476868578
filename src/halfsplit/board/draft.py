"""A board while it is being read: what the lines said so far, before they are held together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from halfsplit.board.brackets import BracketError, expand
from halfsplit.board.lexer import Statement
from halfsplit.board.model import (
    GROUND,
    Board,
    Description,
    OffSheet,
    Output,
    Part,
    Rail,
    Spot,
    State,
)
from halfsplit.board.names import Lexicon, described_word
from halfsplit.board.problems import Problems

__all__ = ["Draft"]


@dataclass(slots=True, kw_only=True)
class Draft:
    """Filled line by line; :meth:`board` gives what came of it."""

    lexicon: Lexicon
    problems: Problems
    title: str = ""
    revision: str = ""
    ground: str = GROUND
    ground_spot: Spot | None = None
    board_spot: Spot | None = None
    rails: dict[str, Rail] = field(default_factory=dict)
    descriptions: dict[str, Description] = field(default_factory=dict)
    undescribed: set[str] = field(default_factory=set)
    """Names of the descriptions that could not be used."""
    parts: dict[str, Part] = field(default_factory=dict)
    left_open: dict[str, frozenset[str]] = field(default_factory=dict)
    """Designator -> pins typed as ``-``."""
    states: dict[str, State] = field(default_factory=dict)
    offsheet: list[OffSheet] = field(default_factory=list)
    outputs: dict[str, Output] = field(default_factory=dict)
    testpoints: dict[str, str] = field(default_factory=dict)
    testpoint_spots: dict[str, Spot] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    doubtful: set[str] = field(default_factory=set)
    """Every word of the lines left out: a name only they mention is not reported again."""

    def describe(self, description: Description) -> None:
        """Take in a description, or what a further line adds to it."""
        self.descriptions[description.name] = description
        self.lexicon.describe(described_word(description))

    def doubt(self, statement: Statement) -> None:
        """Remember the words of a line that is left out."""
        for token in statement.tokens:
            for word in (token.word, token.value):
                if word is None:
                    continue
                try:
                    self.doubtful.update(expand(word.text))
                except BracketError:
                    self.doubtful.add(word.text)

    def nets_of_parts(self) -> dict[str, None]:
        """All nets that a pin is on, and the far sides of connectors in use."""
        return {net: None for part in self.parts.values() for net in part.pins.values()}

    def nets(self) -> dict[str, None]:
        """All nets, rails and ground included."""
        return {**self.nets_of_parts(), **dict.fromkeys(self.rails), self.ground: None}

    def known(self, name: str, names: Iterable[str]) -> bool:
        """Whether ``name`` is among ``names``, or might have been but for another error."""
        return name in names or name in self.doubtful

    def board(self, text: str) -> Board:
        """The board, with the text it came from."""
        return Board(
            title=self.title,
            revision=self.revision,
            ground=self.ground,
            rails=tuple(self.rails.values()),
            descriptions=tuple(self.descriptions.values()),
            parts=tuple(self.parts.values()),
            states=tuple(self.states.values()),
            offsheet=tuple(self.offsheet),
            outputs=tuple(self.outputs.values()),
            testpoints=dict(self.testpoints),
            notes=tuple(self.notes),
            text=text,
        )
