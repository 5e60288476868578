"""How a controller drives its phases, written down from captures, and compared with another.

A manner is what can be seen at the pins: the sequence, the order of the wires, how long each step
after a pause takes, what it does when a move ends. It says what was exercised, and no more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from itertools import pairwise

import numpy as np

from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity
from halfsplit.waves.account import Account
from halfsplit.waves.command import Commanded, Commands, learn_commands, obeyed
from halfsplit.waves.explain import order_words
from halfsplit.waves.ledger import Move, Step

__all__ = ["Comparison", "Difference", "Manner", "Pace", "compare", "learn", "needed"]

TOLERANCE = 0.1
"""Relative spread of a step's time that is allowed beyond what the captures showed (judgement)."""

SPREADS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """Step ``number`` of a move (from 1) comes ``seconds`` after the one before, give or take
    ``spread`` (one standard deviation), by ``seen`` examples."""

    number: int
    seconds: float
    spread: float
    seen: int

    def allows(self, seconds: float) -> bool:
        """Whether a time is within what was seen and the tolerance."""
        slack = SPREADS * self.spread + TOLERANCE * self.seconds
        return abs(seconds - self.seconds) <= slack


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """``sequence`` by name, ``order`` of the lines in the ring, ``active`` level; ``paces`` of the
    first steps of a move in order, ``cruise`` for those after; ``rests``: the coils go off between
    moves; ``steps``, ``moves`` and ``ways`` ("up", "down") are what was exercised; ``commands`` how
    it does as it is told, where that was watched."""

    sequence: str
    phases: int
    order: tuple[str, ...]
    active: str
    paces: tuple[Pace, ...]
    cruise: Pace | None
    rests: bool
    steps: int
    moves: int
    ways: tuple[str, ...]
    commands: Commands | None = None

    def to_json(self) -> dict[str, object]:
        """For programs and for keeping; times in s."""
        data = asdict(self)
        return {**data, "order": list(self.order), "ways": list(self.ways),
                "paces": [asdict(pace) for pace in self.paces]}  # fmt: skip

    @classmethod
    def from_json(cls, data: Mapping[str, object]) -> Manner:
        """The manner that `to_json` wrote. Raises :class:`WaveError` for anything else."""
        try:
            paces = data["paces"]
            cruise, commands = data["cruise"], data.get("commands")
            order, ways = data["order"], data["ways"]
            assert isinstance(paces, list)
            assert isinstance(order, list)
            assert isinstance(ways, list)
            assert cruise is None or isinstance(cruise, dict)
            assert commands is None or isinstance(commands, dict)
            return cls(
                **{name: data[name] for name in _PLAIN},  # type: ignore[arg-type]
                order=tuple(order),
                ways=tuple(ways),
                paces=tuple(Pace(**pace) for pace in paces),
                cruise=None if cruise is None else Pace(**cruise),
                commands=None if commands is None else Commands(**commands),
            )
        except (KeyError, TypeError, AssertionError) as error:
            raise WaveError(
                f"expected a description of a controller as halfsplit compare writes it, got "
                f"something else ({error})"
            ) from error


_PLAIN = ("sequence", "phases", "active", "rests", "steps", "moves")

RAMP = 12
"""Steps of a move whose paces are kept one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One way in which a suspect differs: ``what`` in a word, ``words`` in a sentence, ``time`` (s)
    of the first instance, not-a-number where it has none."""

    what: str
    words: str
    time: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """``good`` with the ``verdict`` in words, never more than was exercised; differences."""

    good: bool
    verdict: str
    differences: tuple[Difference, ...]


