"""The compiled kernel against the numpy engine: law by law, and on the example boards' faults.

numpy is the reference here; it is held to textbooks and to an independent simulator by its own
tests. Where no C compiler is, these tests make sure that numpy is what runs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any
from unittest import mock

import hatch_build
import numpy as np
import pytest
from tests.solve import circuits

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve import engine, newton, persistent, response
from halfsplit.solve.circuit import Circuit, Placed, make_circuit
from halfsplit.solve.kernel import Kernel, load_kernel
from halfsplit.solve.law import Array, Law
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.analog import Comparator, PhotoTransistor, Regulator
from halfsplit.solve.laws.contact import Contact
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Source
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.laws.mosfet import Mosfet
from halfsplit.solve.laws.stage import StageDrive, StageTrouble
from halfsplit.solve.newton import Probe

AGREE = 1e-9
"""V."""
NOISE = 1e-11
"""A: what rounding leaves of sums over a board; a node's voltage is uncertain by that times its
source resistance (the worst seen is 8e-12)."""
AMPLIFY = 0.05
"""Share of the cases of a board that may do so."""
NEARLY = 5e-3
"""Volts from a first solution, not quite there, to where it comes to rest."""
BALANCED, AMPLIFIED = 2e-11, 3e-5
"""A, V: where a gate's input floats, or a ring of gates amplifies, rounding shows at places of low
resistance too. There both must obey Kirchhoff's law at every node to the first, and agree
to the second."""
LEAVE_OUT = 2
"""Times that cases are left out which neither engine solves directly."""
EXAMPLES = ("linear-supply", "logic-card", "plotter-drive")
BOARDS = Path(__file__).parent / "boards"
WHOLE = ("bridge", "cmos", "driver", "regulators", "relays")
"""Boards of this folder whose whole fault lists are compared each time; slow tests take more."""
PHOTO: Mapping[str, float] = {"is_": 1e-14, "n": 1.6, "ctr": 0.3, "light": 1.0, "dark": 1e-8}
LAWS: tuple[tuple[Law, Mapping[str, float]], ...] = (
    (Diode(), circuits.DIODE),
    (Diode(), {**circuits.DIODE, "bv": 4.0, "nbv": 2.0}),
    (Bipolar(), circuits.NPN),
    (Bipolar(sign=-1.0), {**circuits.NPN, "bvce": 6.0}),
    (TtlInput(), circuits.TTL_INPUT),
    (Mosfet(), circuits.MOSFET),
    (Mosfet(sign=-1.0), circuits.MOSFET),
    (Regulator(), circuits.REGULATOR),
    (Regulator(sign=-1.0), circuits.REGULATOR),
    (PhotoTransistor(), PHOTO),
    (Comparator(), circuits.COMPARATOR),
    (Amplifier(), circuits.AMPLIFIER),
    (Amplifier(), {**circuits.AMPLIFIER, "ib": -8e-8, "steep": 20.0, "low": 1.5}),
    (Contact(), circuits.CONTACT),
    (Contact(), {**circuits.CONTACT, "a0": 1.0, "a1": -1.0}),
    (StageTrouble(1), circuits.STAGE),
    (StageTrouble(3), circuits.STAGE),
    (StageDrive(), {"stiff": 1.0, "good": 3.4, "other": 0.2, "vary": 1.0, "off": 0.5}),
    (LogicOutput(inputs=(), level="1"), circuits.GATE),
    (LogicOutput(inputs=("a",), level="!a", high="none"), circuits.GATE),
    (LogicOutput(inputs=("a", "b"), level="!(a & b)"), circuits.GATE),
    (LogicOutput(inputs=("a",), level="a", high="darlington"), circuits.GATE),
    (LogicOutput(inputs=("a", "b"), level="a ^ b", enable="!q | b", high="mos"), circuits.GATE),
    (
        LogicOutput(inputs=("a", "b", "c"), level="a & !(b | q) ^ c | 0", enable="c & a"),
        {**circuits.GATE, "rel": 1.0, "vth": 0.45, "bit": 0.3, "swing": 0.2},
    ),
)


@pytest.fixture(scope="module")
def kernel(monkeypatch_module: pytest.MonkeyPatch) -> Kernel | None:
    """The kernel, compiled now if its source is newer; None without a compiler."""
    library = hatch_build.library_path(hatch_build.FOLDER)
    if not hatch_build.find_compiler():
        monkeypatch_module.setattr(engine, "load_kernel", lambda: load_kernel("/no/such/file"))
        assert engine.engine_name() == "numpy"
        return None
    assert hatch_build.compile_kernel(library) == ""
    found = load_kernel(str(library))
    assert found is not None, "compiled, and yet it does not load"
    return found


@pytest.fixture(scope="module")
def monkeypatch_module() -> Any:
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("HALFSPLIT_ENGINE", raising=False)
        yield patch


def driven(law: Law, base: Mapping[str, float]) -> tuple[Circuit, int]:
    """One element with a source of its own at each terminal."""
    count = law.terminals
    params = {**base, **(circuits.seen_inputs(law) if isinstance(law, LogicOutput) else {})}
    placed = [Placed(key=("X", ""), law=law, nodes=tuple(range(count)), params=params)]
    placed += [
        Placed(key=("V", str(e)), law=Source(), nodes=(e, -1), params={"g": 0.02, "volts": 0.0})
        for e in range(count)
    ]
    if isinstance(law, PhotoTransistor):  # without the LED it has no limit to its light
        led = {**circuits.DIODE, "is_": base["is_"], "n": base["n"]}
        placed.append(Placed(key=("D", ""), law=Diode(), nodes=(0, 1), params=led))
    return make_circuit(count, placed), count


def drawn(circuit: Circuit, width: int, rng: np.random.Generator) -> list[Array]:
    """Parameters by 20 % around their base, voltages of the sources from -3 to 9 V."""
    found = []
    for group in circuit.groups:
        p = group.base[:, :, None] * rng.uniform(0.8, 1.2, (*group.base.shape, width))
        if isinstance(group.law, Source):
            p[1] = rng.uniform(-3.0, 9.0, p[1].shape)
        found.append(p)
    return found


@pytest.mark.parametrize(("law", "base"), LAWS, ids=lambda x: getattr(x, "name", ""))
def test_a_law_alone(
    law: Law, base: Mapping[str, float], kernel: Kernel | None, rng: np.random.Generator
) -> None:
    if kernel is None:
        return
    circuit, _ = driven(law, base)
    params = drawn(circuit, 151, rng)
    theirs = compared(kernel, Asked(circuit, params, None, 151))
    solved = theirs.resolved
    assert solved.mean() > 0.95

    v = np.nan_to_num(theirs.v)
    varied = [p * rng.uniform(0.99, 1.01, p.shape) for p in params]
    linear = response.Linear.at(circuit, v, params)
    made = kernel.linear(circuit, v, params, [varied, params], want_ohms=True)
    assert made is not None
    ohms, moved = made
    np.testing.assert_allclose(ohms[:, solved], linear.ohms()[:, solved], rtol=1e-9)
    expected = linear.response(varied)[:, solved]
    assert np.abs(expected).max() > 1e-4
    np.testing.assert_allclose(moved[0][:, solved], expected, rtol=1e-7, atol=AGREE)
    assert np.abs(moved[1]).max() == 0.0


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_fault_of_an_example(name: str, kernel: Kernel | None) -> None:
    """All states, of every third batch one case in six; the slow test takes all of one state."""
    if kernel is not None:
        assert compared_example(kernel, name, share=6) > 40


@pytest.mark.slow
@pytest.mark.parametrize("name", [*EXAMPLES, "chain", "comparators", "latch", "sensor"])
def test_every_fault_of_an_example_in_full(name: str, kernel: Kernel | None) -> None:
    if kernel is not None:
        assert compared_example(kernel, name, share=1) > 300


@pytest.mark.parametrize("name", WHOLE)
def test_every_fault_of_a_board(name: str, kernel: Kernel | None) -> None:
    """All that the first state asks for: every fault, its milder and worse versions."""
    if kernel is not None:
        assert compared_example(kernel, name, share=1) > 100


def test_every_fault_of_the_amplifiers(kernel: Kernel | None) -> None:
    """The first batch that has them all; what its loops amplify there is many more."""
    if kernel is not None:
        every = next(one for one in asked("amplifiers", 1) if one.width > 400)
        odd: list[int] = []
        compared(kernel, every.only(np.arange(every.width)), "amplifiers", odd)
        assert sum(odd) <= AMPLIFY * every.width


def test_a_meter_at_every_node(kernel: Kernel | None) -> None:
    """Power-off measurements: a probe in each case, one side at ground or not."""
    if kernel is None:
        return
    circuit, count = driven(*LAWS[-1])
    params = [group.base[:, :, None] for group in circuit.groups]
    pairs = [(red, black) for red in range(-1, count) for black in range(-1, count)]
    slot = circuit.pattern.slot
    pairs = [(r, b) for r, b in pairs if r < 0 or b < 0 or (r, b) in slot]
    red, black = np.asarray(pairs, dtype=np.intp).T
    probe = Probe(red, black, np.full(red.size, 1e-4), np.full(red.size, 3e-4))
    theirs = newton.solve(circuit, params, probe=probe)
    ours = kernel.solve(circuit, params, probe=probe)
    assert ours is not None
    assert theirs.resolved.all()
    assert np.ptp(theirs.v, axis=1).min() > 1e-3
    assert np.abs(ours.v - theirs.v).max() < AGREE


def test_threads_and_neighbours_change_nothing(kernel: Kernel | None) -> None:
    if kernel is None:
        return
    batch = max(asked("plotter-drive", 1), key=lambda one: one.width)
    together = batch.solve(kernel.solve)
    threaded = batch.solve(kernel.solve, threads=3)
    np.testing.assert_array_equal(together.v, threaded.v)
    np.testing.assert_array_equal(together.resolved, threaded.resolved)
    some = np.arange(3, batch.width, 7)[::-1]
    alone = batch.only(some).solve(kernel.solve)
    np.testing.assert_array_equal(together.v[:, some], alone.v)


def test_companions_change_nothing_in_numpy() -> None:
    """Loops of operational amplifiers amplify what rounding leaves: a sum in another order, as it
    was made for a batch of one, left some of their cases open."""
    every = next(one for one in asked("amplifiers", 1) if one.width > 400)
    together = every.only(np.arange(0, every.width, 4)).solve(newton.solve)
    for some in ([15], [35], [0, 15, 35]):
        alone = every.only(4 * np.asarray(some)).solve(newton.solve)
        np.testing.assert_array_equal(alone.v, together.v[:, some])


def test_parameters_may_be_views(kernel: Kernel | None) -> None:
    """Any strides: nothing is copied on the way."""
    if kernel is None:
        return
    circuit, _ = driven(*LAWS[3])
    params = drawn(circuit, 40, np.random.default_rng(5))
    turned = [np.ascontiguousarray(p.transpose(2, 0, 1)).transpose(1, 2, 0) for p in params]
    guess = np.asfortranarray(np.full((circuit.size, 40), 0.5))
    plain, other = (
        kernel.solve(circuit, params, np.full((circuit.size, 1), 0.5)),
        kernel.solve(circuit, turned, guess),
    )
    assert plain is not None
    assert other is not None
    np.testing.assert_array_equal(plain.v, other.v)


class Asked:
    """One batch that a state asked for."""

    def __init__(
        self, circuit: Circuit, params: Sequence[Array], guess: Array | None, width: int
    ) -> None:
        self.circuit, self.guess, self.width = circuit, guess, width
        self.params = params

    def solve(self, how: Any, guess: Array | None = None, **more: Any) -> newton.Solution:
        found = how(self.circuit, self.params, self.guess if guess is None else guess, **more)
        assert isinstance(found, newton.Solution)
        return found

    def only(self, columns: Any) -> Asked:
        guess = self.guess
        if guess is not None and guess.shape[1] > 1:
            guess = guess[:, columns]
        params = [p if p.shape[2] == 1 else p[:, :, columns] for p in self.params]
        return Asked(self.circuit, params, guess, len(columns))


def asked(name: str, states: int) -> list[Asked]:
    """What the first states of an example or test board ask the solver, every fault."""
    folder = files("halfsplit").joinpath("examples") if name in EXAMPLES else BOARDS
    text = folder.joinpath(f"{name}.board").read_text(encoding="utf-8")
    world = compile_board(read_board(text, PartsVocabulary()))
    found: list[Asked] = []

    def solve(
        circuit: Circuit, params: Sequence[Array], guess: Array | None = None, **more: Any
    ) -> newton.Solution:
        done = engine.solve(circuit, params, guess, **more)
        kept = [p.copy() for p in params]
        found.append(
            Asked(circuit, kept, None if guess is None else guess.copy(), done.resolved.size)
        )
        return done

    with mock.patch.object(persistent, "solve", solve):
        for state in world.board.states[:states]:
            world.result(state.name)
    return found


def compared_example(kernel: Kernel, name: str, share: int) -> int:
    """Compare on what an example asks for: all states, or all cases of one; how many cases."""
    cases = 0
    odd: list[int] = []
    for number, whole in enumerate(asked(name, 99 if share > 1 else 1)):
        columns = np.arange(number % share, whole.width, share)
        if columns.size and (share == 1 or number % 3 == 0):
            compared(kernel, whole.only(columns), f"{name}, batch {number}", odd)
            cases += columns.size
    assert sum(odd) <= AMPLIFY * cases + 1, f"{name}: {sum(odd)} of {cases}"
    return cases


def compared(
    kernel: Kernel, batch: Asked, what: str = "", counts: list[int] | None = None
) -> newton.Solution:
    """Solve with both and compare; what numpy found. How many amplify rounding is added to
    ``counts`` where many batches of one board are judged together."""
    for _ in range(LEAVE_OUT):
        theirs, ours = batch.solve(newton.solve), batch.solve(kernel.solve, want_ohms=True)
        either = ours.resolved | theirs.resolved
        if counts is None or either.all():
            break
        batch = batch.only(
            np.flatnonzero(either)
        )  # the gain is raised by steps there: persistent.py
    if (excess(ours.v, theirs.v, ours.ohms) != 0.0).any():
        # they came to rest on different ways, not quite there or in another stable state, or one
        # went round in a circle, which rounding decides: go on with both from where one is
        stays = batch.solve(kernel.solve, np.nan_to_num(ours.v), want_ohms=True)
        moved = np.abs(stays.v - ours.v)[:, ours.resolved & stays.resolved]
        assert moved.max(initial=0.0) < NEARLY, what
        start = np.nan_to_num(np.where(theirs.resolved, theirs.v, ours.v))
        theirs = batch.solve(newton.solve, start)
        ours = batch.solve(kernel.solve, start, want_ohms=True)
    np.testing.assert_array_equal(ours.resolved, theirs.resolved, err_msg=what)
    odd = np.flatnonzero((excess(ours.v, theirs.v, ours.ohms) > 0.0).any(axis=0))
    part = batch.only(odd)
    for found in (ours, theirs):
        left = circuits.excess(batch.circuit, part.params, replace(found, v=found.v[:, odd]))
        assert np.abs(left).max(initial=0.0) < BALANCED, f"{what}, columns {odd}"
    differ = np.abs(ours.v - theirs.v)[:, odd]
    assert differ.max(initial=0.0) < AMPLIFIED, f"{what}, columns {odd}"
    if counts is not None:
        counts.append(int(odd.size))
    else:
        assert odd.size <= AMPLIFY * batch.width + 1, f"{what}, columns {odd}"
    return theirs


def excess(ours: Array, theirs: Array, ohms: Array) -> Array:
    """Volts [N, B] beyond what may differ; infinite where only one has an answer."""
    beyond = np.maximum(np.abs(ours - theirs) - (AGREE + NOISE * ohms), 0.0)
    return np.where(np.isnan(ours) & np.isnan(theirs), 0.0, np.nan_to_num(beyond, nan=np.inf))
