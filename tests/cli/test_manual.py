"""Help and manual come from the grammar and name everything."""

import re
import shlex
from pathlib import Path

import pytest
from tests.cli.conftest import Call

from halfsplit.cli import commands
from halfsplit.cli.command import Command, in_order
from halfsplit.cli.main import parser, subparsers
from halfsplit.cli.manual import manual
from halfsplit.cli.wordlist import wordlist

PAGE = Path(__file__).parents[2] / "docs" / "command-line.md"


def test_manual_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == manual(), (
        "to renew it: python -m halfsplit.cli.manual > docs/command-line.md"
    )


def test_every_command_is_there_and_in_the_help() -> None:
    documented = re.findall(r"^## ([a-z]+)$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert [command.name for command in in_order()] == documented
    files = Path(commands.__path__[0]).glob("[a-z]*.py")
    assert sorted(documented) == sorted(file.stem.rstrip("_") for file in files)
    listed = re.findall(r"^    ([a-z]+)\s", parser().format_help(), re.MULTILINE)
    assert listed == [command.name for command in in_order()]


@pytest.mark.parametrize("command", in_order(), ids=lambda command: command.name)
def test_help_of_a_command_tells_all_its_arguments(command: Command) -> None:
    own = subparsers()[command.name]
    text = own.format_help()
    assert command.help[1:] in " ".join(text.split())
    for action in own._actions:
        assert action.help
        assert not action.option_strings or action.option_strings[-1] in text
    assert "--json" in text


def test_no_command_at_all_shows_the_help(call: Call) -> None:
    said = call()
    assert said.code == 0
    assert "enter" in said.out


def test_orders_are_not_taken_twice() -> None:
    orders = [command.order for command in in_order()]
    assert len(set(orders)) == len(orders)


def test_the_page_of_words_is_up_to_date() -> None:
    written = (PAGE.parent / "words.md").read_text(encoding="utf-8")
    assert written == wordlist(), "to renew it: python -m halfsplit.cli.wordlist > docs/words.md"


def shown_lines() -> list[tuple[str, list[str]]]:
    """Where each command line of the README and the pages stands, and its words."""
    found = []
    for page in (PAGE.parent.parent / "README.md", *sorted(PAGE.parent.glob("*.md"))):
        in_block = False
        for number, line in enumerate(page.read_text(encoding="utf-8").splitlines(), 1):
            in_block ^= line.startswith("```")
            typed = re.match(r"(?:    )?(?:\$ )?halfsplit ([a-z-].*)", line)
            if typed and page != PAGE and (in_block or line.startswith("    ")):
                words = shlex.split(re.split(r"  +|  ?#| \[-| \\$", typed[1])[0])
                found.append((f"{page.name}:{number}", words))
    return found


def test_every_command_line_that_is_shown_can_be_typed() -> None:
    grammar, lines = parser(), shown_lines()
    assert len(lines) > 80
    for where, words in lines:
        _, more = grammar.parse_known_args(words)
        assert not more, where
