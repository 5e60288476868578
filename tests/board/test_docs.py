"""docs/board-file.md: its examples read, and it leaves no word of the grammar out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from halfsplit.board.names import KEYWORDS, ROLES
from halfsplit.board.reader import read_board
from halfsplit.board.remarks import WORDS
from halfsplit.board.stateline import LEVELS
from halfsplit.parts.vocabulary import LETTERS, PartsVocabulary

TEXT = (Path(__file__).parents[2] / "docs" / "board-file.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```board\n(.*?)```", TEXT, re.DOTALL)


@pytest.mark.parametrize("example", EXAMPLES)
def test_example_reads(example: str) -> None:
    assert read_board(example, PartsVocabulary()).parts


def test_there_are_examples() -> None:
    assert len(EXAMPLES) >= 6


@pytest.mark.parametrize("word", [*KEYWORDS, *ROLES, *WORDS, *LEVELS, *LETTERS])
def test_word_is_explained(word: str) -> None:
    code = " ".join(re.findall(r"`([^`\n]+)`", TEXT))
    assert re.search(rf"(?<![a-z]){word}(?![a-z])", code)


def test_the_sample_reads_with_the_real_kinds() -> None:
    text = Path(__file__).with_name("carriage.board").read_text(encoding="utf-8")
    assert len(read_board(text, PartsVocabulary()).parts) >= 40
