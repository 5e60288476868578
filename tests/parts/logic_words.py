"""Words that the functions of logic chips are written in."""

from collections.abc import Callable, Mapping

Bits = Mapping[str, int]


Answer = dict[str, int | None]
"""Output name -> level, ``None`` when it lets go."""


Function = Callable[[Bits], Answer]


def number(i: Bits, names: str) -> int:
    """A binary number from inputs, most significant first."""
    return int("".join(str(i[name]) for name in names.split()), 2)


def spread(value: int, names: str) -> Answer:
    """A number on outputs, most significant first."""
    listed = names.split()
    return {name: (value >> (len(listed) - 1 - k)) & 1 for k, name in enumerate(listed)}


def one_of(count: int, chosen: int | None, name: str = "Y{}", low: bool = True) -> Answer:
    """A decoder: the chosen output alone is low (or high)."""
    return {name.format(n): int((n == chosen) != low) for n in range(count)}


SEGMENTS = (
    "abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "cdefg", "abc", "abcdefg", "abcfg",
    "deg", "cdg", "bfg", "adfg", "defg", "",
)  # fmt: skip
"""Lit segments for 0 to 15: the digits as the 7447's figure shows them, 6 and 9 without tails."""
