"""The whole board at many points of its life: volts at every leg, and the current into each.

Points are columns: every powered state with nominal parts, with tolerances drawn and the supplies
at either limit, with one fault, and at the moment when a coil lets go. Bits that a state leaves
stored are kept as a good board has them, whatever the fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import BOARD
from halfsplit.build.compiled import Compiled
from halfsplit.build.fault import PinRef
from halfsplit.build.parameters import lay, sample_deviations, take_columns
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.newton import Probe
from halfsplit.solve.persistent import persist

__all__ = ["Operation", "Points", "operate"]

SAMPLES = 12
"""Tolerance samples for each limit of the supplies."""
_LET_GO = 0.2
"""A coil counts as off in a state where it carries less than this share of its most."""
_LIMITS = ((1.0, "tolerances, supplies high"), (-1.0, "tolerances, supplies low"))
_CUT = 1e-12
"""Conductance of a coil at the moment it lets go, S: its current is a source then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """B points of one sort. ``volts`` and ``amps`` [L, B] of the L legs, amperes from the net
    into the part, not-a-number where unresolved; ``label`` of each point and the ``fault`` that
    is laid over it (0 for none) [B]; ``moment`` [B]: only while a coil lets go."""

    volts: Array
    amps: Array
    label: tuple[str, ...]
    fault: npt.NDArray[np.intp]
    moment: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Operation:
    """``leg`` maps a pin to its row. ``good`` nominal parts; ``corner`` with tolerances and
    supplies at their limits; ``fault`` with one fault."""

    world: Compiled
    leg: dict[PinRef, int]
    good: Points
    corner: Points
    fault: Points


