"""The slopes of the logic laws against central differences."""

import numpy as np
import pytest

from halfsplit.solve.law import Array, Law
from halfsplit.solve.laws.logic import LogicOutput, Pull, TtlInput

STEP = 1e-6
BATCH = 40
RANGES = {
    "vth": (1.0, 1.6), "rel": (0.0, 1.0), "steep": (2.0, 20.0), "a0": (0.0, 0.4), "a1": (-0.5, 0.6),
    "e0": (0.0, 0.3), "e1": (0.2, 0.7), "bit": (0.0, 1.0), "kl": (0.2, 1.0), "kh": (0.2, 1.0),
    "il": (0.01, 0.1), "rl": (5.0, 50.0), "off": (0.0, 0.2), "ih": (0.01, 0.1), "rh": (30.0, 150.0),
    "drop": (0.0, 1.5), "on_at": (1.0, 3.0), "leak": (0.0, 1e-3), "swing": (0.0, 0.9),
    "r": (2e3, 3e4), "off_at": (0.8, 1.5), "k": (0.0, 1.0), "g": (0.0, 1e-3),
}  # fmt: skip
PULLS: tuple[Pull, ...] = ("none", "follower", "darlington", "mos")
LAWS: list[Law] = [
    TtlInput(),
    *(LogicOutput(inputs=(), level="1", high=high) for high in PULLS),
    *(
        LogicOutput(inputs=("a", "b", "c"), level="!(a & b ^ c) | q & a", enable=enable, high=high)
        for enable in ("", "!a & c")
        for high in PULLS
    ),
]


def drawn(law: Law, rng: np.random.Generator) -> tuple[Array, Array]:
    """Voltages [E, 1, B] and parameters [P, 1, B]."""
    v = rng.uniform(-0.5, 4.0, (law.terminals, 1, BATCH))
    v[1] = rng.uniform(2.0, 6.0, (1, BATCH))
    v[2] = rng.uniform(-0.5, 0.5, (1, BATCH))
    rows = []
    for name in law.parameters:
        seen = {"o": (0.0, 0.5), "w": (0.0, 1.0)}
        low, high = RANGES[name] if name in RANGES else seen[name[0]]
        rows.append(rng.uniform(low, high, (1, BATCH)))
    return v, np.stack(rows)


@pytest.mark.parametrize("law", LAWS, ids=repr)
def test_slopes_are_the_derivatives(law: Law, rng: np.random.Generator) -> None:
    v, p = drawn(law, rng)
    currents, slopes = law.evaluate(v, p, False)
    assert currents.shape == v.shape
    assert np.abs(currents.sum(axis=0)).max() < 1e-12  # Kirchhoff: what goes in comes out
    for terminal in range(law.terminals):
        shift = np.zeros_like(v)
        shift[terminal] = STEP
        ahead, behind = (law.evaluate(v + s * shift, p, False)[0] for s in (1.0, -1.0))
        numeric = (ahead - behind) / (2.0 * STEP)
        np.testing.assert_allclose(slopes[:, terminal], numeric, rtol=2e-5, atol=2e-8)


def test_an_input_open_inside_is_seen_as_its_floating_level(rng: np.random.Generator) -> None:
    law = LogicOutput(inputs=("a", "b"), level="!(a & b)")
    v, p = drawn(law, rng)
    names = law.parameters
    assert names[-4:] == ("o1", "w1", "o2", "w2")
    for name, value in {"o1": 1.0, "w1": 0.0, "o2": 0.0, "w2": 1.0}.items():
        p[names.index(name)] = value
    ahead, behind = v.copy(), v.copy()
    ahead[3], behind[3] = 5.0, 0.0
    np.testing.assert_array_equal(law.logic(ahead, p)[0]["a"], np.ones((1, BATCH)))
    np.testing.assert_array_equal(
        law.evaluate(ahead, p, False)[0], law.evaluate(behind, p, False)[0]
    )
