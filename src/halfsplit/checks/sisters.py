"""The same place on all like channels compared, in one state: the odd one out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.build.channels import channels
from halfsplit.build.world import World
from halfsplit.checks._base import Kind
from halfsplit.checks._cautions import slip
from halfsplit.checks._normal import quick_cdf
from halfsplit.checks._places import legs_by_net, powered_states
from halfsplit.checks._vague import with_else
from halfsplit.checks._words import read_word
from halfsplit.checks.kind import Check, Meter, Outcomes, Reading
from halfsplit.errors import PlaceError, UnknownName
from halfsplit.solve.law import Array

__all__ = ["ALIKE", "APART", "KIND", "ORDINALS", "SEVERAL", "SHARE", "Sisters", "sister_places"]

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
ALIKE, SEVERAL = "alike", "several"
APART, SHARE = 0.25, 0.08
"""Volts and share of the reading by which sisters may differ and still be called alike: parts'
tolerances and the two readings (common practice, no source)."""
FLOOR = 0.04
"""Spread evenly: a slip in one of several readings."""
BEHIND = 0.6
"""Where nothing could be predicted: chance that a fault in a channel shows at its net."""


class Sisters(Kind):
    """Offered once for every net that all like channels have, in the states in which a good board
    has them all alike."""

    name = "sisters"
    title = "like channels compared"
    help = (
        "Read the same place on every channel in one state in which all should do the same: the "
        "odd one out has the fault. What it should read need not be known, so it holds where the "
        "board file is incomplete and the model is off: what is off is off on all of them."
    )
    takes = "place"
    stateful = True
    words = {  # noqa: RUF012 - declared in Kind
        ALIKE: "all channels read the same",
        **{word: f"the {word} one listed is the odd one out" for word in ORDINALS},
        SEVERAL: "more than one differs from the rest",
    }
    usual_setup = "powered"
    usual_minutes = 0.5

    def offers(self, world: World) -> Sequence[Check]:
        found = []
        for nets in _classes(world):
            places = _places(nets, world)
            for state in powered_states(world):
                if places and self._alike(places, state, world):
                    found.append(Check(kind=self.name, places=places[:1], state=state))
        return found

    def minutes(self, check: Check, world: World) -> float:
        return self.usual_minutes * len(sister_places(check, world))

    def risk(self, check: Check, world: World) -> float:
        return sum(
            slip(Check(kind="volts", places=(place,), state=check.state), world)
            for place in sister_places(check, world)
        )

    def sentence(self, check: Check, world: World) -> str:
        *first, last = sister_places(check, world)
        return (
            f"With the board in state {check.state}, measure DC volts at {', '.join(first)} and "
            f"{last}: alike, or which is the odd one out?"
        )

    def read(self, check: Check, text: str, world: World) -> Reading:
        places = sister_places(check, world)
        known = {
            **dict.fromkeys((ALIKE, "all alike", "same", "all the same", "equal", "none"), ALIKE),
            **dict.fromkeys((SEVERAL, "two", "more than one", "two pairs"), SEVERAL),
        }
        for word, place in zip(ORDINALS, places, strict=False):
            net = world.place(place).net
            part = place.split(".")[0]
            for said in (word, place, net, f"net {net}", part):
                known[said.casefold()] = word
        return read_word(text, known, what=f"the comparison of {', '.join(places)}")

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        found = []
        for check in checks:
            places = sister_places(check, world)
            found.append(
                Outcomes(labels=_labels(places), p=_rows(places, check.state, world, meter))
            )
        return found

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        places = sister_places(check, world)
        labels = _labels(places)
        p = _rows(places, check.state, world, meter)
        p = with_else(p, np.full(len(labels), 1.0 / len(labels)))
        if reading.nothing:
            return np.ones(len(p))
        if reading.word not in labels:
            raise UnknownName("answer", reading.word, labels)
        column: Array = p[:, labels.index(reading.word)]
        return column

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        return ALIKE

    def _alike(self, places: Sequence[str], state: str, world: World) -> bool:
        mean = world.volts(state, places).mean[0]
        known = mean[np.isfinite(mean)]
        return not len(known) or float(np.ptp(known)) < APART + SHARE * float(np.abs(known).max())


def _classes(world: World) -> list[tuple[str, ...]]:
    """The sister nets: of every group of channels, net by net."""
    return [
        nets
        for group in channels(world.board)
        if 2 < len(group) <= len(ORDINALS)
        for nets in zip(*(channel.nets for channel in group), strict=True)
    ]


def _places(nets: Sequence[str], world: World) -> tuple[str, ...]:
    """A leg on each net, the like leg where there is one."""
    legs = legs_by_net(world)
    if any(net not in legs for net in nets):
        return ()
    return tuple(legs[net][0] for net in nets)


def sister_places(check: Check, world: World) -> tuple[str, ...]:
    """The places that a check compares, in the order of the channels."""
    net = world.place(check.places[0]).net
    for nets in _classes(world):
        if net in nets:
            return _places(nets, world)
    raise PlaceError(
        f"expected a place on one of several like channels of three or more, got "
        f"{check.places[0]}; `halfsplit channels` lists them"
    )


def _labels(places: Sequence[str]) -> tuple[str, ...]:
    return (ALIKE, *ORDINALS[: len(places)], SEVERAL)


def _rows(places: Sequence[str], state: str, world: World, meter: Meter) -> Array:
    """[F, O] from how far each place is predicted from the middle of its sisters."""
    numbers = world.volts(state, places)
    known = np.isfinite(numbers.mean) & ~numbers.unresolved
    mean = np.where(known, numbers.mean, np.nan_to_num(numbers.mean[:1]))
    middle = np.median(mean, axis=1, keepdims=True)
    limit = APART + SHARE * np.abs(middle)
    sigma = 0.35 * limit + meter.volts_absolute
    away = quick_cdf(((np.abs(mean - middle) - limit) / sigma).astype(np.float32))
    odd = np.clip(away.astype(np.float64), 1e-3, 1.0 - 1e-3)
    if not known[0].all():
        odd = _by_structure(places, world)
    none = np.prod(1.0 - odd, axis=1, keepdims=True)
    single = none * odd / (1.0 - odd)
    several = np.maximum(1.0 - none - single.sum(axis=1, keepdims=True), 0.0)
    p = np.hstack([none, single, several])
    mixed: Array = (1.0 - FLOOR) * p / p.sum(axis=1, keepdims=True) + FLOOR / p.shape[1]
    return mixed


def _by_structure(places: Sequence[str], world: World) -> Array:
    """[F, n] chance that a fault makes each place the odd one, by the channel it sits in."""
    nets = [world.place(place).net for place in places]
    group = next(
        group
        for group in channels(world.board)
        if any(set(nets) == set(row) for row in zip(*(one.nets for one in group), strict=True))
    )
    odd = np.full((len(world.faults), len(places)), 0.02)
    for column, net in enumerate(nets):
        channel = next(one for one in group if net in one.nets)
        for row, fault in enumerate(world.faults):
            names = {pin.designator for pin in fault.pins} | {fault.designator}
            if names & set(channel.parts):
                odd[row, column] = BEHIND
    return odd


KIND = Sisters()
