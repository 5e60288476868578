"""Ohms from a supply to ground on a good board, against the independent simulator: transistor-level
chips, drawn tolerances, four boards."""

from importlib.resources import files

import numpy as np
import pytest

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.player import STEADY, Player
from halfsplit.trial.stand import Bench

pytestmark = pytest.mark.spice


@pytest.mark.parametrize(("name", "rail"), [
    ("plotter-drive", "+5"), ("logic-card", "+5"), ("linear-supply", "+5"),
    ("tension-card", "+12"),
])  # fmt: skip
def test_good_boards_read_within_the_spread(name: str, rail: str, ngspice: str) -> None:
    text = files("halfsplit").joinpath("examples", f"{name}.board").read_text(encoding="utf-8")
    world = compile_board(read_board(text, PartsVocabulary()))
    pair = (f"net {rail}", f"net {world.board.ground}")
    expected = world.ohms([pair])
    off = []
    bench = Bench()
    try:
        for seed in (71003, 41002, 5):
            read = Player(world.board, world.faults[0], seed, bench, STEADY).stand.ohms(*pair)
            assert read is not None
            off.append(np.log(read / expected.mean[0, 0]) / expected.spread[0, 0])
    finally:
        bench.close()
    assert np.abs(off).max() < 2.6
    assert expected.spread[0, 0] < 1.5
