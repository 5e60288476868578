"""The world of one board: compiled once, predictions made when a check first asks for them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Board, State
from halfsplit.build.assemble import Assembly, assemble
from halfsplit.build.edges import ADRIFT
from halfsplit.build.fault import Fault, PinRef, Place, Suspect
from halfsplit.build.faultlist import FaultList, list_faults
from halfsplit.build.held import Holders
from halfsplit.build.misfit import Misfits
from halfsplit.build.mos import nets_at_mos
from halfsplit.build.parameters import (
    Overlay,
    base_parameters,
    lay,
    overlay,
    sample_deviations,
    take_columns,
)
from halfsplit.build.places import places_of
from halfsplit.build.power_off import PairReading, PowerOff, choose, elsewhere
from halfsplit.build.settings import power_off, step_changes
from halfsplit.build.severity import WITHIN, Versions, has_degrees, versions
from halfsplit.build.small_signal import SmallSignal, told_storage
from halfsplit.build.sweep import StateResult, Sweep
from halfsplit.build.wiring import with_far_sides
from halfsplit.build.world import USUAL, MeterSource, Numbers, Storage
from halfsplit.errors import PlaceError, UnknownName, nearest
from halfsplit.solve.law import Array
from halfsplit.solve.laws.logic import LogicOutput, TtlInput

__all__ = ["Compiled", "Pairs", "compile_board"]

Pairs = dict[tuple[int, int], PairReading]

GOOD_BOARDS = 12
"""Boards with tolerances of their own that power-off readings are drawn from."""
METER_OHMS = 10e6
"""Input resistance of the voltmeter."""
_BESIDE_LOW = 0.35
"""What the leg of an open TTL input reads beside a low one, V: about 0.9 V at the common base less
half a volt at a meter's microamp (transistor-level circuit in the independent simulator)."""
_CURRENT_SHARE, _CURRENT_LEAST = 0.08, 1e-4
"""Spread of a current: share of it, and amperes."""
_TROUBLE: Final = "trouble"


def compile_board(board: Board, *, years: float = 40.0) -> Compiled:
    """Build the circuit, the faults and the places of a board. ``years`` is its age.

    Raises BoardError, UnknownName or SolveError for a board that makes no circuit.
    """
    board = with_far_sides(board)
    assembly = assemble(board)
    listed = list_faults(assembly, years=years)
    overlays = [overlay(assembly.circuit, fault.changes) for fault in listed.faults]
    unsure = {
        what: versions(assembly.circuit, what, WITHIN if fault.grades > 1 else 1.0)
        for fault, what in zip(listed.faults, overlays, strict=True)
        if has_degrees(fault.mode)
    }
    return Compiled(board=board, assembly=assembly, listed=listed, overlays=overlays, unsure=unsure)


