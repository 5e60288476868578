"""A level that is neither low nor high: what follows may be either, and what is told covers it.

Between the limits of its data sheet (0.8 and 2.0 V for TTL; 1.5 and 3.5 V for HC at 5 V, JEDEC
JESD7A, from memory) a gate may answer as it likes. What three dies drawn answer is asked of
gates written transistor by transistor in ngspice, as in tests/parts/stages.py.
"""

from collections.abc import Iterator

import pytest
from tests.build.worlds import world
from tests.trial.bench import GOOD

from halfsplit.build.compiled import Compiled
from halfsplit.build.together import both
from halfsplit.trial.stand import Bench, Stand

BOARD = """board "between"
rail +5 5V 0%
rail IN 1V 0% ohms=50
U1 {family}00 1=IN 2=+5 3=N 4=N 5=EN 6=P 9=P 10=+5 8=Q
offsheet EN drive {family}
"""
NETS = ("N", "P", "Q")
LOW, HIGH, UNDECIDED = 0.3, 2.0, 1.0
"""Volts: the most spread that a sure level has, the least level taken for high, the least spread
of what may be either."""
FAMILIES = {"74": (0.4, 2.4, 1.3), "74LS": (0.4, 2.4, 1.1), "74HC": (1.5, 3.5, 2.45)}
"""Input: surely low, surely high, near the usual threshold; volts."""
STEPS = (-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3)


def made(family: str, levels: tuple[float, ...]) -> Compiled:
    states = [f"state s{k} IN={volts:.4g}V EN=high" for k, volts in enumerate(levels)]
    shut = f"state shut IN={levels[0]:.4g}V EN=low"
    return world(BOARD.format(family=family) + "\n".join((*states, shut, "")))


def told(compiled: Compiled, state: str) -> dict[str, tuple[float, float]]:
    """Mean and spread by net, without the error of the laws."""
    done, nodes = compiled.result(state), compiled.assembly.net_node
    return {
        net: (float(done.nominal[nodes[net], 0]), float(done.spread[nodes[net], 0])) for net in NETS
    }


@pytest.mark.parametrize("family", FAMILIES)
def test_an_undecided_level_goes_through_three_gates_and_no_farther_than_one_that_is_shut(
    family: str,
) -> None:
    low, high, between = FAMILIES[family]
    compiled = made(family, (between, low, high))
    sure = [told(compiled, state) for state in ("s1", "s2")]
    for net in NETS:
        assert all(spread < LOW for _, spread in (found[net] for found in sure))
        levels = [found[net][0] > HIGH for found in sure]
        assert levels[0] != levels[1]
        mean, spread = told(compiled, "s0")[net]
        assert spread > UNDECIDED
        assert mean - 2.5 * spread < 0.4
        assert mean + 2.5 * spread > HIGH
    shut = told(compiled, "shut")
    assert shut["N"][1] > UNDECIDED
    assert shut["P"][0] > HIGH
    assert max(shut["P"][1], shut["Q"][1]) < LOW


@pytest.fixture(scope="module")
def simulators(ngspice: str) -> Iterator[Bench]:
    running = Bench()
    yield running
    running.close()


@pytest.mark.spice
@pytest.mark.parametrize("family", FAMILIES)
def test_every_die_is_within_what_is_told(family: str, simulators: Bench) -> None:
    """Through the whole of the band around the threshold, where some dies turn and others not."""
    levels = tuple(FAMILIES[family][2] + step for step in STEPS)
    compiled = made(family, levels)
    alone = both(compiled, [])
    assert alone is not None
    stands = [Stand(compiled.board, GOOD, die, simulators) for die in (1, 2, 3)]
    turned = set()
    for k in range(len(levels)):
        numbers = alone.volts(f"s{k}", [f"net {net}" for net in NETS])
        for n, net in enumerate(NETS):
            mean, spread = numbers.mean[0, n], numbers.spread[0, n]
            assert not numbers.floating[0, n]
            for stand in stands:
                volts = stand.volts(net, f"s{k}")
                assert volts is not None
                assert abs(volts - mean) < 3.0 * spread, f"{net} at {levels[k]:.2f} V"
                turned.add((net, volts > HIGH))
    assert len(turned) == 2 * len(NETS)
