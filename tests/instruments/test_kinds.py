"""Every kind of instrument tells what it does and what can hurt, and the docs say the same."""

from pathlib import Path

import pytest

from halfsplit.errors import RegistryError
from halfsplit.instruments.book import Entry
from halfsplit.instruments.kind import INSTRUMENTS, InstrumentKind
from halfsplit.instruments.kinds import meter
from halfsplit.instruments.reading import ANSWERED
from halfsplit.registry import Registry

PAGE = " ".join(
    (Path(__file__).parents[2] / "docs" / "instruments.md").read_text(encoding="utf-8").split()
)


@pytest.mark.parametrize("kind", list(INSTRUMENTS), ids=lambda kind: kind.name)
def test_a_kind_is_documented_as_it_is(kind: InstrumentKind) -> None:
    assert f"### {kind.title.capitalize()}" in PAGE
    assert kind.help in PAGE
    assert kind.cautions
    for caution in kind.cautions:
        assert caution in PAGE
    for way in kind.ways:
        assert f"{way.name} (`{way.probe}`)" in PAGE


@pytest.mark.parametrize("kind", list(INSTRUMENTS), ids=lambda kind: kind.name)
def test_ways_are_questions_and_the_first_is_taken_unasked(kind: InstrumentKind) -> None:
    assert all(way.probe.endswith("?") for way in kind.ways)
    assert len({way.name for way in kind.ways}) == len(kind.ways)
    entry = Entry(name="x", kind=kind.name, address="ASRL1::INSTR")
    assert entry.way == kind.ways[0].name


def test_every_check_that_is_answered_has_its_function() -> None:
    assert set(ANSWERED.values()) <= set(meter.FUNCTIONS)
    assert {name for name, one in meter.FUNCTIONS.items() if one.puts} == {
        "ohms", "ohms 4-wire", "diode", "capacitance",
    }  # fmt: skip


def test_a_folder_without_kinds_is_a_mistake() -> None:
    with pytest.raises(RegistryError, match="registers no"):
        Registry("halfsplit.instruments", what="kind of instrument").all()
