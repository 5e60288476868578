"""How far readings have proven a path good, and where halving it would measure next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np

from halfsplit.belief.posterior import UNEXPLAINED, misfit
from halfsplit.build.paths import Path, paths
from halfsplit.checks.kind import Check
from halfsplit.diagnose.outlook import Outlook
from halfsplit.diagnose.session import Session, percent
from halfsplit.diagnose.widened import nets_of
from halfsplit.frozen import dataclass

__all__ = ["Halving", "Mark", "halvings"]

Mark = Literal["good", "bad", "not read"]
TELLING = 0.4
"""Bits by which a good board must explain a reading better than something else does to prove a net
(something else reads as a good board does in six of ten readings, so 0.74 is the most)."""
PLACED = frozenset({"volts", "level", "symptom", "signal"})
TELLING_OF_TWO = 0.2
"""The same where only good and bad are told apart, and 0.32 is the most."""
EVEN = 0.1
"""A middle that has the belief of a half, give or take this, is no reason to measure elsewhere."""
_JUDGED = frozenset({"good", "right"})
_ALIKE, _SAME = " and tells as much", 0.02
"""Said of two checks whose bits a minute differ by no more than this share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Halving:
    """A path with a mark for each of its nets. ``last_good`` and ``first_bad`` are positions in
    ``path.nets`` (-1 and one past the end where there is none), ``middle`` the net that a plain
    half-split would measure, empty when no net is left between the two, ``before`` the share of
    belief in faults up to it among those between the two."""

    path: Path
    marks: tuple[Mark, ...]
    last_good: int
    first_bad: int
    middle: str
    before: float
    sentence: str

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "output": self.path.output,
            "source": self.path.source,
            "origin": self.path.origin or None,
            "nets": list(self.path.nets),
            "parts": [stage.part for stage in self.path.stages],
            "marks": list(self.marks),
            "last_good": self.path.nets[self.last_good] if self.last_good >= 0 else None,
            "first_bad": (
                self.path.nets[self.first_bad] if self.first_bad < len(self.marks) else None
            ),
            "middle": self.middle or self.path.nets[min(self.first_bad, len(self.marks) - 1)],
            "left_to_halve": max(min(self.first_bad, len(self.marks)) - self.last_good - 1, 0),
            "belief_before_middle": self.before,
            "sentence": self.sentence,
        }


def halvings(
    session: Session, suggested: Check | None = None, outlook: Outlook | None = None
) -> tuple[Halving, ...]:
    """Every path of the board; ``suggested`` is the check that the program would take next, and
    ``outlook`` what all checks would tell, for saying why it is another than the middle one."""
    marks = _marks(session)
    why = _Why(session, suggested, outlook)
    return tuple(_halve(session, path, marks, why) for path in paths(session.world.board))


def _marks(session: Session) -> dict[str, Mark]:
    """Net -> what its readings since the last repair say: one bad reading makes it bad."""
    found: dict[str, Mark] = {}
    for entry in session.entries:
        if entry.check.kind not in PLACED or entry.epoch != len(session.done):
            continue
        bits = float(misfit(entry.likelihood)[0])
        least = TELLING_OF_TWO if entry.reading.word in _JUDGED else TELLING
        mark: Mark | None = "bad" if bits > UNEXPLAINED else "good" if bits < -least else None
        for net in _read(entry.check, session) if mark else ():
            if found.get(net) != "bad" and mark:
                found[net] = mark
    return found


def _read(check: Check, session: Session) -> frozenset[str]:
    """The nets that a check is read at; of an output the net that it is seen at, if it is one."""
    if check.kind != "symptom":
        return nets_of(check, session.world)
    return frozenset(
        output.target
        for output in session.world.board.outputs
        if output.name == check.places[0] and output.measure != "current"
    )


