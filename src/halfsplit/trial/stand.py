"""The board on the bench: what is truly there, at any place, in any state, power on or off.

Solves on demand and remembers. Readings here carry no meter error; the meter's load is in.
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass, field

import numpy as np

from halfsplit.board.model import Board, State
from halfsplit.build.fault import Fault, PinRef
from halfsplit.errors import PlaceError, UnknownName
from halfsplit.trial.loops import looped_nets
from halfsplit.trial.netlist import Netlist, write_netlist
from halfsplit.trial.sheet import OFF
from halfsplit.trial.simulator import Simulator
from halfsplit.trial.spice_chip import Bit

__all__ = ["Bench", "Stand"]

_METER = 10e6
_PROBE = 1e6
"""A logic probe: so many ohms, to a voltage between the levels, so that an open place lights
neither lamp (common practice, no source)."""
_RANGES = (200.0, 2e3, 20e3, 200e3, 2e6, 20e6)
"""Full scale of the ohms ranges, ohm."""
_OHMS_VOLTS = 0.4
_AC_OHMS = 100.0
"""Behind which a meter of capacitance has its source."""
_LOST = 5.0
"""Loss factor above which it finds none: beside a low resistance, or leaky (judgement)."""
_PROBES = ("red", "black")
_DIODE_VOLTS, _DIODE_OHMS, _DIODE_LIMIT = 3.0, 2e3, 2.0
_EMPTY = 0.1
"""Ohm; what stands for an empty capacitor at the moment of power-on."""
_ROUNDS = 8
"""Most times that stored bits are worked through in one step (a ripple counter's stages)."""
_EITHER = (0.2, 4.0)
"""First guesses for a net of a latch."""
_TORN = (0.7, 2.2)
"""Between these a latch stands on its knife's edge, where no real one stays."""
_CURRENT = {"resistor": "1", "coil": "1", "winding": "1", "fuse": "1", "switch": "series",
            "capacitor": "leak", "film-capacitor": "leak", "electrolytic": "leak",
            "tantalum": "leak", "relay": "coil", "solenoid": "coil"}  # fmt: skip
"""Kind -> resistor that carries the part's current; ``lead`` for all others."""


@dataclass(slots=True)
class Bench:
    """Two running simulators, for power on and power off, used for one board after another.
    ``holder`` is whose circuit is loaded, by ``"on"`` and ``"off"``."""

    on: Simulator = field(default_factory=Simulator)
    off: Simulator = field(default_factory=Simulator)
    holder: dict[str, object] = field(default_factory=dict)

    def close(self) -> None:
        """End both."""
        self.on.close()
        self.off.close()


@dataclass(slots=True)
class Stand:
    """One board with a hidden fault, and ``also`` others. ``None`` as a reading: not computed."""

    board: Board
    fault: Fault
    seed: int
    bench: Bench
    also: tuple[Fault, ...] = ()
    netlist: Netlist = field(init=False)
    _spots: list[str] = field(init=False)
    _looped: tuple[str, ...] = field(init=False)
    """Nodes of latches made of gates: where they stand is the simulator's first guess."""
    _held: dict[str, float] = field(default_factory=dict)
    _knobs: dict[str, tuple[dict[str, float], dict[str, float]]] = field(default_factory=dict)
    _loaded: dict[str, dict[str, float]] = field(default_factory=dict)
    _kept: dict[tuple[str, ...], float | None] = field(default_factory=dict)
    _plain: dict[str, dict[str, float] | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.netlist = write_netlist(self.board, self.fault, self.seed, self.also)
        sheet = self.netlist.sheet
        self._spots = [*sheet.nodes().values(), *sheet.open_legs()]
        self._looped = tuple(sheet.net(net) for net in looped_nets(self.board))

    def volts(self, place: str, state: str, *, out: str = "") -> float | None:
        """DC volts to ground at a place with a 10 MΩ meter on it, a connector ``out``. Raises
        :class:`PlaceError`."""
        return self._held_at(place, state, out, _METER, 0.0)

    def probed(self, place: str, state: str, between: float) -> float | None:
        """Volts at a place with a logic probe on it that rests ``between`` the levels."""
        return self._held_at(place, state, "", _PROBE, between)

    def unloaded(self, state: str) -> dict[str, float] | None:
        """Net -> volts of every net in a state, no meter on; ``None`` when not converged."""
        if state not in self._plain:
            found = self._in_state(state, ())
            names = {node: net for net, node in self.netlist.sheet.nodes().items()}
            names |= {node: node for node in self.netlist.sheet.open_legs()}
            self._plain[state] = (
                None if found is None
                else {names[node]: volts for node, volts in found.items() if node in names}
            )  # fmt: skip
        return self._plain[state]

    def amperes(self, designator: str, state: str) -> float | None:
        """Current through a part with two ends, first pin to second."""
        part = self.board.part(designator)
        if part is None:
            raise UnknownName("part", designator, [one.designator for one in self.board.parts])
        name = self.netlist.sheet.name("r", part, _CURRENT.get(part.kind, "lead"))
        key = ("amperes", name, state)
        if key not in self._kept:
            asked = f"@{name}[i]"
            found = self._in_state(state, (asked,))
            self._kept[key] = None if found is None else found.get(asked)
        return self._kept[key]

    def ohms(self, red: str, black: str) -> float | None:
        """What an ohmmeter of 0.4 V shows between two places, power off; inf for OL."""
        key = ("ohms", self.node(red), self.node(black))
        if key[1] == key[2]:
            return 0.0
        if key not in self._kept:
            self._kept[key] = self._by_range(key[1], key[2])
        return self._kept[key]

    def diode(self, red: str, black: str) -> float | None:
        """What the diode range shows from red to black, power off; inf for OL (above 2 V)."""
        key = ("diode", self.node(red), self.node(black))
        if key[1] == key[2]:
            return 0.0
        if key not in self._kept:
            drop = self._meter(key[1], key[2], _DIODE_VOLTS, _DIODE_OHMS)
            self._kept[key] = math.inf if drop is not None and drop > _DIODE_LIMIT else drop
        return self._kept[key]

    def impedance(self, red: str, black: str, hertz: float) -> complex | None:
        """Ohm between two places with the power off, by a signal too small to turn a junction
        on."""
        ends = self.node(red), self.node(black)
        altered = self._probed(*ends, 0.0, _AC_OHMS)
        found = self.bench.off.small_signal(altered, hertz, _PROBES)
        if found is None or "red" not in found:
            return None
        drop = found["red"] - found.get("black", 0.0)
        return _AC_OHMS * drop / (1.0 - drop)

    def farads(self, red: str, black: str, hertz: float) -> float | None:
        """What a meter of capacitance shows; not a number where it finds none."""
        z = self.impedance(red, black, hertz)
        if z is None:
            return None
        y = 1.0 / z if z else complex(math.inf)
        lost = y.imag <= 0.0 or y.real > _LOST * y.imag
        return math.nan if lost else y.imag / (2.0 * math.pi * hertz)

    def node(self, place: str) -> str:
        """The node of ``U3.6``, ``U3.6/pad``, ``U3.6/tail``, a test point, ``net PHA`` or a bare
        net name."""
        sheet, board = self.netlist.sheet, self.board
        if place in board.testpoints:
            return sheet.net(board.testpoints[place])
        if place.startswith("net "):
            return sheet.net(place.removeprefix("net "))
        end = next((end for end in ("/pad", "/tail") if place.endswith(end)), "")
        name = place.removesuffix(end)
        for part in board.parts:
            pin = name.removeprefix(f"{part.designator}.")
            if pin != name and pin in part.pins:
                return {"": sheet.leg, "/pad": sheet.pad, "/tail": sheet.tail}[end](
                    part.designator, pin
                )
        if place in board.nets() or place == board.ground:
            return sheet.net(place)
        raise PlaceError(f"expected a place on board {board.title!r}, got {place!r}")

    def leg_node(self, ref: PinRef) -> str:
        """The node of a pin's leg."""
        return self.netlist.sheet.leg(ref.designator, ref.pin)

    def _by_range(self, red: str, black: str) -> float | None:
        full = _RANGES[2]
        for _ in _RANGES:
            drop = self._meter(red, black, _OHMS_VOLTS, full)
            if drop is None:
                return None
            ohms = max(full * drop / max(_OHMS_VOLTS - drop, 1e-12), 0.0)
            wanted = next((each for each in _RANGES if ohms < each), _RANGES[-1])
            if wanted == full:
                return ohms if ohms < full else math.inf
            full = wanted
        return ohms

    def _meter(self, red: str, black: str, volts: float, ohms: float) -> float | None:
        """Voltage between the probes with the meter's source behind a resistance."""
        found = self.bench.off.solve(self._probed(red, black, volts, ohms), _PROBES)
        if found is None or "red" not in found:
            return None
        return found["red"] - found.get("black", 0.0)

    def _held_at(self, place: str, state: str, out: str, ohms: float, rest: float) -> float | None:
        """Volts at a place that an instrument pulls to ``rest`` V through ``ohms``."""
        node = self.node(place)
        if node == "0":
            return 0.0
        key = ("volts", node, state, out, f"{ohms:g}", f"{rest:g}")
        if key not in self._kept:
            meter = {f"r_meter_{node}": ohms, "v_meter": rest}
            found = self._in_state(state, (node,), {**self.netlist.taken_out(out), **meter})
            self._kept[key] = None if found is None else found.get(node)
        return self._kept[key]

    def _in_state(
        self, name: str, wanted: tuple[str, ...], more: dict[str, float] | None = None
    ) -> dict[str, float] | None:
        """Solve a state after all its steps, with more altered."""
        told = self._state(name)
        if told is None:
            return None
        knobs, held = told
        return self._solve_on({**knobs, **(more or {})}, wanted, held)

    def _state(self, name: str) -> tuple[dict[str, float], dict[str, float]] | None:
        """Knobs of a state after all its steps, stored bits in, and where its latches stand."""
        if name not in self._knobs:
            state = self.board.state(name)
            if state is None:
                raise UnknownName("state", name, [one.name for one in self.board.states])
            told = self._run(state)
            if told is None:
                return None
            self._knobs[name] = told
        return self._knobs[name]

    def _run(self, state: State) -> tuple[dict[str, float], dict[str, float]] | None:
        bits = self.netlist.bits
        if not bits and not self._looped:
            return self.netlist.settings(state, state.steps[-1]), {}
        rng = np.random.default_rng([self.seed, zlib.crc32(state.name.encode())])
        held = {bit.source: float(rng.integers(0, 2)) for bit in bits}
        latched = {node: float(rng.choice(_EITHER)) for node in self._looped}
        races = {
            bit.source: float(side)
            for bit, side in zip(bits, rng.integers(0, 2, len(bits)), strict=True)
        }
        before: dict[str, float] | None = None
        moments = [self.netlist.settings(state, step) for step in state.steps]
        empty = dict.fromkeys(self.netlist.sheet.empty, _EMPTY)
        if empty:
            moments.insert(0, moments[0] | empty)
        for knobs in moments:
            for _ in range(_ROUNDS):
                now = self._solve_on({**knobs, **held}, (), latched)
                if now is None:
                    return None
                latched = {node: round(now[node], 1) for node in self._looped}
                torn = [node for node in self._looped if _TORN[0] < now[node] < _TORN[1]]
                if torn:
                    latched = {node: volts for node, volts in latched.items() if node not in torn}
                    latched[str(rng.choice(torn))] = float(rng.choice(_EITHER))
                after = {
                    bit.source: _next(bit, held[bit.source], races[bit.source], before, now)
                    for bit in bits
                }
                before = now
                if after == held and not torn:
                    break
                held = after
        return {**knobs, **held}, latched

    def _solve_on(
        self, changes: dict[str, float], wanted: tuple[str, ...], latched: dict[str, float]
    ) -> dict[str, float] | None:
        if self.bench.holder.get("on") is not self or latched != self._held:
            self._held, self.bench.holder["on"] = latched, self
            extra = [f".nodeset v({node})={volts:g}" for node, volts in latched.items()]
            extra += [f"r_meter_{node} {node} meter {OFF:g}" for node in self._spots]
            extra.append("v_meter meter 0 0")
            self.bench.on.load(self.netlist.sheet.text(extra))
            self._loaded["on"] = {
                **self.netlist.sheet.knobs, **{f"r_meter_{node}": OFF for node in self._spots},
                "v_meter": 0.0,
            }  # fmt: skip
        return self.bench.on.solve(self._altered("on", changes), wanted)

    def _probed(self, red: str, black: str, volts: float, ohms: float) -> dict[str, float]:
        """What to alter for a meter on two nodes, its source behind a resistance; power off."""
        if self.bench.holder.get("off") is not self:
            self.bench.holder["off"] = self
            spots = [*self._spots, "0"]
            extra = [f"r_red_{node} {node} red {OFF:g}" for node in spots]
            extra += [f"r_black_{node} {node} black {OFF:g}" for node in spots]
            extra += [
                "v_probe probe black dc 0.4 ac 1",
                "r_range probe red 1k",
                "r_float black 0 1e11",
            ]
            self.bench.off.load(self.netlist.sheet.text(extra, quiet=True))
            rest = dict.fromkeys([f"r_{which}_{node}" for which in ("red", "black")
                                  for node in spots], OFF)  # fmt: skip
            self._loaded["off"] = {
                **self.netlist.sheet.knobs, **rest, "v_probe": 0.4, "r_range": 1e3
            }  # fmt: skip
        probes = {
            "v_probe": volts, "r_range": ohms, f"r_red_{red}": 1e-3, f"r_black_{black}": 1e-3,
        }  # fmt: skip
        quiet = {**self.netlist.sheet.knobs, **self.netlist.unplugged(), **probes}
        return self._altered("off", quiet)

    def _altered(self, which: str, changes: dict[str, float]) -> dict[str, float]:
        """Only what differs from what stands; what is not named goes back to rest."""
        stands = self._loaded[which]
        rest = {
            name: OFF for name, value in stands.items()
            if name.startswith(("r_meter_", "r_red_", "r_black_")) and value != OFF
        }  # fmt: skip
        rest |= {"v_meter": 0.0} if "v_meter" in stands else {}
        target = {**rest, **changes}
        differing = {name: value for name, value in target.items() if stands.get(name) != value}
        stands.update(differing)
        return differing


def _next(
    bit: Bit, held: float, race: float, before: dict[str, float] | None, now: dict[str, float]
) -> float:
    """The bit after a solve, given the one before; ``race`` is what preset and clear at once leave
    when both let go."""

    def on(node: str, where: dict[str, float] | None) -> bool:
        return bool(node) and where is not None and where.get(node, 0.0) > 0.5

    high, low = on(bit.force_high, now), on(bit.force_low, now)
    if high or low:
        return race if high and low else float(high)
    if bit.edge:
        rose = before is not None and not on(bit.clock, before) and on(bit.clock, now)
        return float(on(bit.data, before)) if rose else held
    return float(on(bit.data, now)) if on(bit.clock, now) else held
