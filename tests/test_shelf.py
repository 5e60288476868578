"""The cases of a folder."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from halfsplit.bench import Bench
from halfsplit.checks.kind import Limits
from halfsplit.errors import BoardError, CaseError
from halfsplit.shelf import Shelf, pack_case
from halfsplit.store.log import CaseLog

BOARD = 'board "Divider" rev B\nrail +5 5V\nR1 1k +5 A\nR2 1k A GND\nstate on\n'


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    found = Shelf(tmp_path, clock=lambda: datetime(2024, 2, 29, tzinfo=UTC))
    found.new("pump", BOARD)
    return found


def test_cards_say_what_there_is(shelf: Shelf) -> None:
    with Bench.open(shelf.path("pump")) as bench:
        bench.write("volts R1.2 @on", "2.5")
        bench.take_back()
        bench.write("volts R1.2 @on", "2.4")
    shelf.new("old", BOARD)
    with Bench.open(shelf.path("old")) as bench:
        bench.archive()
    (shelf.folder / "torn.hsplit").write_bytes(b"nothing of the kind")
    cards = {card.name: card for card in shelf.cards()}
    assert [card.archived for card in shelf.cards()] == [False, False, True]
    assert (cards["pump"].title, cards["pump"].revision) == ("Divider", "B")
    assert cards["pump"].readings == 1
    assert cards["old"].archived
    assert "expected a case" in cards["torn"].trouble
    with Bench.open(shelf.path("old")) as bench:
        bench.archive(False)
    assert not any(card.archived for card in shelf.cards())


@pytest.mark.parametrize("name", ["../out", "a/b", "a\\b", ".hidden", "", "con", "NUL.x", "a\0"])
def test_names_that_reach_elsewhere_are_refused(shelf: Shelf, name: str) -> None:
    with pytest.raises(CaseError, match="expected a name"):
        shelf.new(name, BOARD)
    assert [path.name for path in shelf.folder.iterdir()] == ["pump.hsplit"]


def test_a_duplicate_holds_all_or_only_the_board(shelf: Shelf) -> None:
    with Bench.open(shelf.path("pump")) as bench:
        bench.write("volts R1.2 @on", "2.5")
        bench.set_limits(Limits(without_kinds=frozenset({"touch"})))
    shelf.duplicate("pump", "twin")
    shelf.duplicate("pump", "sister", board_only=True)
    with Bench.open(shelf.path("twin")) as twin, Bench.open(shelf.path("sister")) as sister:
        assert len(twin.told.readings) == 1
        assert sister.told.readings == ()
        assert sister.told.limits == twin.told.limits
    assert shelf.free_name("pump") == "pump 2"
    assert shelf.free_name("../*") == "case"


def test_a_packed_case_without_a_sound_board_is_not_taken(shelf: Shelf) -> None:
    packed = shelf.folder / "pump.hsplit.zip"
    with packed.open("wb") as stream:
        pack_case(shelf.path("pump"), stream)
    shelf.unpack(packed, "back")
    assert shelf.path("back").is_file()
    with CaseLog.open(shelf.path("pump")) as log:
        log.append("board", {"text": "R1 nonsense", "source": "x"}, at=log.made)
    with packed.open("wb") as stream:
        pack_case(shelf.path("pump"), stream)
    with pytest.raises(BoardError):
        shelf.unpack(packed, "worse")
    assert {path.name for path in shelf.folder.glob("*.hsplit")} == {"pump.hsplit", "back.hsplit"}
