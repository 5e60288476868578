"""Pinouts against a second statement of them (``tests/truth/logic_pins.toml``)."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from tests.parts.logic_bench import one_of_each_row

from halfsplit.parts._logic_chips import Chip, chip, listed
from halfsplit.parts.logic import KINDS, LogicChip

TRUTH: dict[str, dict[str, Any]] = tomllib.loads(
    (Path(__file__).parents[1] / "truth" / "logic_pins.toml").read_text(encoding="utf-8")
)
COMMON = (
    *("00", "02", "04", "05", "06", "07", "08", "10", "11", "14", "20", "27", "30", "32", "38"),
    *("74", "85", "86", "125", "138", "139", "157", "174", "175", "240", "244", "245", "273"),
    *("373", "374"),
)


ALONE = set(TRUTH.pop("none")["rows"].split())
"""Rows whose pinout nobody states a second time."""


OSCILLATORS = {"124", "629"}
"""Their oscillators have supply pins of their own."""


def second_statement(chip: Chip) -> dict[str, Any]:
    return TRUTH.get(chip.number) or TRUTH[f"{chip.number} {chip.families[0]}"]


def ours(name: str, row: dict[str, Any]) -> str:
    """A source's name in our spelling: 1A is A1, /1Q is nQ1."""
    if name in row.get("same", {}):
        return str(row["same"][name])
    if name.isdecimal():
        return f"{row['numbers']}{name}"
    low, bare = ("n", name[1:]) if name[0] in "/n" and len(name) > 1 else ("", name)
    turned = re.fullmatch(r"(\d)([A-Z]+)", bare.upper())
    several = re.fullmatch(r"(\d)([A-Z])(\d)", bare.upper())
    if several:
        return f"{low}{several[2]}{several[1]}_{several[3]}"
    return low + (f"{turned[2]}{turned[1]}" if turned else bare.upper())


@pytest.mark.parametrize("key", sorted(set(listed()) - ALONE))
def test_pinout_agrees_with_the_second_statement(key: str) -> None:
    chip_ = chip(key)
    row = second_statement(chip_)
    assert row["source"]
    stated = [ours(name, row) for name in row["pins"].split()]
    assert [pin.name for pin in chip_.pins] == stated


def test_rows_that_stand_alone_are_all_named() -> None:
    assert set(listed()) >= ALONE
    stated = {name.split()[0] for name in TRUTH}
    assert not {key for key in ALONE if key in stated}


@pytest.mark.parametrize("kind", one_of_each_row(), ids=lambda kind: kind.name)
def test_pins_are_whole(kind: LogicChip) -> None:
    pins = kind.word.pins
    assert [pin.name for pin in pins] == [str(n) for n in range(1, len(pins) + 1)]
    assert len(pins) in (14, 16, 20, 24)
    supplies = 2 if kind.chip.number in OSCILLATORS else 1
    assert [pin.role for pin in pins].count("supply") == supplies
    assert [pin.role for pin in pins].count("ground") == supplies
    spoken = [name for pin in pins for name in (pin.name, *pin.other_names)]
    assert len(spoken) == len(set(spoken))


def test_like_units_have_like_pins() -> None:
    for kind in KINDS:
        units: dict[str, list[str]] = {}
        for pin in kind.word.pins:
            if pin.unit:
                units.setdefault(pin.unit, []).append(pin.role)
        unlike = {"241", "51", "155", "156", "279", "4000"}
        if kind.chip.number not in unlike:
            assert len({tuple(sorted(roles)) for roles in units.values()}) <= 1, kind.name


def test_common_numbers_are_there_in_ls() -> None:
    assert {f"74LS{number}" for number in COMMON} <= {kind.name for kind in KINDS}


def test_names_are_unique() -> None:
    names = [kind.name for kind in KINDS]
    assert len(names) == len(set(names))


def test_supply_pins_off_the_corner() -> None:
    """The 7475 has its supply on pins 5 and 12 (data sheet; list N of the truth file)."""
    latch = next(kind for kind in KINDS if kind.name == "74LS75")
    roles = {pin.name: pin.role for pin in latch.word.pins}
    assert (roles["5"], roles["12"]) == ("supply", "ground")


def test_the_table_covers_a_board_of_the_time() -> None:
    """At least 120 numbers of the 74 families and 40 of the 4000 one."""
    numbers = {kind.chip.number for kind in KINDS}
    assert len({number for number in numbers if len(number) < 4}) >= 120
    assert len({number for number in numbers if len(number) >= 4}) >= 40