def learn(accounts: Sequence[Account], told: Sequence[Commanded] = ()) -> Manner:
    """Write down how a good unit behaves, from captures of it that are right; ``told`` are those
    in which its commands were recorded too.

    Raises :class:`WaveError` without captures, for one that is not right, or when they differ.
    """
    if not accounts:
        raise WaveError("expected captures of a good unit, got none")
    for one in accounts:
        if one.explanation.kind != "right":
            raise WaveError(f"expected captures of a good unit, but: {one.explanation.words}")
    first = accounts[0]
    kinds = {(one.found.best.sequence, one.found.best.active_low) for one in accounts}
    if len(kinds) > 1:
        raise WaveError("expected captures of one controller; their sequences differ")
    by_number: dict[int, list[float]] = {}
    for number, seconds, _ in _intervals(accounts):
        by_number.setdefault(number, []).append(seconds)
    late = [s for number, some in by_number.items() if number > RAMP for s in some]
    return Manner(
        sequence=first.found.best.sequence.name,
        phases=first.found.best.sequence.phases,
        order=tuple(order_words(first.found).split()),
        active="low" if first.found.best.active_low else "high",
        paces=tuple(
            _pace(number, some) for number, some in sorted(by_number.items()) if number <= RAMP
        ),
        cruise=_pace(RAMP + 1, late) if late else None,
        rests=any(bool(one.found.walk.resting.any()) for one in accounts),
        steps=sum(_steps(one) for one in accounts),
        moves=sum(len(one.ledger.moves) for one in accounts),
        ways=_ways(accounts),
        commands=learn_commands(told) if told else None,
    )


def needed(account: Account) -> Comparison:
    """Compare with what the mechanism needs: a whole sequence, no state out of turn."""
    said = account.explanation
    if said.kind == "right":
        return _proven([account], ())
    what = Difference(
        what=said.kind, words=said.words,
        time=account.ledger.oddities[0].time if account.ledger.oddities else float("nan"),
    )  # fmt: skip
    return _proven([account], (what,))


def compare(manner: Manner, suspect: Account, told: Commanded | None = None) -> Comparison:
    """Compare a suspect with the manner of a good or a sister unit; ``told`` has the commands that
    it got, if they were recorded. Raises :class:`WaveError` when those of the good unit were not.
    """
    found = suspect.found.best
    differences = list(needed(suspect).differences)
    if found.sequence.name != manner.sequence or found.sequence.phases != manner.phases:
        differences.append(
            Difference(
                what="sequence",
                words=f"The sequence is {found.sequence.name} of {found.sequence.phases} phases; "
                f"the good one's is {manner.sequence} of {manner.phases}.",
            )
        )
    order = tuple(order_words(suspect.found).split())
    if set(order) == set(manner.order) and not _one_ring(order, manner.order):
        differences.append(
            Difference(
                what="order",
                words=f"The wires come in the order {' '.join(order)}; the good one's in "
                f"{' '.join(manner.order)}.",
            )
        )
    if told is None:
        differences += _paces(manner, suspect)
    else:
        # Paced by its commands, it is the answer to each that counts.
        differences += _commands(manner, told)
    if bool(suspect.found.walk.resting.any()) != manner.rests:
        differences.append(
            Difference(
                what="rest",
                words="The coils go off between moves, which the good one's do not."
                if not manner.rests
                else "The coils stay on between moves; the good one's go off.",
            )
        )
    return _proven([suspect], tuple(differences), told)


def _proven(
    accounts: Sequence[Account],
    differences: tuple[Difference, ...],
    told: Commanded | None = None,
) -> Comparison:
    steps, ways = sum(_steps(one) for one in accounts), _ways(accounts)
    exercised = (
        f"{steps} steps, {'both directions' if len(ways) > 1 else 'one direction only'}, "
        f"{sum(len(one.ledger.moves) for one in accounts)} moves, lines "
        + " ".join(accounts[0].found.states.names)
    )
    if told is not None:
        exercised += ", told by " + " and ".join(
            line.name for line in (told.step, told.way) if line is not None
        )
    if differences:
        verdict = f"It differs in {', '.join(d.what for d in differences)} ({exercised})."
    else:
        verdict = f"Proven good as far as exercised: {exercised}."
    return Comparison(good=not differences, verdict=verdict, differences=differences)


