"""A start imports what its answer needs, and no more: seen in processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

FIRST_ANSWER = """
from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary

board = read_board(find_source("linear-supply").text, PartsVocabulary())
compile_board(board).volts(board.states[0].name, ["net GND"])
"""
TOLD = "\nimport json, sys\nprint('\\n' + json.dumps(sorted(sys.modules)))"


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the first start keeps what the others use."""
    folder = tmp_path_factory.mktemp("kept")
    imported("from halfsplit.parts.registry import KINDS; KINDS.names()", folder)
    imported("from halfsplit.cli.command import COMMANDS; COMMANDS.names()", folder)
    return folder


def imported(program: str, kept: Path) -> set[str]:
    """Names of the modules that are there when the program has run."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(kept)}
    done = subprocess.run(
        [sys.executable, "-c", program + TOLD],
        env=environment, capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    return set(json.loads(done.stdout.splitlines()[-1]))


def command(words: str) -> str:
    """A program that runs one command line; help ends it by way of SystemExit."""
    return (
        "import contextlib\nfrom halfsplit.cli.main import main\n"
        f"with contextlib.suppress(SystemExit):\n    main({words.split()!r})"
    )


def test_the_first_answer_imports_no_other_part_of_the_program(kept: Path) -> None:
    there = imported(FIRST_ANSWER, kept)
    floors = {name.split(".")[1] for name in there if name.startswith("halfsplit.")}
    assert "build" in floors
    assert not floors & {"cli", "web", "bench", "diagnose", "checks", "report", "store", "waves"}
    heavy = {
        "asyncio", "concurrent.futures", "difflib", "email", "importlib.metadata",
        "importlib.resources", "logging", "numpy.ma", "shutil", "sqlite3", "starlette",
        "tempfile", "tomllib", "uvicorn",
    }  # fmt: skip
    assert not there & heavy


def test_the_first_answer_imports_only_the_kinds_of_part_on_the_board(kept: Path) -> None:
    there = imported(FIRST_ANSWER, kept)
    assert {"halfsplit.parts.regulator", "halfsplit.parts.zener"} <= there
    assert not there & {
        f"halfsplit.parts.{kind}" for kind in ("timer", "relay", "memory", "display", "rs232")
    }


def test_the_first_start_of_all_finds_the_kinds_by_itself(tmp_path: Path) -> None:
    assert "halfsplit.parts.timer" in imported(FIRST_ANSWER, tmp_path)
    assert "halfsplit.parts.timer" not in imported(FIRST_ANSWER, tmp_path)


@pytest.mark.parametrize("words", ["--version", "--help"])
def test_version_and_help_do_without_arrays(kept: Path, words: str) -> None:
    assert "numpy" not in imported(command(words), kept)


def test_one_command_is_imported_without_the_others(kept: Path) -> None:
    there = imported(command("next --help"), kept)
    ours = {name for name in there if name.startswith("halfsplit.cli.commands.")}
    assert ours == {"halfsplit.cli.commands.next"}
    assert "numpy" not in there
