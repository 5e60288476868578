"""The best way through a small case, against paper and against another search."""

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.optimum import reduce_chain
from tests.build.worlds import world

from halfsplit.belief.exact import Case, cheapest
from halfsplit.checks.kind import Meter
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.cost import TRY, repair_cost
from halfsplit.diagnose.cures import cured_by
from halfsplit.diagnose.standing import POWER
from halfsplit.trial import optimum
from halfsplit.trial.optimum import compare
from halfsplit.trial.reduced import Reduced, reduce

LOOKED_AT = """
board "four parts"
rail +5 5V 5%
R1 1k 5% +5 A
R2 1k 5% A B
R3 1k 5% B GND
C1 100nF B GND
state on
"""


@pytest.fixture(scope="module")
def chain() -> Reduced:
    return reduce_chain(4)


def test_four_equal_blocks_are_halved_twice(chain: Reduced) -> None:
    """Huffman: two checks, whichever it is. The board is switched on once; a slip in three hundred
    is left out on paper."""
    found = compare(chain)
    block = chain.repairs[0]
    minutes = block.minutes + block.price + TRY + POWER + 2.0 * chain.checks[0].cost
    assert found.best == pytest.approx(minutes, rel=0.02)
    assert found.best <= found.ours <= 1.05 * found.best


def test_whoever_only_repairs_pays_two_and_a_half_repairs(
    chain: Reduced, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One of four in any order: (1 + 2 + 3 + 4) / 4 tries."""
    monkeypatch.setattr(optimum, "suggest", lambda session, count: [])
    found = compare(chain)
    assert found.ours == pytest.approx(2.5 * repair_cost(chain.repairs[0], chain.world), rel=1e-6)
    assert found.ours > 1.15 * found.best
    assert found.worst.minutes > 0.0
    assert found.worst.ours.startswith("repair")
    assert found.worst.best.startswith("signal")


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_it_agrees_with_a_search_written_apart(seed: int) -> None:
    """Drawn tables, costs that do not hang on the order: ``belief.exact`` is held to published
    examples."""
    rng = np.random.default_rng(seed)
    compiled = world(LOOKED_AT)
    catalogue = Catalogue(compiled, Meter())
    small = reduce(catalogue, catalogue.prior(), suspects=4, checks=3, kinds=("look",))
    assert {one.offer.setup for one in small.checks} == {"off"}
    checks = []
    for one in small.checks:
        drawn = rng.dirichlet(np.ones(2), size=len(small.prior))
        checks.append(
            replace(one, readings=one.readings[:2], p=drawn, offer=replace(one.offer, minutes=2.0))
        )
    case = replace(small, checks=tuple(checks))
    rows = np.flatnonzero(case.prior)
    cures = np.stack([cured_by(compiled, one.id)[rows] for one in case.repairs])
    cost = np.array([repair_cost(one, compiled) for one in case.repairs])
    p = case.prior[rows]
    other = cheapest(
        Case(
            p=p,
            tables=[one.p[rows] for one in checks],
            check_cost=np.array([one.cost for one in checks]),
            cures=cures.astype(float),
            repair_cost=cost,
            give_up=1e6,
        )
    )
    bill = optimum._Bill(case)
    start = ((optimum.OPEN,) * len(checks), 0, -1)
    assert optimum._Best(bill).cost(p, start) == pytest.approx(other.cost, rel=2e-3)