def operate(world: Compiled) -> Operation:
    """Solve all of it: some thousands of points, once for a board."""
    maker = _Maker(world)
    states = list(maker.solved)
    rows = maker.distinct()
    steady, corners = maker.with_faults(states, [0]), list(maker.corners(states))
    kicks = maker.kicks(steady, states, _joined(corners, maker.leg))
    opens = [row for row in rows if maker.opens(row)]
    return Operation(
        world=world,
        leg=maker.leg,
        good=_joined([steady, *(maker.flying(kick, [0]) for kick in kicks)], maker.leg),
        corner=_joined([*corners, *maker.flying_corners(kicks)], maker.leg),
        fault=_joined(
            [maker.with_faults(states, rows), *(maker.flying(kick, opens) for kick in kicks)],
            maker.leg,
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kick:
    """A coil that lets go in a state; ``amps`` from its first end to its second, ``most`` with
    tolerances."""

    designator: str
    element: str
    state: str
    red: int
    black: int
    amps: float
    most: float


class _Maker:
    def __init__(self, world: Compiled) -> None:
        self.world = world
        self.circuit = world.assembly.circuit
        self.leg = {ref: row for row, ref in enumerate(world.assembly.leg_node)}
        self.nodes = np.array(list(world.assembly.leg_node.values()), dtype=np.intp)
        self.drawn = sample_deviations(world.assembly, SAMPLES + 1)
        where = self.circuit.where.items()
        self.joints = {at for (_, name), at in where if name.startswith("joint:")}
        self.solved = {
            state.name: world.good(state) for state in world.board.states if state.powered
        }

    def with_faults(self, states: Sequence[str], rows: Sequence[int]) -> Points:
        """Each state with each of some faults, 0 for none."""
        found = []
        for state in states:
            v, params = self.solved[state]
            found.append(self._solve(self._laid(params, rows), v, state, fault=rows))
        return _joined(found, self.leg)

    def corners(self, states: Sequence[str]) -> Iterator[Points]:
        """Tolerances drawn, all supplies at their upper limit, and all at their lower."""
        for state in states:
            for sign, words in _LIMITS:
                varied = self._varied(self.solved[state][1], sign)
                yield self._solve(varied, self.solved[state][0], f"{state}, {words}")

    def flying_corners(self, kicks: Sequence[_Kick]) -> Iterator[Points]:
        """The same at the moment when a coil lets go, with the supplies high."""
        sign, words = _LIMITS[0]
        for kick in kicks:
            varied = self._varied(self.solved[kick.state][1], sign)
            worst = replace(kick, amps=kick.most)
            yield self._let_go(worst, varied, f"{kick.designator} lets go, {words}")

    def flying(self, kick: _Kick, rows: Sequence[int]) -> Points:
        """The moment when a coil lets go, with each of some faults, 0 for none."""
        params = self._laid(self.solved[kick.state][1], rows)
        return self._let_go(kick, params, f"{kick.designator} lets go", fault=rows)

    def kicks(self, good: Points, states: Sequence[str], corner: Points) -> list[_Kick]:
        """Coils and the states in which they have just let go; ``good`` has a column a state."""
        found = []
        for part in self.world.board.parts:
            stores = self.world.assembly.kinds[part.designator].stores(part)
            for store in stores:
                if store.what != "coil" or not set(store.terminals) <= set(part.pins):
                    continue
                refs = [PinRef(designator=part.designator, pin=pin) for pin in store.terminals]
                amps = np.nan_to_num(good.amps[self.leg[refs[0]]])
                most = amps[int(np.argmax(np.abs(amps)))] if amps.size else 0.0
                off = np.flatnonzero(np.abs(amps) < _LET_GO * abs(most))
                if abs(most) < 1e-4 or not off.size:
                    continue
                at = self.world.assembly.leg_node
                worst = float(np.nanmax(np.abs(corner.amps[self.leg[refs[0]]])))
                found.append(
                    _Kick(designator=part.designator, element=store.beside, red=at[refs[1]],
                          black=at[refs[0]], amps=float(most), most=math.copysign(worst, most),
                          state=states[int(off[0])])
                )  # fmt: skip
        return found

    def opens(self, row: int) -> bool:
        """Whether the fault may take away what catches a coil's current."""
        return "open" in self.world.faults[row].mode or "broken" in self.world.faults[row].mode

    def distinct(self) -> list[int]:
        """Rows of faults that differ in what they change, healthy left out."""
        first = {what: row for row, what in reversed(list(enumerate(self.world.overlays)))}
        return sorted(row for what, row in first.items() if what)

    def _laid(self, params: Sequence[Array], rows: Sequence[int]) -> list[Array]:
        wide = take_columns(params, np.zeros(len(rows), dtype=np.intp))
        for at, row in enumerate(rows):
            lay(wide, self.world.overlays[row], slice(at, at + 1))
        return wide

    def _varied(self, params: Sequence[Array], sign: float) -> list[Array]:
        """[P, M, SAMPLES] of each group: what no state sets is drawn, supplies at a limit."""
        groups = self.circuit.groups
        varied = [
            np.where(p == group.base[:, :, None], p + d[:, :, 1:], p)
            for p, d, group in zip(params, self.drawn, groups, strict=True)
        ]
        for rail in self.world.board.rails:
            group, row, member = self.circuit.locate((BOARD, f"rail:{rail.net}"), "volts")
            typed = groups[group].base[row, member]
            if params[group][row, member, 0] == typed:
                varied[group][row, member] = typed * (1.0 + sign * rail.tolerance)
        return varied

    def _let_go(
        self, kick: _Kick, params: list[Array], label: str, fault: Sequence[int] = (0,)
    ) -> Points:
        """The coil's current held by a source, its copper cut out."""
        group, row, member = self.circuit.locate((kick.designator, kick.element), "g")
        params[group][row, member] = _CUT
        width = params[group].shape[2]
        one = np.ones(width)
        probe = Probe(
            np.full(width, kick.red), np.full(width, kick.black), 0.0 * one, kick.amps * one
        )
        return self._solve(params, self.solved[kick.state][0], label, probe, fault)

    def _solve(
        self,
        params: Sequence[Array],
        start: Array,
        label: str,
        probe: Probe | None = None,
        fault: Sequence[int] = (0,),
    ) -> Points:
        width = params[0].shape[2]
        guess = np.repeat(np.nan_to_num(start), width, axis=1)
        done, _ = persist(self.circuit, params, guess, probe=probe)
        v = np.where(done.resolved, done.v, np.nan)
        return Points(
            volts=v[self.nodes],
            amps=self._into_legs(v, params),
            label=(label,) * width,
            fault=np.broadcast_to(np.asarray(fault, dtype=np.intp), (width,)),
            moment=np.full(width, probe is not None),
        )

    def _into_legs(self, v: Array, params: Sequence[Array]) -> Array:
        """[L, B] current into each leg: what the elements of its part draw there."""
        into = np.zeros((self.circuit.size + 1, v.shape[1]))
        padded = np.concatenate((v, np.zeros((1, v.shape[1]))))
        for number, group in enumerate(self.circuit.groups):
            own = [m for m in range(group.nodes.shape[1]) if (number, m) not in self.joints]
            at = group.nodes[:, own]
            amps, _ = group.law.evaluate(padded[at], params[number][:, own], False)
            for terminal in range(amps.shape[0]):
                np.add.at(into, at[terminal], amps[terminal])
        return into[self.nodes]


def _joined(found: Sequence[Points], leg: Mapping[PinRef, int]) -> Points:
    none = np.zeros((len(leg), 0))
    return Points(
        volts=np.concatenate([none, *(one.volts for one in found)], axis=1),
        amps=np.concatenate([none, *(one.amps for one in found)], axis=1),
        label=tuple(label for one in found for label in one.label),
        fault=np.concatenate([np.zeros(0, dtype=np.intp), *(one.fault for one in found)]),
        moment=np.concatenate([np.zeros(0, dtype=bool), *(one.moment for one in found)]),
    )
