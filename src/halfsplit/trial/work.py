"""One board after another, each with something hidden on it, from the symptoms to the cure."""

from __future__ import annotations

import math
import time
from dataclasses import field, replace

import numpy as np

from halfsplit.build.fault import HEALTHY, Fault
from halfsplit.build.world import World
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.catalogue import SYMPTOM, Catalogue
from halfsplit.diagnose.cures import cured_by
from halfsplit.errors import HalfsplitError
from halfsplit.frozen import dataclass
from halfsplit.trial.examine import Ask, Finding, examine
from halfsplit.trial.hidden import Hidden
from halfsplit.trial.patient import VERIFY, Patient
from halfsplit.trial.player import PLAYED, STEADY, Hand, Player
from halfsplit.trial.report import Outcome
from halfsplit.trial.stand import Bench
from halfsplit.trial.visible import visible_by, wrong_outputs

__all__ = ["Plan", "Work"]

BOARDS = 4
"""Boards with tolerances of their own that the faults are spread over."""
DRAWS = 12
"""Most boards drawn for each, until one does what it should: a board that never worked leaves no
works."""
_EXPECTED = 0.75
"""Probability from which an output of a good board is told beforehand."""
_DISAGREES = 0.08
"""A reading that the true fault makes this much less likely than the best fault speaks against
the prediction, not against luck."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """What a trial is: the board as it is predicted, the seed of all that is drawn, who examines,
    the meter and the person, and what they may do. Nothing in it is bound to this process."""

    world: World
    seed: int
    ask: Ask = examine
    hand: Hand = field(default_factory=Hand)
    limits: Limits = field(default_factory=Limits)
    meter: Meter = field(default_factory=Meter)


@dataclass(slots=True)
class Work:
    """A plan at work: simulators, boards without a fault, and the checks on offer."""

    plan: Plan
    catalogue: Catalogue = field(init=False)
    bench: Bench | None = None
    good_bench: dict[int, Bench] = field(default_factory=dict)
    good: dict[int, Player] = field(default_factory=dict)

    def __post_init__(self) -> None:
        kinds = [kind for kind in CHECKS if kind.name in PLAYED]
        self.catalogue = Catalogue(self.plan.world, self.plan.meter, kinds)

    def play(self, number: int, hidden: Hidden) -> Outcome:
        """One board from the symptoms to the cure."""
        started = time.perf_counter()
        try:
            outcome = self._play(number, hidden)
        except HalfsplitError as error:
            self.close()
            outcome = Outcome(
                fault=hidden.name,
                suspect=" + ".join(hidden.suspects),
                visible="",
                failed=str(error)[:300],
            )
        return replace(outcome, seconds=time.perf_counter() - started)

    def close(self) -> None:
        """End the simulators."""
        for bench in (self.bench, *self.good_bench.values()):
            if bench is not None:
                bench.close()
        self.bench = None
        self.good_bench.clear()
        self.good.clear()

    def _play(self, number: int, hidden: Hidden) -> Outcome:
        plan, board = self.plan, self.plan.world.board
        if self.bench is None:
            self.bench = Bench()
        good = self.working(number % BOARDS)
        seed = good.seed
        fault, *also = hidden.faults
        player = Player(
            board, fault, seed, self.bench, plan.hand, luck=plan.seed + number,
            also=tuple(also), present=hidden.present, good=good.stand, world=plan.world,
            meter=plan.meter,
        )  # fmt: skip
        suspects = " + ".join(hidden.suspects)
        shown = visible_by(player, good, plan.world, self.catalogue)
        if not shown or not self._noticed(hidden, seed, good):
            return Outcome(fault=hidden.name, suspect=suspects, visible="", weight=hidden.weight)
        patient = Patient(
            answer=player.answer,
            wrong=set(hidden.suspects),
            renews=self._renews,
            renewed=player.mended,
            complaint=self._complaint(player, good, number),
        )
        found = plan.ask(plan.world, patient, self.catalogue, plan.limits)
        named = {one for name, _ in found.named[:1] for one in name.split(" + ")}
        right = bool(named & set(hidden.suspects) or set(found.ties) & set(hidden.suspects))
        why, detail = ("", "") if right else self._why(fault, found, player)
        after = found.after_symptoms
        return Outcome(
            fault=hidden.name,
            suspect=suspects,
            visible=shown,
            right=right,
            mended=bool(set(hidden.suspects) & set(found.first_repair)),
            verdict=found.kind,
            probability=found.probability,
            named=found.named,
            led=tuple(one.led for one in found.asked),
            needed=sum(
                one.minutes + VERIFY for one in plan.world.suspects if one.id in hidden.suspects
            ),
            checks=len(found.asked),
            checks_after_symptoms=len(after),
            bits_after_symptoms=after[0].bits if after else 0.0,
            minutes=found.minutes,
            cured=found.cured,
            bill=replace(patient.bill),
            unresolved=player.unresolved,
            misread=player.misread,
            why=why,
            detail=detail,
            weight=hidden.weight,
        )

    def _renews(self, repair: str) -> set[str]:
        """What the work of a repair puts right: itself, joints and bridges of a part taken out."""
        world = self.plan.world
        right = cured_by(world, repair)
        return {one.suspect for one, cured in zip(world.faults, right, strict=True) if cured}

    def _noticed(self, hidden: Hidden, seed: int, good: Player) -> bool:
        """Whether each of several faults, or one that comes and goes, puts an output wrong by
        itself: of others nobody looks for the second, nor says that it comes and goes."""
        assert self.bench is not None
        alone = len(hidden.faults) == 1 and hidden.present >= 1.0
        return alone or all(
            any(
                wrong_outputs(
                    Player(self.plan.world.board, one, seed, self.bench, STEADY),
                    good,
                    self.plan.world,
                )
            )
            for one in hidden.faults
        )

    def working(self, which: int) -> Player:
        """The board of that number without a fault: the first drawn that works, else the last."""
        if which not in self.good:
            plan = self.plan
            healthy = next(fault for fault in plan.world.faults if fault.id == HEALTHY)
            bench = self.good_bench[which] = Bench()
            for draw in range(DRAWS):
                seed = plan.seed * 1000 + which + BOARDS * draw
                player = Player(plan.world.board, healthy, seed, bench, STEADY)
                if self._works(player):
                    break
            self.good[which] = player
        return self.good[which]

    def _works(self, player: Player) -> bool:
        """Whether every output that a good board surely has right is so."""
        kind, world = self.catalogue.kind(SYMPTOM), self.plan.world
        checks = list(kind.offers(world))
        for check, told in zip(checks, kind.outcomes(checks, world, self.plan.meter), strict=True):
            best = int(np.argmax(told.p[0]))
            if told.p[0, best] > _EXPECTED and player.answer(check) != told.labels[best]:
                return False
        return True

    def _complaint(self, player: Player, good: Player, number: int) -> tuple[Check, str] | None:
        """What the owner has noticed: any one of all that is wrong; ``None`` when nothing is."""
        wrong = list(wrong_outputs(player, good, self.plan.world))
        rng = np.random.default_rng([self.plan.seed, number, 11])
        return wrong[int(rng.integers(len(wrong)))] if wrong else None

    def _why(self, fault: Fault, found: Finding, player: Player) -> tuple[str, str]:
        """A class of miss, and the reading that spoke most against the truth."""
        row = next((k for k, one in enumerate(self.plan.world.faults) if one.id == fault.id), -1)
        worst, least = None, 1.0
        for one in found.asked:
            share = float(one.likelihood[row] / max(float(one.likelihood.max()), 1e-300))
            if share < least:
                worst, least = one, share
        detail = ""
        if worst is not None:
            detail = f"{worst.check.id} = {worst.answer} ({least:.2g} of the best fit)"
        if player.misread and least < _DISAGREES:
            return "misread", detail
        if least < _DISAGREES:
            return "prediction differs from the simulator", detail
        if player.unresolved:
            return "simulator did not converge", detail
        if math.isclose(found.probability, 0.0) or found.kind == "too many":
            return "too many checks", detail
        return "not told apart", detail
