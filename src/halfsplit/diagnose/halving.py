"""How far readings have proven a path good, and where halving it would measure next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfsplit.belief.posterior import UNEXPLAINED, misfit
from halfsplit.build.paths import Path, paths
from halfsplit.checks.kind import Check
from halfsplit.diagnose.session import Session, percent
from halfsplit.diagnose.widened import nets_of

__all__ = ["Halving", "Mark", "halvings"]

Mark = Literal["good", "bad", "not read"]
TELLING = 0.4
"""Bits by which a good board must explain a reading better than something else does to prove a net
(something else reads as a good board does in six of ten readings, so 0.74 is the most)."""
PLACED = frozenset({"volts", "level", "symptom"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Halving:
    """A path with a mark for each of its nets. ``last_good`` and ``first_bad`` are positions in
    ``path.nets`` (-1 and one past the end where there is none), ``middle`` the net that a plain
    half-split would measure, ``before`` the share of belief in faults up to it among those between
    the two."""

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
            "nets": list(self.path.nets),
            "parts": [stage.part for stage in self.path.stages],
            "marks": list(self.marks),
            "last_good": self.path.nets[self.last_good] if self.last_good >= 0 else None,
            "first_bad": (
                self.path.nets[self.first_bad] if self.first_bad < len(self.marks) else None
            ),
            "middle": self.middle,
            "belief_before_middle": self.before,
            "sentence": self.sentence,
        }


def halvings(session: Session, suggested: Check | None = None) -> tuple[Halving, ...]:
    """Every path of the board; ``suggested`` is the check that the program would take next."""
    marks = _marks(session)
    return tuple(_halve(session, path, marks, suggested) for path in paths(session.world.board))


def _marks(session: Session) -> dict[str, Mark]:
    """Net -> what its readings since the last repair say: one bad reading makes it bad."""
    found: dict[str, Mark] = {}
    world = session.world
    for entry in session.entries:
        if entry.check.kind not in PLACED or entry.epoch != len(session.done):
            continue
        bits = float(misfit(entry.likelihood)[0])
        mark: Mark | None = "bad" if bits > UNEXPLAINED else "good" if bits < -TELLING else None
        for net in nets_of(entry.check, world) if mark else ():
            if found.get(net) != "bad" and mark:
                found[net] = mark
    return found


def _halve(
    session: Session, path: Path, known: dict[str, Mark], suggested: Check | None
) -> Halving:
    nets = path.nets
    marks = tuple(known.get(net, "not read") for net in nets)
    first_bad = next((at for at, mark in enumerate(marks) if mark == "bad"), len(marks))
    goods = [at for at, mark in enumerate(marks[:first_bad]) if mark == "good"]
    last_good = max(goods, default=-1)
    open_ = range(last_good + 1, min(first_bad, len(nets) - 1) + 1)
    middle = nets[open_[(len(open_) - 1) // 2]] if open_ else nets[-1]
    before = _before(session, path, last_good, first_bad, nets.index(middle))
    halved = Halving(
        path=path, marks=marks, last_good=last_good, first_bad=first_bad, middle=middle,
        before=before, sentence="",
    )  # fmt: skip
    return Halving(
        path=path, marks=marks, last_good=last_good, first_bad=first_bad, middle=middle,
        before=before, sentence=_say(halved, suggested, session),
    )  # fmt: skip


def _before(session: Session, path: Path, good: int, bad: int, middle: int) -> float:
    """Share of belief in the stages from the last good net up to the middle, of all up to the
    first bad one."""
    weights = np.zeros(len(path.stages))
    for at, stage in enumerate(path.stages):
        for fault, p in zip(session.world.faults, session.p.tolist(), strict=False):
            names = {pin.designator for pin in fault.pins} | {fault.designator}
            if stage.part in names:
                weights[at] += p
    span = weights[max(good, 0) : bad]
    total = float(span.sum())
    return float(weights[max(good, 0) : middle].sum()) / total if total > 0.0 else 0.5


def _say(halved: Halving, suggested: Check | None, session: Session) -> str:
    path, nets = halved.path, halved.path.nets
    good, bad = "nothing proven good", "none bad yet"
    if halved.last_good >= 0:
        good = f"good up to {nets[halved.last_good]}"
    if halved.first_bad < len(nets):
        bad = f"bad from {nets[halved.first_bad]} on"
    said = (
        f"{path.output} from {path.source}, {len(path.stages)} stages: {good}, {bad}. "
        f"A plain half-split measures {halved.middle} next"
    )
    probed = nets_of(suggested, session.world) if suggested else frozenset()
    on = [at for at, net in enumerate(nets) if net in probed]
    if not on or suggested is None:
        elsewhere = f"; the suggestion ({suggested.id}) is not on this path" if suggested else ""
        return f"{said}{elsewhere}."
    away = on[0] - nets.index(halved.middle)
    if away == 0:
        return f"{said}, and so does the suggestion."
    where = "later" if away > 0 else "earlier"
    return (
        f"{said}; the suggestion ({suggested.id}) is {abs(away)} {where}, since "
        f"{percent(halved.before)} of the belief on this stretch lies before {halved.middle} and "
        "minutes count too."
    )
