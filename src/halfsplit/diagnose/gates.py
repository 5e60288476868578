"""A card of pure logic: which single faults explain what its tests showed, and where to probe next.

Like :class:`~halfsplit.diagnose.session.Session` it is frozen, and a reading gives a new one. All
faults are as likely beforehand. What the tests showed at the outputs is taken as sure; a probe may
slip. A share is kept for something else: two faults, or one of a kind that is not listed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from halfsplit.belief.posterior import Array, entropy, joint, normalise, posterior
from halfsplit.belief.split import likelihood, split_gains
from halfsplit.build.gates import NamedGates
from halfsplit.errors import ReadingError
from halfsplit.frozen import dataclass
from halfsplit.solve.gates import Bits, Gates, Kind, Words, columns, pack, values
from halfsplit.solve.gates_cases import Change, Changes, Seen, agree, nets_under
from halfsplit.solve.gates_faults import STEM, stuck_faults
from halfsplit.solve.gates_sets import pairs_that_explain

__all__ = ["MODELS", "GateCase", "GateSuspect", "GateTest", "Level", "Model", "Probe", "listed"]

Model = Literal["stuck", "inverted", "both"]
MODELS: tuple[Model, ...] = ("stuck", "inverted", "both")
SLIP = 0.01
"""Chance of reading a net wrongly, or the wrong net (assumed)."""
OTHER = 0.02
"""Share of something else beforehand (assumed)."""
MOST_PAIRED = 400
"""Gates up to which pairs are tried."""
LITTLE = 0.02
"""Bits below which no probe is worth the walk."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GateTest:
    """``given`` [I] at the inputs; ``seen`` [O] at the outputs: 0, 1, or -1 where nobody looked."""

    given: Bits
    seen: Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A probe on a net while a test, numbered from 0, is applied."""

    net: int
    test: int
    high: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """``net`` to be read during ``test``, numbered from 0, with these ``inputs`` (``10110``);
    ``bits`` it is expected to tell; ``good``: what a good card gives; ``good_chance``: how likely
    it reads so."""

    net: str
    test: int
    inputs: str
    bits: float
    good: bool
    good_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GateSuspect:
    """A fault in words, and its probability."""

    fault: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GateCase:
    """``changes``: the F faults that explain every test; ``high``: for each test, [N, W] what each
    net reads under them; ``prior`` and ``p`` [F + 1], the last row something else."""

    named: NamedGates
    tests: tuple[GateTest, ...]
    changes: Changes
    high: tuple[Words, ...]
    good: Bits
    """[N, tests]"""
    prior: Array
    p: Array
    slip: float
    levels: tuple[Level, ...] = ()

    @classmethod
    def start(
        cls,
        named: NamedGates,
        tests: Sequence[GateTest],
        *,
        model: Model = "stuck",
        slip: float = SLIP,
        other: float = OTHER,
        offer: int = 0,
    ) -> GateCase:
        """After ``tests``, of which one at least must fail; else raises :class:`ReadingError`.

        ``offer``: how many further vectors, taken at random, may be applied for a probe.
        """
        network = named.network
        tests = [*tests, *_offered(network, offer)]
        given = np.stack([test.given for test in tests], axis=1)
        good = columns(values(network, pack(given)), np.arange(len(tests)))
        shown = good[network.outputs].T
        if not any((test.seen == ~right).any() for test, right in zip(tests, shown, strict=True)):
            raise ReadingError("expected a test that fails; all outputs are as on a good card: "
                               "enter inputs for which an output is wrong")  # fmt: skip
        changes = listed(named, model)
        left = agree(network, changes, [t.given for t in tests], [t.seen for t in tests])
        changes = changes.take(left)
        prior = _prior(len(left), other)
        return cls(
            named=named,
            tests=tuple(tests),
            changes=changes,
            high=tuple(nets_under(network, changes, test.given) for test in tests),
            good=good,
            prior=prior,
            p=prior,
            slip=slip,
        )

    def read(self, level: Level) -> GateCase:
        """The case with one more reading."""
        levels = (*self.levels, level)
        count: Counter[tuple[int, int, bool]] = Counter(
            (one.net, one.test, one.high) for one in levels
        )
        rows = [
            likelihood(
                self._high(net, test), count[net, test, True], count[net, test, False], self.slip
            )
            for net, test in dict.fromkeys((one.net, one.test) for one in levels)
        ]
        return replace(self, levels=levels, p=posterior(self.prior, joint(rows, len(self.p))))

    def probes(self, most: int = 5) -> tuple[Probe, ...]:
        """The nets worth reading, the one that tells most first."""
        open_to_probe = np.ones(len(self.named.names), dtype=np.bool_)
        open_to_probe[list(self.named.unread)] = False
        gains = np.stack([split_gains(self.p, high, self.slip) for high in self.high], axis=1)
        gains *= open_to_probe[:, None]
        order = np.argsort(-gains, axis=None, kind="stable")[:most]
        places = [divmod(int(at), len(self.tests)) for at in order]
        return tuple(
            self._probe(net, test, float(gains[net, test]))
            for net, test in places
            if gains[net, test] > LITTLE
        )

    def suspects(self, most: int = 10) -> tuple[GateSuspect, ...]:
        """Faults, likeliest first; something else among them."""
        order = np.argsort(-self.p, kind="stable")[:most]
        return tuple(
            GateSuspect(fault=self.words(int(at)), probability=float(self.p[at]))
            for at in order
            if self.p[at] >= 0.5 * LITTLE
        )

    def pairs(self) -> tuple[str, ...]:
        """Two gates that may do anything and together explain the tests, when no one can alone;
        none when there are too many pairs to try."""
        gates = np.flatnonzero(np.asarray(self.named.network.kinds) > Kind.ONE)
        among = np.setdiff1d(gates, list(self.named.inside | self.named.unread)).tolist()
        if len(among) > MOST_PAIRED:
            return ()
        told = [test for test in self.tests if (test.seen >= 0).any()]
        given, seen = [test.given for test in told], [test.seen for test in told]
        found = pairs_that_explain(self.named.network, among, given, seen)
        names = self.named.names
        return tuple(f"{names[one]} and {names[other]}" for one, other in found)

    def bits_left(self) -> float:
        """Uncertainty about the fault."""
        return entropy(self.p)

    def words(self, fault: int) -> str:
        """``N10 stuck low``; of index F, something else."""
        if fault == len(self.changes.net):
            return "something else: two faults, or one of another kind"
        net = self._name(int(self.changes.net[fault]))
        reader, what = self.changes.reader[fault], self.changes.what[fault]
        if what == Change.INVERTED:
            return f"the gate of {net} gives the opposite"
        where = f"{net} at the gate of {self._name(int(reader))}" if reader != STEM else net
        return f"{where} stuck {'high' if what == Change.STUCK_HIGH else 'low'}"

    def _name(self, net: int) -> str:
        """A net, or a chip's pin with the net it is on."""
        names, sources = self.named.names, self.named.network.sources[net]
        if net in self.named.unread and sources:
            return f"{names[net]} ({names[sources[0]]})"
        return names[net]

    def _probe(self, net: int, test: int, bits: float) -> Probe:
        good = bool(self.good[net, test])
        right = likelihood(self._high(net, test), int(good), int(not good), self.slip)
        return Probe(
            net=self.named.names[net],
            test=test,
            inputs="".join("01"[level] for level in self.tests[test].given.astype(int)),
            bits=bits,
            good=good,
            good_chance=float(self.p @ right),
        )

    def _high(self, net: int, test: int) -> Bits:
        return columns(self.high[test][net], np.arange(len(self.changes.net)))


