"""Cables: ribbon, harness, flying leads. The near side is the board's, the far side the load's."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, changed, failing
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.connector import FAR, Connector
from halfsplit.parts.kind import Mode, Rate
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KIND", "Cable"]

_ROW = "Cable"
_WIRE = 20.0
"""A metre or two of thin wire with its two crimps, S."""
_FRAYED = 0.02
"""A wire that hangs by a strand, S: assumed."""
_CROSSED = 0.1
"""Part of the shorts that are two wires crossed (a cable mended or made wrongly): assumed."""
_CRIMPS = 20.0
"""Wires of the cable that the rate stands for, assumed."""


@dataclass(frozen=True, kw_only=True)
class Cable(Connector):
    """Wire ``n`` from ``n`` to ``n'``; neighbours can touch, or change places at one end."""

    def elements(self, part: Part) -> Sequence[Element]:
        crossings = [
            Element(name=f"cross {first}-{second}", law=Conductance(),
                    terminals=(first, second + FAR), params={"g": 0.0})
            for pair in self.neighbours(part) if self._whole(part, pair)
            for first, second in (pair, pair[::-1])
        ]  # fmt: skip
        wires = [
            Element(name=f"contact {pin}", law=Conductance(), terminals=(pin, pin + FAR),
                    params={"g": _WIRE})
            for pin in self.contacts(part)
        ]  # fmt: skip
        return (*wires, *self.bridges(part), *crossings)

    def modes(self, part: Part) -> Sequence[Mode]:
        wires, pairs = self.contacts(part), self.neighbours(part)
        found: list[Mode] = []
        for pin in wires:
            of = 1.0 / len(wires)
            found += [
                failing(f"{pin} broken", f"broken in its wire {pin}",
                        changed(f"contact {pin}", g=OPEN), row=(_ROW, "open"), of=of, pin=pin,
                        test_out=0.9),
                failing(f"{pin} contact resistive", f"frayed in its wire {pin}",
                        changed(f"contact {pin}", g=_FRAYED), row=(_ROW, "excessive wear"), of=of,
                        pin=pin, test_out=0.6),
            ]  # fmt: skip
        for pair in pairs:
            first, second = pair
            of = 1.0 / len(pairs)
            found.append(
                failing(f"{first}-{second} shorted", f"shorted from wire {first} to {second}",
                        changed(f"bridge {first}-{second}", g=SHORT), row=(_ROW, "short"),
                        of=(1.0 - _CROSSED) * of, pin=first)
            )  # fmt: skip
            if self._whole(part, pair):
                found.append(
                    failing(f"{first}-{second} crossed", f"crossed in its wires {first} and "
                            f"{second}",
                            (*changed(f"contact {first}", g=OPEN),
                             *changed(f"contact {second}", g=OPEN),
                             *changed(f"cross {first}-{second}", g=_WIRE),
                             *changed(f"cross {second}-{first}", g=_WIRE)),
                            row=(_ROW, "short"), of=_CROSSED * of, pin=first, test_out=1.0)
                )  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        wires = max(1, len(self.contacts(part)))
        return part_count_rate("Connector PCB edge", max(0.1, wires / _CRIMPS))

    def _whole(self, part: Part, pair: tuple[str, str]) -> bool:
        """Whether both wires have both ends."""
        return all(pin in self.contacts(part) for pin in pair)


KIND = Cable(
    word=KindWord(
        name="cable", title="Cable, ribbon or harness", free_pins=True, settings=("out",),
        help="Each wire by its number: the net on the near side. Its far side is the net W1/n for "
        "wire n of W1. A state may set it to out.",
        example="W1 cable 1=PHA 2=PHB 3=+24",
    ),
)  # fmt: skip