def _halve(session: Session, path: Path, known: dict[str, Mark], why: _Why) -> Halving:
    nets = path.nets
    marks = tuple(known.get(net, "not read") for net in nets)
    first_bad = next((at for at, mark in enumerate(marks) if mark == "bad"), len(marks))
    goods = [at for at, mark in enumerate(marks[:first_bad]) if mark == "good"]
    last_good = max(goods, default=-1)
    open_ = range(last_good + 1, min(first_bad, len(nets)))
    middle = open_[(len(open_) - 1) // 2] if open_ else first_bad
    halved = Halving(
        path=path, marks=marks, last_good=last_good, first_bad=first_bad,
        middle=nets[middle] if open_ else "",
        before=_before(session, path, last_good, first_bad, middle), sentence="",
    )  # fmt: skip
    return replace(halved, sentence=_say(halved, why))


def _before(session: Session, path: Path, good: int, bad: int, middle: int) -> float:
    """Share of belief in what gives the nets after the last good one up to the middle, of all up
    to the first bad one."""
    weights = np.zeros(len(path.nets))
    for at, part in enumerate((path.origin, *(stage.part for stage in path.stages))):
        for fault, p in zip(session.world.faults, session.p.tolist(), strict=False):
            names = {pin.designator for pin in fault.pins} | {fault.designator}
            if part and part in names:
                weights[at] += p
    span = weights[good + 1 : bad + 1]
    total = float(span.sum())
    return float(weights[good + 1 : middle + 1].sum()) / total if total > 0.0 else 0.5


def _say(halved: Halving, why: _Why) -> str:
    path, nets = halved.path, halved.path.nets
    good, bad = "nothing proven good", "none bad yet"
    if halved.last_good >= 0:
        good = f"good up to {nets[halved.last_good]}"
    if halved.first_bad < len(nets):
        bad = f"bad from {nets[halved.first_bad]} on"
    count = len(path.stages) + bool(path.origin)
    begin = path.origin or path.source
    said = f"{path.output} from {begin}, {count} stages: {good}, {bad}"
    if not halved.middle:
        return f"{said}. {_closed(halved)}"
    return f"{said}. A plain half-split measures {halved.middle} next{why.of(halved)}"


def _closed(halved: Halving) -> str:
    """Where the fault lies on a path with nothing left to halve."""
    path, bad = halved.path, halved.first_bad
    if bad >= len(path.nets):
        return "The whole path reads good."
    if bad == 0:
        before = f"in {path.origin}, which makes it" if path.origin else "before it"
        return f"Bad at its very source {path.source}: the fault is {before}."
    return (
        f"The fault is in {path.stages[bad - 1].part}, between {path.nets[bad - 1]} and "
        f"{path.nets[bad]}, or on {path.nets[bad]}."
    )


@dataclass(frozen=True, slots=True)
class _Why:
    """How near the suggestion is to a plain half-split, and why it differs."""

    session: Session
    suggested: Check | None
    outlook: Outlook | None

    def of(self, halved: Halving) -> str:
        """The rest of the sentence about a path."""
        nets, suggested = halved.path.nets, self.suggested
        if suggested is None:
            return "."
        probed = _read(suggested, self.session)
        on = [at for at, net in enumerate(nets) if net in probed]
        if not on:
            return f"; the suggestion ({suggested.id}) is not on this path{self._gains(halved)}."
        away = on[0] - nets.index(halved.middle)
        if away == 0:
            return ", and so does the suggestion."
        where = "later" if away > 0 else "earlier"
        told = f"; the suggestion ({suggested.id}) is {abs(away)} {where}"
        gains = self._gains(halved)
        if gains == _ALIKE or abs(halved.before - 0.5) <= EVEN:
            return f"{told}{gains}."
        share = f"{percent(halved.before)} of the belief on this stretch lies up to"
        return f"{told}, since {share} {halved.middle}{gains}."

    def _gains(self, halved: Halving) -> str:
        """What the best check at the middle would tell beside the suggestion, in bits a minute."""
        if self.outlook is None or self.suggested is None:
            return ""
        here = self._best(lambda check: check == self.suggested)
        there = self._best(lambda check: halved.middle in nets_of(check, self.session.world))
        if here is None:
            return ""
        if there is None:
            return f"; no check at {halved.middle} tells anything more"
        if abs(here[0] / here[1] - there[0] / there[1]) <= _SAME * here[0] / here[1]:
            return _ALIKE
        names = f"it tells {_bits(here)}, the best check at {halved.middle} {_bits(there)}"
        return f"; {names}"

    def _best(self, wanted: Callable[[Check], bool]) -> tuple[float, float] | None:
        """Bits and minutes of the check with the highest score among those wanted."""
        outlook = self.outlook
        assert outlook is not None
        found = [
            at
            for at, offer in enumerate(outlook.offers)
            if outlook.score[at] > 0.0 and wanted(offer.check)
        ]
        if not found:
            return None
        at = max(found, key=lambda one: float(outlook.score[one]))
        bits = float(outlook.bits[at])
        return bits, bits / float(outlook.score[at])


def _bits(what: tuple[float, float]) -> str:
    bits, minutes = what
    return f"{bits:.2f} bit in {minutes:.1f} min"
