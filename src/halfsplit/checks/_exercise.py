"""How a stage is recorded: what to play meanwhile, how fast to sample, on what to trigger."""

from __future__ import annotations

from halfsplit.build.world import World
from halfsplit.checks._recorded import Stage
from halfsplit.frozen import dataclass
from halfsplit.parts.registry import KINDS
from halfsplit.units import format_quantity

__all__ = ["Exercise", "exercise_of"]

SETTLES = 5.0
"""Time constants of a coil in a step: the current is there to 1 %."""
SHORTEST = 2e-3
"""s; no step need be shorter (judgement)."""
SAMPLES = 20
"""Of a step, at least."""
ROUNDS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """``schedule`` as :func:`halfsplit.build.transient_schedule.read_schedule` takes it; ``step``
    s each; ``rate`` samples per s at least; ``seconds`` in all; ``trigger`` where and which edge,
    when the exercise comes to its second state."""

    schedule: str
    step: float
    rate: float
    seconds: float
    trigger: str

    @property
    def words(self) -> str:
        """One sentence."""
        return (
            f"Trigger on {self.trigger}, {format_quantity(self.rate, 'Hz')} or more samples, "
            f"{format_quantity(self.seconds, 's')} long, and meanwhile play: {self.schedule}"
        )


def exercise_of(stage: Stage, world: World) -> Exercise:
    """Twice round the states of a stage, its first state before and after; the step is long enough
    for the slowest coil."""
    step = _step(world)
    first, *others = stage.states
    rest, count = 2.0 * step, ROUNDS * len(others)
    around = f"{first} {_typed(rest)}"
    turns = f"{'/'.join(others)} x{count} {_typed(step)}"
    change = (stage.healthy[0] != stage.healthy[1]).argmax()
    edge = "rising" if stage.healthy[1, change] else "falling"
    return Exercise(
        schedule=f"{around}, {turns}, {around}",
        step=step,
        rate=SAMPLES / step,
        seconds=2.0 * rest + count * step,
        trigger=f"the first {edge} edge of {stage.nets[change]}",
    )


def _typed(seconds: float) -> str:
    return format_quantity(seconds, "s").replace(" ", "")


def _step(world: World) -> float:
    """s, of the series 1, 2, 5."""
    slowest = max(
        (
            store.value / part.value
            for part in world.board.parts
            if part.kind == "winding" and part.value
            for store in KINDS.get(part.kind).stores(part)
        ),
        default=0.0,
    )
    wanted = max(SETTLES * slowest, SHORTEST)
    decade = 1e-3
    while True:
        for digit in (1.0, 2.0, 5.0):
            if digit * decade >= 0.999 * wanted:
                return digit * decade
        decade *= 10.0
