"""The first power-up, and every next: a plan for one board on one supply, cautions first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict

from halfsplit.board.model import Board, Rail
from halfsplit.build.compiled import Compiled
from halfsplit.checks._cautions import setup_cautions
from halfsplit.frozen import dataclass
from halfsplit.replacement.charging import Charging, charging
from halfsplit.replacement.rails import RailCurrent, plugs, rail_currents
from halfsplit.units import format_quantity, format_span

__all__ = ["PowerUp", "Reservoir", "Supply", "power_up"]

_LEAST_JOULES = 1e-3
"""A charge below that harms neither a hand nor a meter (judgement)."""
_KINDS = frozenset({"electrolytic", "tantalum", "capacitor", "film-capacitor"})
_SAFE_VOLTS = 1.0
"""Volt left that counts as empty."""
_BLEED_WATTS = 2.0
"""Rated watts of the bleeder proposed; it takes half of that at most (a choice of ours)."""
_E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
_LIMIT = 1.5
"""Current limit over the current expected (a choice of ours): chips' own draw is known to half."""
_LEAST_LIMIT = 0.02
_AT_ONCE = 0.05
"""Seconds of charging that nobody sees on a supply's needle (judgement)."""
_VAGUE = 10.0
"""A wider span of ohms is told by its lower end alone."""
_SHORT_SHARE = 0.3
"""Ohms below this share of the least expected count as a short."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """One supply: ``ohms`` (least, most) of a good board to ground with the plugs out, red probe
    at the supply, inf for open and not-a-number for unresolved; ``unplugged`` and ``amps`` expected
    in the state ``first`` and the most of all states; ``limit`` to set before the first, ``then``
    before the load is plugged in. Its empty ``reservoirs`` take ``surge`` ampere at the first
    moment and ``melting`` ampere squared seconds from the board's own supply; at ``limit`` they are
    full after ``charges`` seconds."""

    net: str
    volts: float
    low: float
    high: float
    ohms: tuple[float, float]
    unplugged: float
    amps: float
    first: str
    at: str
    limit: float
    then: float
    surge: float
    melting: float
    charges: float
    reservoirs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reservoir:
    """A capacitor that keeps a charge: emptied from ``volts`` to a volt through ``bleed`` ohm in
    ``seconds``; ``watts`` at the first moment."""

    designator: str
    net: str
    farads: float
    volts: float
    bleed: float
    watts: float
    rated: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerUp:
    """The plan; ``steps`` in order, ``watch`` and ``stop`` while the power is on."""

    cautions: tuple[str, ...]
    supplies: tuple[Supply, ...]
    reservoirs: tuple[Reservoir, ...]
    steps: tuple[str, ...]
    watch: tuple[str, ...]
    stop: tuple[str, ...]

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON, SI units; ``None`` for unresolved, ``"open"`` for OL."""
        data = asdict(self)
        for supply in data["supplies"]:
            for name in ("unplugged", "amps", "limit", "then", "charges"):
                supply[name] = _plain(supply[name])
            supply["ohms"] = [_plain(each) for each in supply["ohms"]]
        return data


def power_up(world: Compiled) -> PowerUp:
    """The plan for a compiled board."""
    board = world.board
    supplies = tuple(_supplies(world))
    reservoirs = tuple(_reservoirs(world))
    return PowerUp(
        cautions=(
            *setup_cautions("powered", world),
            "Local codes and licensed practice come before this plan. Glasses on: a capacitor the "
            "wrong way round, or a failing tantalum, throws its lid.",
            "Fingers, sleeves and hair away from motors, spindles and belts: they start unasked.",
        ),
        supplies=supplies,
        reservoirs=reservoirs,
        steps=tuple(_steps(board, supplies, reservoirs)),
        watch=tuple(_watch(board, supplies)),
        stop=tuple(_stop(supplies)),
    )


