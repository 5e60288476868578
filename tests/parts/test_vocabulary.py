"""Registry, vocabulary and the reference made from them."""

from pathlib import Path

import pytest
from tests.parts.circuit import part_of
from tests.parts.strategies import ANALOG

from halfsplit.board.reader import examine, read_board
from halfsplit.errors import UnknownName
from halfsplit.parts.kind import PartKind
from halfsplit.parts.reference import render
from halfsplit.parts.registry import KINDS
from halfsplit.parts.vocabulary import LETTERS, PartsVocabulary

REFERENCE = Path(__file__).parents[2] / "docs" / "parts.md"


def test_letters_and_types_name_kinds_that_exist() -> None:
    words = PartsVocabulary()
    assert set(LETTERS.values()) <= set(words.kinds())
    assert {word.kind for word in words.types().values()} <= set(words.kinds())
    assert not set(words.types()) & set(words.kinds())


def test_type_numbers_preset_only_fields_of_their_kind() -> None:
    kinds = PartsVocabulary().kinds()
    for word in PartsVocabulary().types().values():
        assert set(word.fields) <= {field.name for field in kinds[word.kind].fields}, word.name


def test_families_are_there() -> None:
    assert {"74", "74LS", "74S", "74HC", "74HCT", "nmos", "cmos"} <= PartsVocabulary().families()


@pytest.mark.parametrize("kind", ANALOG, ids=lambda kind: kind.name)
def test_every_kind_explains_itself(kind: PartKind) -> None:
    word = kind.word
    assert word.title
    assert word.help
    assert f" {word.name} " in word.example
    names = [name for pin in word.pins for name in (pin.name, *pin.other_names)]
    assert len(set(names)) == len(names), "two pins answer to one name"


@pytest.mark.parametrize("kind", ANALOG, ids=lambda kind: kind.name)
def test_the_example_is_read_without_error(kind: PartKind) -> None:
    text = f"board Example\nrail +5 5V\n{kind.word.example}\n"
    found = examine(text, PartsVocabulary())
    assert [str(each) for each in found.problems if each.severity == "error"] == []
    (part,) = read_board(text, PartsVocabulary()).parts
    assert part.kind == kind.name
    assert kind.elements(part) or kind.name == "connector"


def test_an_unknown_kind_is_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownName, match="did you mean resistor"):
        KINDS.get("resitor")


def test_the_unplugged_connector_opens_every_contact() -> None:
    part = part_of("connector", "1 2 3 1' 2'")
    (out,) = KINDS.get("connector").settings(part)
    assert out.word == "out"
    assert [change.element for change in out.changes] == ["contact 1", "contact 2"]


def test_the_reference_in_docs_is_up_to_date() -> None:
    assert REFERENCE.read_text(encoding="utf-8") == render(), (
        "docs/parts.md is stale: python -m halfsplit.parts.reference > docs/parts.md"
    )
