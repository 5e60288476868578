"""Networks of gates for the tests: ISCAS circuits from files, and random ones."""

from collections.abc import Callable
from pathlib import Path

import numpy as np

from halfsplit.build.gates import NamedGates, read_bench
from halfsplit.solve.gates import Gates, Kind, gates

FOLDER = Path(__file__).parents[1] / "truth" / "gates"


def iscas(name: str) -> NamedGates:
    """A circuit of ``tests/truth/gates``."""
    return read_bench((FOLDER / f"{name}.bench").read_text(encoding="utf-8"), source=name)


def random_network(rng: np.random.Generator, inputs: int, count: int) -> Gates:
    """Gates of all kinds with one to four sources among the nets before them."""
    kinds = [Kind.INPUT] * inputs
    sources: list[list[int]] = [[] for _ in range(inputs)]
    for net in range(inputs, inputs + count):
        kind = Kind(int(rng.integers(Kind.ZERO if net > inputs else Kind.BUF, len(Kind))))
        most = 0 if kind < Kind.BUF else 1 if kind < Kind.AND else int(rng.integers(1, 5))
        kinds.append(kind)
        sources.append(rng.integers(max(0, net - 12), net, most).tolist())
    outputs = rng.choice(np.arange(inputs, inputs + count), 3, replace=False)
    return gates(kinds, sources, [*outputs.tolist(), inputs + count - 1])


def by_hand(
    network: Gates, given: list[bool], stuck: tuple[int, int, int, bool] | None = None
) -> list[bool]:
    """Levels of all nets, gate by gate in plain Python; ``stuck``: net, reader, pin, level."""
    rules: dict[Kind, Callable[[list[bool]], bool]] = {
        Kind.ZERO: lambda fed: False, Kind.ONE: lambda fed: True,
        Kind.BUF: all, Kind.NOT: lambda fed: not fed[0],
        Kind.AND: all, Kind.NAND: lambda fed: not all(fed),
        Kind.OR: any, Kind.NOR: lambda fed: not any(fed),
        Kind.XOR: lambda fed: sum(fed) % 2 == 1, Kind.XNOR: lambda fed: sum(fed) % 2 == 0,
    }  # fmt: skip
    levels: list[bool] = []
    left = list(given)
    for net, kind in enumerate(network.kinds):
        fed = [
            stuck[3] if stuck and stuck[:3] == (source, net, pin) else levels[source]
            for pin, source in enumerate(network.sources[net])
        ]
        level = left.pop(0) if kind == Kind.INPUT else bool(rules[kind](fed))
        levels.append(stuck[3] if stuck and stuck[:3] == (net, -1, -1) else level)
    return levels
