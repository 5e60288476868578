"""A pin lifted from its net: was it the pin that held the net, or something else on it?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.fault import Fault, PinRef
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._places import is_chip, leg, part_named, where
from halfsplit.checks._vague import with_else
from halfsplit.checks._words import read_word, said_column
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import PlaceError
from halfsplit.solve.law import Array

__all__ = ["KIND", "Lifted"]

PIN, OTHERS = 0.95, 0.05
"""Chance that the board side is let go when the fault is behind the pin, and when another part
or a bridge holds the net."""
UNLINKED = 0.12
"""The same where the pin did not reach the board in the first place; what reaches it poorly holds
the net all the same."""
USUAL = 0.8
"""The same for any other fault: an output pin is what holds its net. All judgement, no source."""
HOLDS = ("short", "stuck", "leak", "bridged", "low value", "drifted low", "gain")


class Lifted(Kind):
    """Offered at outputs of chips whose net goes somewhere else too."""

    name = "lifted"
    title = "pin lifted: who holds the net?"
    help = (
        "Lift the output's pin (or bend it out beside the socket), power on in the state in which "
        "the net was wrong, and read the board's side. If it is let go, the chip, or what tells "
        "it, was at fault; if it stays held, another part or a bridge on the net pulls it."
    )
    takes = "place"
    words = {  # noqa: RUF012 - declared in Kind
        "let go": "the board's side floats or goes where its pull-up or load takes it",
        "still held": "the board's side reads as wrong as before",
    }
    synonyms = {  # noqa: RUF012 - fixed
        **dict.fromkeys(
            ("let go", "floats", "free", "freed", "changes", "changed", "released", "floating",
             "goes high", "rises"),
            "let go",
        ),
        **dict.fromkeys(
            ("still held", "held", "no change", "same", "the same", "stays", "stays low",
             "still low", "still stuck", "unchanged"),
            "still held",
        ),
    }  # fmt: skip
    usual_setup = "pin lifted"
    usual_minutes = 1.5

    def offers(self, world: World) -> Sequence[Check]:
        chips = {part.designator: part for part in world.board.parts if is_chip(part)}
        nets = world.board.nets()
        pins = dict.fromkeys(
            pin for fault in world.faults if (pin := _output(fault, world)) is not None
        )
        return [
            Check(kind=self.name, places=(leg(pin.designator, pin.pin),))
            for pin in pins
            if pin.designator in chips
            and leg(pin.designator, pin.pin) in world.places
            and len(nets.get(chips[pin.designator].pins.get(pin.pin, ""), ())) > 1
        ]

    def risk(self, check: Check, world: World) -> float:
        part = part_named(world, check.places[0].split(".")[0])
        return 6.0 if part is not None and part.remarks.irreplaceable else 1.0

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return (
            "Power off and unplugged while you lift and lay the pin; solder and iron are hot.",
            *super().cautions(check, world),
            "A pin bends once or twice, then it breaks.",
        )

    def sentence(self, check: Check, world: World) -> str:
        return (
            f"Lift {where(check.places[0], world)} off its pad; power on in the state where the "
            "net was wrong, and read the pad: let go or still held?"
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        return read_word(text, self.synonyms, what=f"{check.places[0]} lifted")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        labels = tuple(self.words)
        return [Outcomes(labels=labels, p=self._rows(check, world, meter)) for check in checks]

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        p = with_else(self._rows(check, world, meter), np.full(2, 0.5))
        return said_column(p, reading, self.words)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return "let go"

    def _rows(self, check: Check, world: World, meter: Meter) -> Array:
        """[F, 2]."""
        place = world.place(check.places[0])
        if place.pin is None:
            raise PlaceError(f"expected the leg of a pin to lift, such as U3.6, got {place.name!r}")
        on = {part.designator for part in world.board.parts if place.net in part.pins.values()} - {
            place.pin.designator
        }
        free = np.array([_let_go(fault, place.pin, place.net, on, world) for fault in world.faults])
        free = (1.0 - meter.misread) * free + 0.5 * meter.misread
        return np.stack([free, 1.0 - free], axis=-1)


def _let_go(fault: Fault, pin: PinRef, net: str, on: set[str], world: World) -> float:
    """Chance that the board's side is let go; ``on`` are the other parts on the net."""
    if fault.where in ("joint", "contact", "track") and pin in fault.pins:
        return USUAL if "resistive" in fault.mode else UNLINKED
    if fault.where == "bridge":
        touched = (part_named(world, each.designator) for each in fault.pins)
        pairs = zip(touched, fault.pins, strict=True)
        bridged = any(part and part.pins.get(each.pin) == net for part, each in pairs)
        return 1.5 * OTHERS if bridged else USUAL
    if fault.where == "part" and fault.designator == pin.designator:
        return PIN
    if fault.where == "part" and fault.designator in on:
        holds = any(word in fault.mode for word in HOLDS)
        return OTHERS if holds and _concerns(fault, net, world) else USUAL
    return USUAL


def _concerns(fault: Fault, net: str, world: World) -> bool:
    """Whether a fault of a part on the net, as far as it names a pin, is at the net's own pin."""
    part = part_named(world, fault.designator)
    named = [part.pins.get(pin.pin) for pin in fault.pins] if part else []
    return not named or net in named


def _output(fault: Fault, world: World) -> PinRef | None:
    """The output pin that a stuck mode is about."""
    if fault.where != "part" or "stuck" not in fault.mode:
        return None
    if fault.pins:
        return fault.pins[0]
    return PinRef(designator=fault.designator, pin=fault.mode.split()[0])


KIND = Lifted()
