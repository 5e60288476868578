"""Closed cases teach, and what they teach can be handed on."""

from pathlib import Path

import numpy as np
import pytest
from tests.build.worlds import world
from tests.diagnose import boards

from halfsplit.belief.learn import STRENGTH, learned_shares
from halfsplit.bench import Bench
from halfsplit.build.experienced import class_of, experienced
from halfsplit.errors import CaseError
from halfsplit.store.experience import add, dumped, experience_path, load, merged, parsed, save


@pytest.fixture
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return experience_path()


def test_dirichlet_on_paper() -> None:
    """Shares .5 .3 .2 worth 20 cases, then 0, 10, 0 seen: 10/30, 16/30, 4/30."""
    assert STRENGTH == 20.0
    found = learned_shares(np.array([0.5, 0.3, 0.2]), np.array([0.0, 10.0, 0.0]))
    assert found == pytest.approx([10 / 30, 16 / 30, 4 / 30])


def test_what_was_proven_often_is_expected_sooner_and_pins_do_not_count() -> None:
    made = world(boards.CHANNEL)
    names = [fault.id for fault in made.faults]
    kinds = {name: class_of(made.faults[names.index(name)], made.board) for name in names}
    assert kinds["U1 2 open"] == kinds["U1 1 open"] == ("7406", "open")
    assert kinds["Q2.b joint open"] == ("joint", "joint open")
    after = experienced(made.listed, made.board, {("winding", "open"): 10})
    before = made.listed.prior
    at = names.index("L1 open")
    share = before[at] / before[:-1].sum()
    expected = (STRENGTH * share + 10.0) / (STRENGTH + 10.0) * before[:-1].sum()
    assert after.prior[at] == pytest.approx(expected)
    assert after.prior[-1] == before[-1]
    assert after.prior.sum() == pytest.approx(1.0)
    assert experienced(made.listed, made.board, {("valve", "soft"): 5}) is made.listed


def test_the_library_is_kept_merged_and_says_nothing_else(library: Path) -> None:
    assert load() == {}
    add("winding", "open")
    add("winding", "open")
    other = {("winding", "open"): 3, ("joint", "open"): 1}
    save(merged(load(), other))
    assert load() == {("winding", "open"): 5, ("joint", "open"): 1}
    assert parsed(dumped(load()), "here") == load()
    assert set(library.read_text(encoding="utf-8").split('"')[1::2]) == {
        "schema", "halfsplit-experience/1", "proven", "kind", "mode", "cases", "winding", "joint",
        "open",
    }  # fmt: skip


@pytest.mark.parametrize("text", ["", "[]", '{"schema": "x"}', '{"schema": 1, "proven": [{}]}'])
def test_another_file_is_refused_and_left_alone(library: Path, text: str) -> None:
    library.parent.mkdir(parents=True)
    library.write_text(text, encoding="utf-8")
    with pytest.raises(CaseError, match="proven cases"):
        add("winding", "open")
    assert library.read_text(encoding="utf-8") == text


def test_a_case_is_closed_when_it_is_proven_and_counts(library: Path, tmp_path: Path) -> None:
    with Bench.create(tmp_path / "case.hsplit", boards.CHANNEL) as bench:
        for name, said in (
            ("symptom phase A pulls @hold", "off"), ("volts U1.14 @hold", "5"),
            ("volts U1.2 @hold", "0.1"), ("volts Q1.b @hold", "0.1"), ("volts R2.1 @hold", "5"),
            ("volts R2.2 @hold", "0"), ("ohms R2.1 : R2.2", "OL"),
        ):  # fmt: skip
            bench.write(name, said)
        with pytest.raises(CaseError, match="no repair"):
            bench.finish()
        bench.repaired("R2")
        with pytest.raises(CaseError, match="seen right"):
            bench.finish()
        for name, said in (
            ("symptom phase A pulls @idle", "right"), ("symptom phase A pulls @hold", "right"),
            ("passes phase A pulls", "299"), ("soak phase A pulls", "steady"),
            ("parttest R2", "failed"),
        ):  # fmt: skip
            bench.write(name, said)
        entry, learned = bench.finish()
        assert entry.kind == "closed"
        assert learned == ("resistor", "open")
        assert bench.told.closed == entry.number
    assert load() == {("resistor", "open"): 1}
