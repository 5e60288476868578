"""A board turned round: each net with its pins and their roles, for the questions of lint."""

from __future__ import annotations

from halfsplit.board.model import Board, Part
from halfsplit.board.names import Lexicon
from halfsplit.board.vocabulary import KindWord, Vocabulary
from halfsplit.frozen import dataclass

__all__ = ["Netlist", "Pin"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A connected pin; prints as ``U3.14``."""

    part: Part
    name: str
    role: str

    def __str__(self) -> str:
        return f"{self.part.designator}.{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Netlist:
    """``nets`` maps each net to its pins; rails and off-sheet nets without pins are there too."""

    board: Board
    lexicon: Lexicon
    nets: dict[str, tuple[Pin, ...]]
    rails: frozenset[str]

    @classmethod
    def of(cls, board: Board, vocabulary: Vocabulary) -> Netlist:
        """The nets of a board."""
        lexicon = Lexicon(vocabulary, board.descriptions)
        nets: dict[str, list[Pin]] = {}
        for part in board.parts:
            kind = lexicon.word_of(part)
            roles = {pin.name: pin.role for pin in kind.pins} if kind is not None else {}
            for name, net in part.pins.items():
                role = part.roles.get(name) or roles.get(name, "passive")
                nets.setdefault(net, []).append(Pin(part=part, name=name, role=role))
        for rail in board.rails:
            nets.setdefault(rail.net, [])
        for leaving in board.offsheet:
            nets.setdefault(leaving.net, [])
        return cls(
            board=board,
            lexicon=lexicon,
            nets={net: tuple(pins) for net, pins in nets.items()},
            rails=frozenset(rail.net for rail in board.rails),
        )

    def kind(self, part: Part) -> KindWord | None:
        """The grammar of a part's kind."""
        return self.lexicon.word_of(part)

    def implied(self, letters: str) -> KindWord | None:
        """The kind that designator letters imply."""
        return self.lexicon.implied(letters) if letters else None

    def has_far_pin(self, net: str) -> bool:
        """Whether ``net`` is the cable side of a connector's pin (``J2/5``)."""
        designator, slash, pin = net.partition("/")
        part = self.board.part(designator) if slash else None
        return part is not None and pin in part.pins

    def is_fed(self, net: str) -> bool:
        """Whether something other than pins holds the net: a rail, ground, what is off-sheet."""
        if net in self.rails or net == self.board.ground or self.has_far_pin(net):
            return True
        return any(
            leaving.net == net and (leaving.what != "load" or leaving.ohms is not None)
            for leaving in self.board.offsheet
        )