def _paces(manner: Manner, suspect: Account) -> list[Difference]:
    """Steps that come too soon or too late, the first told with its time."""
    known = {pace.number: pace for pace in manner.paces}
    wrong = []
    judged = 0
    for number, seconds, time in _intervals([suspect]):
        pace = known.get(number) if number <= RAMP else manner.cruise
        if pace is not None:
            judged += 1
            if not pace.allows(seconds):
                wrong.append((time, number, seconds, pace))
    if not wrong:
        return []
    time, number, seconds, pace = wrong[0]
    return [
        Difference(
            what="timing",
            words=f"{len(wrong)} of {judged} steps come at another pace; first, step {number} of "
            f"a move takes {1e3 * seconds:.3g} ms instead of {1e3 * pace.seconds:.3g} ms.",
            time=time,
        )
    ]


def _commands(manner: Manner, told: Commanded) -> list[Difference]:
    """Edges without a step, steps without one, steps at another time after it or the other way."""
    good = manner.commands
    if good is None:
        raise WaveError(
            "expected a good unit whose commands were recorded, got one without; record STEP with "
            "its phases too, or leave --step out"
        )
    found = obeyed(told, good.edge)
    slack = SPREADS * good.spread + TOLERANCE * good.delay + told.step.resolution
    wrong = np.abs(found.delays - good.delay) > max(slack, good.longest - good.delay)
    count = found.delays.size + found.missed.size
    said = [
        ("missed", found.missed, f"of {count} commands bring no step"),
        ("unasked", found.unasked, "steps come without a command"),
        (
            "delay", found.times[wrong],
            f"of {count} steps come at another time after their command; the good one's after "
            f"{format_quantity(good.delay, 's')}, this one's after "
            f"{format_quantity(float(np.median(found.delays)) if count else 0.0, 's')} (median)",
        ),
    ]  # fmt: skip
    if good.high and told.way is not None:
        away = (found.ups == found.highs) != (good.high == "up")
        said.append(("direction", found.times[away], f"of {count} steps go the other way"))
    return [
        Difference(what=what, words=f"{times.size} {words}.", time=float(times[0]))
        for what, times, words in said
        if times.size
    ]


def _intervals(accounts: Sequence[Account]) -> list[tuple[int, float, float]]:
    """Number of each step in its move (from 2), s since the one before, and its time.

    The last steps of a move, where a ramp runs down, are left out: which they are cannot be known
    from how many came before."""
    result = []
    for one in accounts:
        for number, move in enumerate(one.ledger.moves):
            steps = [s for s in one.ledger.steps if s.move == number]
            result += _of_move(move, steps)
    return result


def _of_move(move: Move, steps: Sequence[Step]) -> list[tuple[int, float, float]]:
    kept = len(steps) - 1 - max(1, move.ramp)
    return [
        (i + 2, after.time - before.time, after.time)
        for i, (before, after) in enumerate(pairwise(steps))
        if i < kept and after.moved == 1
    ]


def _pace(number: int, seconds: Sequence[float]) -> Pace:
    values = np.array(seconds)
    return Pace(
        number=number,
        seconds=float(np.median(values)),
        spread=float(values.std()),
        seen=len(values),
    )


def _steps(account: Account) -> int:
    return sum(step.moved for step in account.ledger.steps)


def _ways(accounts: Sequence[Account]) -> tuple[str, ...]:
    up = any(one.ledger.forward for one in accounts)
    down = any(one.ledger.backward for one in accounts)
    return tuple(word for word, seen in (("up", up), ("down", down)) if seen)


def _one_ring(a: Sequence[str], b: Sequence[str]) -> bool:
    turned = [tuple(b[i:]) + tuple(b[:i]) for i in range(len(b))]
    return tuple(a) in turned or tuple(reversed(a)) in turned