def _supplies(world: Compiled) -> Iterator[Supply]:
    board = world.board
    currents = rail_currents(world)
    pairs = [(f"net {rail.net}", f"net {board.ground}") for rail in board.rails]
    ohms = world.ohms(pairs) if pairs else None
    for at, rail in enumerate(board.rails):
        own = [one for one in currents if one.net == rail.net]
        middle = float(ohms.mean[0, at]) if ohms is not None else math.nan
        factor = math.exp(2.0 * float(ohms.spread[0, at])) if ohms is not None else math.nan
        yield _supply(rail, own, (middle / factor, middle * factor), charging(board, rail))


def _supply(
    rail: Rail,
    own: Sequence[RailCurrent],
    ohms: tuple[float, float],
    empty: Charging | None,
) -> Supply:
    known = [one for one in own if one.amps == one.amps]
    most = max(known, key=lambda one: one.amps, default=None)
    first = own[0] if own else None
    bare = first.unplugged if first else math.nan
    amps = most.amps if most else math.nan
    width = abs(rail.volts) * rail.tolerance
    return Supply(
        net=rail.net, volts=rail.volts, low=rail.volts - width, high=rail.volts + width,
        ohms=ohms, unplugged=bare, amps=amps, first=first.state if first else "",
        at=most.state if most else "", limit=_limit(bare), then=_limit(amps),
        surge=empty.peak if empty else 0.0, melting=empty.melting if empty else 0.0,
        charges=empty.seconds(_limit(bare), bare) if empty else 0.0,
        reservoirs=empty.parts if empty else (),
    )  # fmt: skip


def _limit(amps: float) -> float:
    """The next round value above so many times the current expected."""
    if amps != amps:
        return math.nan
    wanted = max(_LIMIT * amps, _LEAST_LIMIT)
    decade = 10.0 ** math.floor(math.log10(wanted))
    steps = [each * decade for each in (*_E6, 10.0)]
    return float(f"{next(each for each in steps if each >= wanted * 0.999):.3g}")


def _reservoirs(world: Compiled) -> Iterator[Reservoir]:
    board = world.board
    states = [state for state in board.states if state.powered]
    most: dict[str, float] = {}
    for state in states:
        v, _ = world.good(state)
        for net, node in world.assembly.net_node.items():
            if node >= 0 and v[node, 0] == v[node, 0]:
                most[net] = max(most.get(net, 0.0), abs(float(v[node, 0])))
    for part in board.parts:
        if part.kind not in _KINDS or part.value is None:
            continue
        nets = [part.pins.get("1", board.ground), part.pins.get("2", board.ground)]
        volts = max(most.get(net, 0.0) for net in nets) * _above(board)
        if volts <= _SAFE_VOLTS or 0.5 * part.value * volts**2 < _LEAST_JOULES:
            continue
        net = next((each for each in nets if each != board.ground), board.ground)
        bleed = _bleeder(volts)
        yield Reservoir(
            designator=part.designator, net=net, farads=part.value, volts=volts, bleed=bleed,
            watts=volts**2 / bleed, rated=_BLEED_WATTS,
            seconds=bleed * part.value * math.log(volts / _SAFE_VOLTS),
        )  # fmt: skip


def _above(board: Board) -> float:
    """How far the supplies may stand above what is typed."""
    return 1.0 + max((rail.tolerance for rail in board.rails), default=0.0)


def _bleeder(volts: float) -> float:
    """The least round resistance that takes half its rated watts at most, 100 ohm and more."""
    wanted = max(volts**2 / (0.5 * _BLEED_WATTS), 100.0)
    decade = 10.0 ** math.floor(math.log10(wanted))
    return float(f"{next(e * decade for e in (*_E6, 10.0) if e * decade >= wanted):.3g}")


