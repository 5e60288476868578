"""Every way of failing that a board can have is understood; connections break where they should."""

import re
from pathlib import Path

import pytest
from tests.trial.bench import GOOD, part_fault, pin_fault

import halfsplit.examples
from halfsplit.board.model import Board
from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.errors import PlaceError, TrialError
from halfsplit.parts.registry import KINDS
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.netlist import played_kinds, write_netlist

EXAMPLES = [
    path
    for path in sorted(Path(halfsplit.examples.__path__[0]).glob("*.board"))
    if not re.search(r"^\S+ block\b", path.read_text(encoding="utf-8"), re.MULTILINE)
]
"""Boards of parts: a block has no inside that a simulator could play."""
LOGIC = ("7438", "7400", "7406", "74LS245", "74LS373", "74LS74", "74HC125", "74HCT04", "74S00")
KIND_NAMES = sorted({*played_kinds(), *LOGIC})


def board(text: str) -> Board:
    head = 'board "T"\nrail +5 5V\nrail +24 24V\nrail -12 -12V\n'
    return read_board(head + text + "\nstate rest\n", PartsVocabulary())


@pytest.mark.parametrize("name", KIND_NAMES)
def test_every_mode_of_a_kind_can_be_played(name: str) -> None:
    kind = KINDS.get(name)
    made = board(kind.word.example)
    part = made.parts[0]
    write_netlist(made, GOOD, 1)
    for mode in kind.modes(part):
        write_netlist(made, part_fault(part.designator, mode.name), 1)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_fault_of_the_examples_can_be_played(path: Path) -> None:
    made = read_board(path.read_text(encoding="utf-8"), PartsVocabulary())
    kinds = {part.designator: part.kind for part in made.parts}
    sorts = {
        (fault.where, kinds.get(fault.designator, ""), re.sub(r"\d+", "#", fault.mode)): fault
        for fault in compile_board(made).faults[1:]
        if fault.where != "off-board"  # what the board moves is not the simulator's to play
    }
    assert len(sorts) > 50
    plain = write_netlist(made, GOOD, 1).sheet.text()
    for fault in sorts.values():
        changed = write_netlist(made, fault, 1).sheet.text()
        assert changed != plain, fault.id


def test_a_mode_nobody_mapped_is_refused_by_name() -> None:
    made = board("R1 1k +5 A")
    with pytest.raises(TrialError, match="'melted' of R1"):
        write_netlist(made, part_fault("R1", "melted"), 1)


def test_an_open_joint_parts_leg_and_pad() -> None:
    made = board("R1 1k +5 A\nR2 1k A GND")
    sheet = write_netlist(made, pin_fault("joint", "joint open", "R2.1"), 1).sheet
    assert sheet.leg("R2", "1") != sheet.pad("R2", "1") == sheet.net("A") == sheet.leg("R1", "2")


def test_a_broken_track_takes_its_pad_along() -> None:
    made = board("R1 1k +5 A\nR2 1k A GND")
    sheet = write_netlist(made, pin_fault("track", "track broken", "R2.1"), 1).sheet
    assert sheet.leg("R2", "1") == sheet.pad("R2", "1") != sheet.net("A")


def test_the_tail_of_a_socket_goes_with_the_leg_but_for_a_bad_contact() -> None:
    made = board("U1 74LS04 1=A 2=Y ; socketed")
    for where, mode, lost in (
        ("contact", "contact open", False), ("joint", "joint open", True),
        ("track", "track broken", True),
    ):  # fmt: skip
        sheet = write_netlist(made, pin_fault(where, mode, "U1.1"), 1).sheet
        assert (sheet.tail("U1", "1") == sheet.leg("U1", "1")) == lost
        assert sheet.tail("U1", "2") == sheet.leg("U1", "2") == sheet.net("Y")


def test_the_same_seed_is_the_same_board_whatever_the_fault() -> None:
    made = board("R1 1k +5 A\nR2 1k A GND\nQ1 npn c=A b=A e=GND")
    good = write_netlist(made, GOOD, 7).sheet.text().splitlines()
    bad = write_netlist(made, part_fault("R1", "open"), 7).sheet.text().splitlines()
    assert sum(a != b for a, b in zip(good, bad, strict=True)) == 1
    assert write_netlist(made, GOOD, 8).sheet.text().splitlines() != good


def test_places_that_are_not_there() -> None:
    sheet = write_netlist(board("R1 1k +5 A"), GOOD, 1).sheet
    with pytest.raises(PlaceError, match=r"R9\.1"):
        sheet.leg("R9", "1")
    with pytest.raises(PlaceError, match="'B'"):
        sheet.net("B")
