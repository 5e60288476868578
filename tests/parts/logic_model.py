"""A chip with memory on paper: a rule, the pins before and after a step, and its state."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tests.parts.logic_words import Answer, Bits

State = defaultdict[str, int]


Rule = Callable[[State, Bits, Bits], Answer]
"""State, pins before and after the step -> outputs; changes the state."""


@dataclass(frozen=True)
class Steps:
    """A chip: its rule, pins that rest at a level most of the time, steps that its data sheet
    rules out."""

    rule: Rule
    resting: Mapping[str, int] = field(default_factory=dict)
    barred: Callable[[Bits, Bits], bool] = lambda old, new: False

    def make(self) -> "Model":
        return Model(self.rule)


class Model:
    """One chip of its own."""

    def __init__(self, rule: Rule) -> None:
        self.rule, self.state = rule, State(int)

    def start(self, pins: Bits) -> None:
        self.rule(self.state, pins, pins)

    def step(self, old: Bits, new: Bits) -> Answer:
        return self.rule(self.state, old, new)


def rose(old: Bits, new: Bits, pin: str) -> bool:
    return (old[pin], new[pin]) == (0, 1)


def fell(old: Bits, new: Bits, pin: str) -> bool:
    return (old[pin], new[pin]) == (1, 0)


def resting(text: str) -> dict[str, int]:
    """``nCLR1 nCLR2 !R`` -> high, high, low."""
    return {word.lstrip("!"): int(not word.startswith("!")) for word in text.split()}
