"""Predictions kept between runs: used when they fit, never needed."""

import os
from pathlib import Path

import numpy as np
import pytest

from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build import cache
from halfsplit.build.cache import amount, compile_kept, keep
from halfsplit.build.world import USUAL, MeterSource
from halfsplit.parts.vocabulary import PartsVocabulary

TEXT = "rail +5 5V\nR1 {} +5 MID\nR2 10k MID GND\nstate on\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "halfsplit"


def board(ohms: str = "10k") -> Board:
    return read_board(TEXT.format(ohms), PartsVocabulary())


def test_what_was_predicted_is_there_the_next_time(folder: Path) -> None:
    first = compile_kept(board())
    assert amount(first) == 0
    read = first.volts("on", ["R2.1"])
    pair = first.ohms([("R1.1", "R1.2")])
    keep(first)
    again = compile_kept(board())
    assert amount(again) == amount(first) >= 2
    # Single precision: 24 bits of significand (IEEE 754).
    np.testing.assert_allclose(again.volts("on", ["R2.1"]).mean, read.mean, rtol=2**-23)
    np.testing.assert_allclose(again.ohms([("R1.1", "R1.2")]).mean, pair.mean, rtol=2**-23)


def test_readings_of_each_meter_are_kept_apart(folder: Path) -> None:
    own = MeterSource(diode_volts=2.6, diode_ohms=1200.0, known=True)
    first = compile_kept(board("470"))
    pair = [("R1.1", "R1.2")]
    usual, mine = first.diode(pair), first.diode(pair, own)
    # Dividers on paper: 3 V behind 2 k, and 2.6 V behind 1.2 k, across 470.
    assert usual.mean[0, 0] == pytest.approx(3.0 * 470 / 2470, rel=0.01)
    assert mine.mean[0, 0] == pytest.approx(2.6 * 470 / 1670, rel=0.01)
    keep(first)
    again = compile_kept(board("470"))
    assert {source for _, source in again.predicted_pairs()} == {USUAL, own}
    assert amount(again) == 2
    np.testing.assert_allclose(again.diode(pair).mean, usual.mean, rtol=2**-23)
    np.testing.assert_allclose(again.diode(pair, own).mean, mine.mean, rtol=2**-23)


def test_another_board_has_predictions_of_its_own(folder: Path) -> None:
    first = compile_kept(board())
    first.volts("on", ["R2.1"])
    keep(first)
    assert amount(compile_kept(board("12k"))) == 0


@pytest.mark.parametrize("junk", [b"", b"PK\x03\x04 cut short", bytes(range(256)) * 4])
def test_a_damaged_file_is_made_again(folder: Path, junk: bytes) -> None:
    first = compile_kept(board())
    first.volts("on", ["R2.1"])
    keep(first)
    (kept,) = folder.glob("*.npz")
    kept.write_bytes(junk)
    again = compile_kept(board())
    assert amount(again) == 0
    again.volts("on", ["R2.1"])
    keep(again)
    assert amount(compile_kept(board())) == 1


def test_a_folder_that_cannot_be_had_is_no_error(folder: Path) -> None:
    folder.parent.mkdir(exist_ok=True)
    folder.write_text("a file where the folder should be")
    world = compile_kept(board())
    world.volts("on", ["R2.1"])
    keep(world)
    assert amount(world) == 1


def test_only_the_latest_boards_are_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "MOST_KEPT", 2)
    for number, ohms in enumerate(("1k", "2k2", "3k3")):
        world = compile_kept(board(ohms))
        world.volts("on", ["R2.1"])
        before = set(folder.glob("*.npz")) if folder.is_dir() else set()
        keep(world)
        for made in set(folder.glob("*.npz")) - before:
            os.utime(made, (number, number))
    assert len(list(folder.glob("*.npz"))) == 2
    assert amount(compile_kept(board("1k"))) == 0
    assert amount(compile_kept(board("3k3"))) == 1
