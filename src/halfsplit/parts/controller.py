"""Controller: a black box with pins whose levels the states give."""

from __future__ import annotations

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind, refuse
from halfsplit.parts._black_box import BlackBox, Boxed
from halfsplit.parts._families import FAMILIES, family

__all__ = ["KIND", "Controller"]


@dataclass(frozen=True, kw_only=True)
class Controller(Boxed, BaseKind):
    """Pins and roles come from the file. Outputs are let go until a state drives them."""

    def family(self, part: Part) -> str:
        """The family named. Raises :class:`BoardError`."""
        name = self.text(part, "family")
        if name not in FAMILIES:
            raise refuse(part, str(UnknownName("logic family", name, FAMILIES)))
        return name

    def box(self, part: Part) -> BlackBox:
        name = self.family(part)
        return BlackBox(
            pins=tuple((pin, part.roles[pin]) for pin in part.pins if pin in part.roles),
            family=name,
            supply=self._supply(part),
            ground=self._one(part, "ground") or "0",
            amps=max(family(name).icc, 1e-6),
        )

    def _supply(self, part: Part) -> str:
        found = self._one(part, "supply")
        if not found:
            raise refuse(
                part, "expected a pin with the role supply, got none; type e.g. supply 40=+5"
            )
        return found

    def _one(self, part: Part, role: str) -> str:
        return next((pin for pin in part.pins if part.roles.get(pin) == role), "")


KIND = Controller(
    word=KindWord(
        name="controller",
        title="Controller (black box)",
        free_pins=True,
        fields=(
            FieldWord(name="family", default="nmos", help="strength of its pins: "
                      + ", ".join(sorted(FAMILIES))),
        ),
        help="A programmed chip known only by its pins: states say what its outputs do. Roles (in, "
        "out, oc, tri, io, supply, ground) stand before the pins they go for. A programmed chip "
        "of the same number is not the same part: it holds a program.",
        example="U1 controller family=nmos supply 40=+5 ground 20=GND in 1=T0 out 21=P20 22=P21",
    ),
)  # fmt: skip