def _steps(
    board: Board, supplies: Sequence[Supply], reservoirs: Sequence[Reservoir]
) -> Iterator[str]:
    yield (
        "Look: burnt, swollen, wet or cracked parts, loose screws, foreign wire, chips the wrong "
        "way round, the fuse's value against the board's."
    )
    for one in reservoirs:
        yield (
            f"Empty {one.designator} ({format_quantity(one.farads, 'F')}, up to "
            f"{one.volts:.0f} V) through {format_quantity(one.bleed, 'Ω')}, "
            f"{one.rated:g} W, held {max(one.seconds, 1.0):.0f} s and longer; then read that it is "
            "below 1 V. Never with a screwdriver."
        )
    for supply in supplies:
        yield (
            f"Ohms from {supply.net} (red) to {board.ground}, supply unplugged, all else in place: "
            f"{_ohms_words(supply.ohms)} on a good board."
        )
    out = plugs(board)
    if out:
        yield f"Unplug what hangs on {', '.join(out)}: the load stays off at first."
    for part in board.parts:
        if part.remarks.irreplaceable and part.remarks.socketed:
            yield (
                f"Take {part.designator} out of its socket: it cannot be had again, and goes back "
                "when the supplies have been read at its empty socket."
            )
    for supply in supplies:
        yield (
            f"{supply.net}: {supply.volts:g} V, current limit "
            f"{_amps_words(supply.limit)} (expected without the load, all chips in: "
            f"{_amps_words(supply.unplugged)}, in {supply.first})."
        )
    yield "Power on, one hand on the switch; ten seconds; off; touch nothing, smell, look again."
    for supply in supplies:
        yield (
            f"Power on and read {supply.net} on the board, not at the supply: {supply.low:.3g} to "
            f"{supply.high:.3g} V."
        )
    if out:
        limits = ", ".join(f"{one.net} {_amps_words(one.then)}" for one in supplies)
        yield (
            f"Off, empty the capacitors, plug {', '.join(out)} in, raise the limits ({limits}), "
            "and on again."
        )
    yield "After each repair begin at the top: a second fault, or the work itself, may be waiting."


def _watch(board: Board, supplies: Sequence[Supply]) -> Iterator[str]:
    for one in supplies:
        yield f"{one.net}: {_amps_words(one.amps)} at most on a good board (in {one.at}), at rest."
    hot = [part.designator for part in board.parts if part.kind in ("tantalum", "electrolytic")]
    if hot:
        yield f"{', '.join(hot)}: warm within a minute means leaking, take the power off."
    for one in supplies:
        if one.charges > _AT_ONCE:
            yield (
                f"{one.net}: charging {', '.join(one.reservoirs)} takes {one.charges:.2g} s at "
                f"{_amps_words(one.limit)}; from the board's own supply up to "
                f"{_amps_words(one.surge)} at the first moment, {one.melting:.2g} A²s for its fuse."
            )
    yield "What a motor asks as it starts is not in these figures: unresolved."


def _stop(supplies: Sequence[Supply]) -> Iterator[str]:
    for one in supplies:
        if math.isfinite(one.ohms[0]):
            short = format_quantity(_SHORT_SHARE * one.ohms[0], "Ω", 2)
            yield f"Before power: {one.net} reads under {short} to ground."
    longest = max((one.charges for one in supplies), default=0.0)
    yield (
        "The supply goes into its limit and stays there for more than "
        f"{max(1.0, 2.0 * longest):.2g} s."
    )
    yield "Smoke, smell, hiss, a part whose heat is felt beside it, a motor that buzzes and stays."
    for one in supplies:
        yield f"{one.net} below {one.low:.3g} V or above {one.high:.3g} V."


def _ohms_words(ohms: tuple[float, float]) -> str:
    if ohms[0] != ohms[0]:
        return "unresolved"
    if math.isinf(ohms[0]):
        return "open (OL)"
    if ohms[1] > _VAGUE * ohms[0]:
        return f"above {format_quantity(ohms[0], 'Ω', 2)}"
    return format_span(*ohms, "Ω")


def _amps_words(amps: float) -> str:
    return "unresolved" if amps != amps else format_quantity(amps, "A", 3)


def _plain(value: float) -> float | str | None:
    if value != value:
        return None
    return "open" if math.isinf(value) else value