def listed(named: NamedGates, model: Model) -> Changes:
    """All faults of a kind: stuck lines, gates that give the opposite, or both."""
    found = []
    if model != "inverted":
        stuck = stuck_faults(named.network)
        lines = Changes.single(stuck.net, stuck.reader, stuck.pin, stuck.value.astype(np.int8))
        found.append(lines.take(named.lines(stuck)))
    if model != "stuck":
        gates = np.flatnonzero(np.asarray(named.network.kinds) > Kind.ONE)
        gates = gates[~np.isin(gates, sorted(named.inside | named.unread))]
        stem = np.full(len(gates), STEM)
        inverted = np.full(len(gates), Change.INVERTED, dtype=np.int8)
        found.append(Changes.single(gates, stem, stem, inverted))
    return Changes.single(
        net=np.concatenate([each.net for each in found]),
        reader=np.concatenate([each.reader for each in found]),
        pin=np.concatenate([each.pin for each in found]),
        what=np.concatenate([each.what for each in found]),
    )


def _offered(network: Gates, count: int) -> list[GateTest]:
    drawn = np.random.default_rng(1).random((count, len(network.inputs))) < 0.5
    nobody = np.full(len(network.outputs), -1, dtype=np.int8)
    return [GateTest(given=given, seen=nobody) for given in drawn]


def _prior(count: int, other: float) -> Array:
    return normalise(np.append(np.full(count, (1.0 - other) / max(count, 1)), other))
