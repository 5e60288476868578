"""Levels of all gates at once, against each gate's own law."""

from __future__ import annotations

import numpy as np

from halfsplit.board.reader import read_board
from halfsplit.build.assemble import assemble
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.solve import expression
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.levels import Gates, signals_of

TEXT = """
rail +5 5V
U1 74LS00 1=A 2=B 3=C 4=C 5=D 6=E
U2 74HC14 1=E 2=F
U3 74LS125 1=A 2=F 3=G
U4 LM393 1=H 2=G 3=B
"""


def test_as_every_law_says_by_itself() -> None:
    circuit = assemble(read_board(TEXT, PartsVocabulary())).circuit
    rng, width = np.random.default_rng(11), 5
    v = rng.uniform(0.0, 5.0, (circuit.size, width))
    params = [
        group.base[:, :, None] * rng.uniform(0.9, 1.1, (*group.base.shape, width))
        for group in circuit.groups
    ]
    signals = signals_of(circuit)
    assert {signal.enable for signal in signals} == {True, False}
    gates = Gates.of(circuit, signals, params, width)
    levels, padded, row = gates.levels(v), np.vstack((v, np.zeros((1, width)))), 0
    for signal in signals:
        group, p = circuit.groups[signal.group], params[signal.group]
        count = group.nodes.shape[1]
        if isinstance(group.law, LogicOutput):
            seen, _ = group.law.logic(padded[group.nodes], p)
            text = group.law.enable if signal.enable else group.law.level
            value = expression.evaluate(text, seen)
            if signal.enable:
                value = value**2 / (value**2 + (1.0 - value) ** 2)
            wanted = p[signal.offset] + p[signal.weight] * value
            np.testing.assert_allclose(levels[row : row + count], wanted, rtol=1e-12)
        row += count
    assert row == len(levels)
    some = np.asarray([True, False, True, True, False])
    np.testing.assert_array_equal(gates.some(some).levels(v[:, some]), levels[:, some])


def test_what_is_held_stays_whatever_the_volts_are() -> None:
    circuit = assemble(read_board(TEXT, PartsVocabulary())).circuit
    params = [group.base[:, :, None] for group in circuit.groups]
    gates = Gates.of(circuit, signals_of(circuit), params, 3)
    count = len(gates.levels(np.zeros((circuit.size, 3))))
    wanted = np.linspace(0.1, 0.9, count * 3).reshape(count, 3)
    held = gates.held(params, np.zeros((count, 3)))
    gates.hold(held, wanted)
    again = Gates.of(circuit, gates.signals, held, 3)
    for volts in (0.0, 5.0):
        np.testing.assert_allclose(again.levels(np.full((circuit.size, 3), volts)), wanted)
