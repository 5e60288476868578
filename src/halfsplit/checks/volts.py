"""DC volts to ground at a place, in a state."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.build.world import World
from halfsplit.checks._answers import read_number
from halfsplit.checks._base import Kind
from halfsplit.checks._cautions import slip
from halfsplit.checks._expected import expected_span
from halfsplit.checks._gather import gather
from halfsplit.checks._grid import volts_grid
from halfsplit.checks._loosely import sure
from halfsplit.checks._numeric import Predicted, likelihood, outcome_tables, predicted
from halfsplit.checks._places import leg, legs_by_net, powered_states, where
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import ReadingError
from halfsplit.solve.law import Array

__all__ = ["KIND", "Volts"]

_AT_RAIL = ("rail", "the rail", "at the rail", "near the rail", "full rail", "at the supply")
_HALF_RAIL = ("half rail", "half the rail", "half the supply", "half way", "mid-rail", "midway")
SMALL = 4
"""Most pins of a small part."""


class Volts(Kind):
    """Offered at every leg and test point of a signal net, and on rails and ground at the chips'
    own supply pins and at small parts that carry a signal too, and where the rail comes in; one
    place of each net first. Pads are understood when asked for."""

    name = "volts"
    title = "DC volts to ground"
    help = (
        "What is expected comes from everything on the net, so an open-collector output at 0.7 V "
        "on a transistor's base can be right. Two legs of one net differ only by a bad joint or "
        "a broken track. A rail is read at the chip's own pin, under the board's load."
    )
    takes = "place"
    unit = "V"
    stateful = True
    usual_setup = "powered"
    usual_minutes = 0.7

    def offers(self, world: World) -> Sequence[Check]:
        first, others = [], []
        supplies = _supply_legs(world) | _far_legs(world)
        entries = {rail.net for rail in world.board.rails}
        for net, legs in legs_by_net(world).items():
            on_rail = net in world.supply_pin_nets or net == world.board.ground
            kept = [name for name in legs if name in supplies] if on_rail else legs
            first += kept[:1]
            others += kept[1:]
            if net in entries:
                others.append(f"net {net}")
        states = powered_states(world)
        return [
            Check(kind=self.name, places=(name,), state=state)
            for names in (first, others)
            for state in states
            for name in names
        ]

    def risk(self, check: Check, world: World) -> float:
        return slip(check, world) if self.setup(check, world) == "powered" else 0.0

    def sentence(self, check: Check, world: World) -> str:
        place = world.place(check.places[0])
        spot = where(place.name, world)
        if place.kind == "net" and any(rail.net == place.net for rail in world.board.rails):
            spot = f"the point where {place.net} comes in, on the supply's side of every joint"
        return (
            f"Measure DC volts at {spot}, black probe on ground, with "
            f"the board in state {check.state}."
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        reading = self._loosely(check, text, world) or read_number(
            text, "V", over=False, what=f"volts at {check.places[0]}"
        )
        most = 10.0 * max([abs(rail.volts) for rail in world.board.rails] or [5.0]) + 50.0
        if reading.value is not None and abs(reading.value) > most:
            raise ReadingError(
                f"{reading.value:g} V at {check.places[0]} is far above every rail of this board "
                f"(up to {most:g} V is taken): was it millivolts? Type 680m for 680 mV"
            )
        return reading

    def _loosely(self, check: Check, text: str, world: World) -> Reading | None:
        """Words that stand for levels of the place's family, or for the only rail."""
        said = sure(" ".join(text.split()).strip(" .!;").casefold())[0]
        low, high = world.thresholds(world.place(check.places[0]).net)
        rails = {rail.volts for rail in world.board.rails}
        rail = rails.pop() if len(rails) == 1 else None
        spans: dict[str, tuple[float | None, float | None]] = {
            "low": (None, low), "low-ish": (None, high), "lowish": (None, high),
            "high": (high, None), "high-ish": (low, None), "highish": (low, None),
        }  # fmt: skip
        if rail is not None:
            near = sorted((0.9 * rail, 1.1 * rail))
            half = sorted((0.4 * rail, 0.6 * rail))
            spans |= dict.fromkeys(_AT_RAIL, (near[0], near[1]))
            spans |= dict.fromkeys(_HALF_RAIL, (half[0], half[1]))
        if said not in spans:
            return None
        return Reading(text=text, low=spans[said][0], high=spans[said][1])

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        if not checks:
            return []
        what = self._predict(checks, world, meter)
        return outcome_tables(volts_grid(world), what, meter.misread)

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        what = self._predict([check], world, meter)
        return likelihood(volts_grid(world), what, reading, meter.misread)

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        numbers = gather([check], world)
        return expected_span(self._predict([check], world, meter), numbers, volts_grid(world))

    def _predict(self, checks: Sequence[Check], world: World, meter: Meter) -> Predicted:
        numbers = gather(checks, world)
        return predicted(numbers.widened(meter.volts_error), volts_grid(world))


def _far_legs(world: World) -> frozenset[str]:
    """Rail and ground legs of small parts that also carry a signal: an open joint there shows at
    the leg itself, and nowhere else so plainly."""
    rails = world.supply_pin_nets | {world.board.ground}
    return frozenset(
        leg(part.designator, pin)
        for part in world.board.parts
        if len(part.pins) <= SMALL and set(part.pins.values()) - rails
        for pin, net in part.pins.items()
        if net in rails
    )


def _supply_legs(world: World) -> set[str]:
    """The chips' own supply pins, and all test points."""
    legs = {f"{part.designator}.{pin}" for part in world.board.parts for pin in part.implied}
    return legs | set(world.board.testpoints)


KIND = Volts()