@dataclass(slots=True, kw_only=True, eq=False, weakref_slot=True)
class Compiled:
    """Implements :class:`halfsplit.build.world.World`; holds what has been predicted so far."""

    board: Board
    assembly: Assembly
    listed: FaultList
    overlays: Sequence[Overlay]
    unsure: Mapping[Overlay, Versions]
    like: Compiled | None = None
    """Another one of the same assembly: what it knows of the good board is used."""
    _states: dict[str, StateResult] = field(default_factory=dict)
    _off: PowerOff | None = None
    _ohms: dict[MeterSource, Pairs] = field(default_factory=lambda: defaultdict(dict))
    _diode: dict[MeterSource, Pairs] = field(default_factory=lambda: defaultdict(dict))
    _storage: dict[float, SmallSignal] = field(default_factory=dict)
    _sweep: Sweep | None = None
    _holders: Holders | None = None
    _places: dict[str, Place] | None = None
    _cut: dict[PinRef, list[int]] | None = None
    _cuts: dict[tuple[str, PinRef], list[int]] | None = None
    _mos: frozenset[str] | None = None

    @property
    def faults(self) -> tuple[Fault, ...]:
        return self.listed.faults

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        return self.listed.suspects

    @property
    def suspect_of(self) -> npt.NDArray[np.int64]:
        return self.listed.suspect_of

    @property
    def prior(self) -> Array:
        return self.listed.prior

    @property
    def supply_pin_nets(self) -> frozenset[str]:
        return frozenset({self.board.ground, *(rail.net for rail in self.board.rails)})

    @property
    def places(self) -> Mapping[str, Place]:
        if self._places is None:
            self._places = places_of(self.board, self.assembly)
        return self._places

    def place(self, name: str) -> Place:
        """See :class:`halfsplit.build.world.World`."""
        places = self.places
        if name in places:
            return places[name]
        net = name.removeprefix(f"{_TROUBLE} ")
        if net != name and net in self.assembly.trouble_node:
            return Place(name=name, net=net, kind=_TROUBLE)
        folded = {known.casefold(): known for known in places}
        wanted = " ".join(name.casefold().split())
        for candidate in (wanted, f"net {wanted}"):
            if candidate in folded:
                return places[folded[candidate]]
        close = nearest(name, places)
        hint = f"; did you mean {close}?" if close else "."
        raise PlaceError(
            f"no place {name!r} on this board{hint} A place is a leg such as U3.6, its board side "
            "U3.6/pad, the tail of its socket U3.6/tail, a test point, or a net name."
        )

    def result(self, state: str) -> StateResult:
        """All node voltages of a state, solved on first use."""
        if state not in self._states:
            found = self.board.state(state)
            if found is None:
                raise UnknownName("state", state, [known.name for known in self.board.states])
            self._states[state] = self._solver().state(self._steps(found))
        return self._states[state]

    def good(self, state: State) -> tuple[Array, list[Array]]:
        """The healthy board in a state, see :meth:`halfsplit.build.sweep.Sweep.good`."""
        return self._solver().good(self._steps(state))

    def volts(self, state: str, places: Sequence[str]) -> Numbers:
        """See :class:`halfsplit.build.world.World`."""
        done = self.result(state)
        count, width = len(self.faults), len(places)
        mean, spread, ohms, model = np.zeros((4, count, width))
        other_spread, other_ohms, other_model = np.zeros((3, count, width))
        other, least = np.full((count, width), np.nan), np.full((count, width), -np.inf)
        misfits = Misfits(self.board, self.assembly.kinds, self.faults)
        rows = np.arange(count)
        for c, place in enumerate(map(self.place, places)):
            node, net = self.nodes(place), place.net
            ground = node < 0
            solved = (done.nominal, done.spread, done.ohms, done.other_ohms)
            for into, found in zip((mean, spread, ohms, other_ohms), solved, strict=True):
                into[:, c] = np.where(ground, 0.0, found[node, rows])
            other[:, c] = np.where(ground, np.nan, done.other[node, rows])
            other_spread[:, c] = np.nan_to_num(done.other_spread[node, rows])
            self._beside_a_low_input(place, mean[:, c], other[:, c])
            if place.kind != _TROUBLE:
                model[:, c] = misfits.of(net, mean[:, c], ohms[:, c])
                other_model[:, c] = misfits.of(net, other[:, c], other_ohms[:, c])
                for read, behind in ((mean, ohms), (other, other_ohms)):
                    behind[:, c] = misfits.under_load(net, read[:, c], behind[:, c], METER_OHMS)
                least[:, c] = self._holds().least(net, node, done, METER_OHMS)
        pulled, other = (
            read * (METER_OHMS / (METER_OHMS + np.maximum(behind, 0.0)))
            for read, behind in ((mean, ohms), (other, other_ohms))
        )
        mean = np.maximum(pulled, least)
        unresolved = ~np.isfinite(mean)
        return Numbers(
            mean=mean,
            spread=np.where(unresolved, np.nan, np.hypot(spread, model)),
            other=other,
            other_spread=np.where(np.isnan(other), np.nan, np.hypot(other_spread, other_model)),
            floating=(ohms > ADRIFT) & ~(least > pulled),
            unresolved=unresolved,
        )

    def _holds(self) -> Holders:
        if self._holders is None:
            parts = {part.designator: part.pins for part in self.board.parts}
            legs = self.assembly.leg_node.items()
            nets = {node: parts[ref.designator][ref.pin] for ref, node in legs}
            self._holders = Holders(self.assembly.circuit, self.overlays, nets)
        return self._holders

    def current(self, state: str, designators: Sequence[str]) -> Numbers:
        """See :class:`halfsplit.build.world.World`. Raises UnknownName for a part that has no
        current of its own."""
        done = self.result(state)
        count, width = len(self.faults), len(designators)
        (mean, flow), other = np.zeros((2, count, width)), np.full((count, width), np.nan)
        for c, designator in enumerate(designators):
            part = self.board.part(designator)
            reading = self.assembly.kinds[designator].current(part) if part else None
            if part is None or reading is None:
                usable = [
                    p.designator
                    for p in self.board.parts
                    if self.assembly.kinds[p.designator].current(p)
                ]
                raise UnknownName("part with a current", designator, usable)
            row = list(self.watched).index(designator)
            mean[:, c] = reading.sign * done.currents[row]
            other[:, c] = reading.sign * done.other_currents[row]
            flow[:, c] = done.flow[row]
        unresolved = ~np.isfinite(mean)
        return Numbers(
            mean=mean,
            spread=np.hypot(_CURRENT_SHARE * np.abs(mean) + _CURRENT_LEAST, flow),
            other=other,
            other_spread=np.hypot(_CURRENT_SHARE * np.abs(other) + _CURRENT_LEAST, flow),
            floating=np.zeros_like(unresolved),
            unresolved=unresolved,
        )

    def ohms(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        """See :class:`halfsplit.build.world.World`."""
        return self._pairs(pairs, source, diode=False)

    def diode(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        """See :class:`halfsplit.build.world.World`."""
        return self._pairs(pairs, source, diode=True)

    def storage(self, pairs: Sequence[tuple[str, str]], hertz: float) -> Storage:
        """See :class:`halfsplit.build.world.World`."""
        if hertz not in self._storage:
            base = take_columns(self._solver().nominal, np.zeros(1, dtype=np.intp))
            lay(base, overlay(self.assembly.circuit, power_off(self.board)), slice(None))
            self._storage[hertz] = SmallSignal(
                self.assembly, base, self.faults, self.overlays, hertz
            )
        there = [[self.nodes(self.place(name)) for name in pair] for pair in pairs]
        return told_storage(self._storage[hertz], there, self.faults, hertz)

    def nodes(self, place: Place) -> npt.NDArray[np.intp]:
        """[F] node that the place reads under each fault: a broken track takes its pad along, a
        joint or a track the tail of its socket, a bad contact neither. A lead open inside its part
        leaves the leg on the net."""
        by_kind = self.assembly.trouble_node if place.kind == _TROUBLE else self.assembly.net_node
        hub = by_kind[place.net]
        if place.pin is None:
            return np.full(len(self.faults), hub, dtype=np.intp)
        leg = self.assembly.leg_node[place.pin]
        if place.kind == "leg":
            nodes = np.full(len(self.faults), leg, dtype=np.intp)
            nodes[self._between().get(("part", place.pin), [])] = hub
            return nodes
        nodes = np.full(len(self.faults), hub, dtype=np.intp)
        along = ("track",) if place.kind == "pad" else ("track", "joint")
        for where in along:
            nodes[self._between().get((where, place.pin), [])] = leg
        return nodes

    def _between(self) -> Mapping[tuple[str, PinRef], list[int]]:
        """Tracks, joints and parts (leads open inside) with their pins -> rows of their faults."""
        if self._cuts is None:
            self._cuts = defaultdict(list)
            for k, fault in enumerate(self.faults):
                for pin in fault.pins if fault.where in ("track", "joint") else fault.leads:
                    self._cuts[fault.where, pin].append(k)
        return self._cuts

    def predicted_states(self) -> Mapping[str, StateResult]:
        """States solved so far."""
        return self._states

    def predicted_pairs(self) -> Mapping[tuple[str, MeterSource], Pairs]:
        """Power-off readings worked out so far by pair of nodes: ``ohms`` and ``diode``, each as a
        meter makes it."""
        sorts = (("ohms", self._ohms), ("diode", self._diode))
        return {(sort, source): kept[source] for sort, kept in sorts for source in kept}

    def take_over(
        self,
        states: Mapping[str, StateResult],
        pairs: Mapping[tuple[str, MeterSource], Pairs],
    ) -> None:
        """Use predictions made earlier for this very board."""
        known = {state.name for state in self.board.states}
        self._states.update({name: done for name, done in states.items() if name in known})
        for (sort, source), readings in pairs.items():
            (self._diode if sort == "diode" else self._ohms)[source].update(readings)

    def thresholds(self, net: str) -> tuple[float, float]:
        """See :class:`halfsplit.build.world.World`. Levels: TTL 0.8/2.0 V (7400 series data
        sheets), HC 27 % and 63 % of the supply (1.35 V and 3.15 V at 4.5 V)."""
        if self._mos is None:
            self._mos = nets_at_mos(self.board, self.assembly)
        return (1.35, 3.15) if net in self._mos else (0.8, 2.0)

    def _steps(self, state: State) -> list[Overlay]:
        return [
            overlay(self.assembly.circuit, step_changes(self.assembly, state, step))
            for step in state.steps
        ]

    @property
    def watched(self) -> dict[str, tuple[str, str]]:
        """Designator -> the element whose current stands for the part's."""
        found = {}
        for part in self.board.parts:
            reading = self.assembly.kinds[part.designator].current(part)
            if reading is not None:
                found[part.designator] = (part.designator, reading.element)
        return found

    def _beside_a_low_input(self, place: Place, mean: Array, other: Array) -> None:
        """The leg of an open TTL input floats high, or near a third of a volt when another input
        of the same gate is low (one transistor or diode cluster feeds both): a second reading."""
        if place.kind != "leg" or place.pin is None:
            return
        for k in self._cut_inputs().get(place.pin, ()):
            if np.isnan(other[k]) and mean[k] > _BESIDE_LOW:
                other[k] = _BESIDE_LOW

    def _cut_inputs(self) -> dict[PinRef, list[int]]:
        """Legs of TTL inputs whose gate has another input -> rows of the faults that cut them."""
        if self._cut is None:
            groups = self.assembly.circuit.groups
            ttl = {int(n) for g in groups if isinstance(g.law, TtlInput) for n in g.nodes[0]}
            several = {
                int(node)
                for group in groups
                if isinstance(group.law, LogicOutput) and len(group.law.inputs) > 1
                for node in group.nodes[3:].ravel()
            }
            legs = self.assembly.leg_node.items()
            self._cut = {ref: [] for ref, node in legs if node in ttl & several}
            for k, fault in enumerate(self.faults):
                for pin in fault.parted if fault.where != "part" else ():
                    if pin in self._cut:
                        self._cut[pin].append(k)
        return self._cut

    def _solver(self) -> Sweep:
        if self._sweep is None:
            self._sweep = Sweep(
                self.assembly,
                self.overlays,
                self.unsure,
                list(self.watched.values()),
                like=None if self.like is None else self.like._solver(),
            )
        return self._sweep

    def _pairs(
        self,
        pairs: Sequence[tuple[str, str]],
        source: MeterSource,
        *,
        diode: bool,
    ) -> Numbers:
        kept = (self._diode if diode else self._ohms)[source]
        if self._off is None:
            off = overlay(self.assembly.circuit, power_off(self.board))
            boards = base_parameters(
                self.assembly.circuit, sample_deviations(self.assembly, 1 + GOOD_BOARDS)
            )
            self._off = PowerOff(self.assembly.circuit, boards, off, self.overlays, self.unsure)
        nodes = [
            np.stack([self.nodes(self.place(name)) for name in (red, black)])
            for red, black in pairs
        ]
        wanted = {
            (int(a), int(b)) for two in nodes for a, b in (two[:, 0], *two[:, elsewhere(two)].T)
        }
        missing = sorted(pair for pair in wanted if pair not in kept)
        method = self._off.diode if diode else self._off.ohms
        kept.update(zip(missing, method(missing, source), strict=True))
        columns = [choose(two, kept) for two in nodes]
        values = np.stack([column.value for column in columns], axis=1)
        resolved = np.stack([column.resolved for column in columns], axis=1)
        return Numbers(
            mean=np.where(resolved, values, np.nan),
            spread=np.stack([column.spread for column in columns], axis=1),
            other=np.full_like(values, np.nan),
            other_spread=np.full_like(values, np.nan),
            floating=np.zeros_like(resolved),
            unresolved=~resolved,
        )
