"""Networks of gates as clauses for a SAT solver: an independent way to the same answers.

Source of the clauses: G. S. Tseitin, "On the complexity of derivation in propositional calculus"
(1968); diagnosis with them: A. Smith, A. Veneris, M. F. Ali and A. Viglas, "Fault diagnosis and
logic debugging using Boolean satisfiability", IEEE Trans. CAD 24 (2005).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pysat.card import CardEnc
from pysat.solvers import Solver

from halfsplit.solve.gates import Bits, Gates, Kind
from halfsplit.solve.gates_cases import Seen
from halfsplit.solve.gates_faults import STEM, Stuck

__all__ = ["inverted_that_explain", "is_redundant"]

_INVERTING = frozenset({Kind.NAND, Kind.NOR, Kind.XNOR, Kind.NOT})


class _Clauses:
    """Clauses so far, and the number of the last variable."""

    def __init__(self) -> None:
        self.all: list[list[int]] = []
        self.last = 0

    def new(self) -> int:
        self.last += 1
        return self.last

    def gate(self, kind: Kind, fed: Sequence[int]) -> int:
        """A literal that is what the gate gives."""
        if not fed:
            one = self.new()
            self.all.append([one])
            return one if kind == Kind.ONE else -one
        if kind in (Kind.XOR, Kind.XNOR):
            out = fed[0]
            for other in fed[1:]:
                out = self.differ(out, other)
        elif kind in (Kind.OR, Kind.NOR):
            out = -self.both([-each for each in fed])
        else:
            out = self.both(fed)
        return -out if kind in _INVERTING else out

    def both(self, fed: Sequence[int]) -> int:
        if len(fed) == 1:
            return fed[0]
        out = self.new()
        self.all += [[-out, each] for each in fed]
        self.all.append([out, *(-each for each in fed)])
        return out

    def differ(self, one: int, other: int) -> int:
        out = self.new()
        self.all += [
            [-out, one, other],
            [-out, -one, -other],
            [out, -one, other],
            [out, one, -other],
        ]
        return out


def is_redundant(network: Gates, stuck: Stuck, fault: int) -> bool:
    """Whether no vector at all shows the fault at an output."""
    clauses = _Clauses()
    inputs = {int(net): clauses.new() for net in network.inputs}
    place = int(stuck.net[fault]), int(stuck.reader[fault]), int(stuck.pin[fault])
    level = clauses.gate(Kind.ONE if stuck.value[fault] else Kind.ZERO, ())
    good = _copy(clauses, network, inputs, {})
    bad = _copy(clauses, network, inputs, {place: level})
    clauses.all.append([clauses.differ(good[net], bad[net]) for net in network.outputs.tolist()])
    with Solver(name="cadical153", bootstrap_with=clauses.all) as solver:
        return not solver.solve()


def inverted_that_explain(network: Gates, given: Bits, seen: Seen) -> list[int]:
    """The gates of which one that gives the opposite explains what was seen for one vector."""
    clauses = _Clauses()
    inputs = {int(net): clauses.new() for net in network.inputs}
    value = dict(inputs)
    wrong: dict[int, int] = {}
    for net, kind in enumerate(network.kinds):
        if kind > Kind.ONE:
            flip = clauses.new()
            wrong[flip] = net
            fed = [value[source] for source in network.sources[net]]
            value[net] = clauses.differ(clauses.gate(kind, fed), flip)
        elif kind != Kind.INPUT:
            value[net] = clauses.gate(kind, ())
    levels = zip(network.inputs.tolist(), given.tolist(), strict=True)
    clauses.all += [[value[net] if level else -value[net]] for net, level in levels]
    shown = zip(network.outputs.tolist(), seen.tolist(), strict=True)
    clauses.all += [[value[net] if level else -value[net]] for net, level in shown if level >= 0]
    one = CardEnc.equals(lits=list(wrong), bound=1, top_id=clauses.last)
    found: list[int] = []
    with Solver(name="cadical153", bootstrap_with=clauses.all + one.clauses) as solver:
        while solver.solve():
            bad = next(each for each in solver.get_model() if each in wrong)
            found.append(wrong[bad])
            solver.add_clause([-bad])
    return sorted(found)


def _copy(
    clauses: _Clauses,
    network: Gates,
    inputs: Mapping[int, int],
    stuck: Mapping[tuple[int, int, int], int],
) -> dict[int, int]:
    value: dict[int, int] = {}
    for net, kind in enumerate(network.kinds):
        if kind == Kind.INPUT:
            value[net] = inputs[net]
        else:
            fed = [
                stuck.get((source, net, pin), value[source])
                for pin, source in enumerate(network.sources[net])
            ]
            value[net] = clauses.gate(kind, fed)
        value[net] = stuck.get((net, STEM, STEM), value[net])
    return value
