"""The command as its own process: start, streams, and a case that survives a kill."""

import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.cli.conftest import DIVIDER

from halfsplit.store.log import CaseLog

HEAVY = ("numpy", "sqlite3", "uvicorn", "starlette", "jinja2", "asyncio")


def halfsplit(*words: str, folder: Path, **more: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "halfsplit", *words],
        cwd=folder,
        env={**os.environ, "PYTHONIOENCODING": "utf-8", **more},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "divider.board").write_text(DIVIDER, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["enter", "--help"]])
def test_help_and_version_load_nothing_heavy(words: list[str], tmp_path: Path) -> None:
    said = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "halfsplit", *words],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    loaded = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in said.stderr.splitlines()}
    assert "halfsplit" in loaded
    assert loaded.isdisjoint(HEAVY)


def test_the_version_says_what_solves(folder: Path) -> None:
    said = halfsplit("--version", folder=folder).stdout.splitlines()
    data = json.loads(halfsplit("--version", "--json", folder=folder).stdout)
    assert said[0] == f"halfsplit {data['version']}"
    assert said[1].startswith(f"engine: {data['engine']['name']}, ")
    assert bool(data["engine"]["why"]) == (data["engine"]["name"] == "numpy")


def test_a_whole_case_in_processes(folder: Path) -> None:
    assert halfsplit("new", "--board", "divider.board", folder=folder).returncode == 0
    said = halfsplit("enter", "volts", "TP1", "@on", "5V", folder=folder)
    assert (said.returncode, said.stderr) == (0, "")
    assert "replace R2" in said.stdout
    refused = halfsplit("enter", "volts", "TP1", "@on", "fish", folder=folder)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert len(refused.stderr.splitlines()) == 1


def test_output_survives_a_terminal_that_knows_no_signs(folder: Path) -> None:
    said = halfsplit("faults", "divider.board", folder=folder, PYTHONIOENCODING="ascii")
    assert said.returncode == 0
    halfsplit("new", "--board", "divider.board", folder=folder)
    shown = halfsplit("next", folder=folder, PYTHONIOENCODING="ascii")
    assert shown.returncode == 0
    assert "#" in shown.stdout


def test_a_reader_that_has_had_enough_is_no_error(folder: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "halfsplit", "faults", "divider.board"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as going:
        assert going.stdout is not None
        assert going.stderr is not None
        going.stdout.close()
        assert going.stderr.read() == b""
        assert going.wait(timeout=60) == 0


def test_a_case_survives_kills_between_and_during_enter(folder: Path) -> None:
    """What was acknowledged is there; a killed command has either logged its reading or not."""
    case = folder / "divider.hsplit"
    assert halfsplit("new", "--board", "divider.board", folder=folder).returncode == 0
    started = time.perf_counter()
    assert halfsplit("enter", "volts TP1 @on", "2.5", folder=folder).returncode == 0
    usual = time.perf_counter() - started
    sure, tried = ["2.5"], ["2.5"]
    dice = random.Random(7)
    for turn in range(6):
        typed = f"2.{60 + turn}"
        tried.append(typed)
        going = subprocess.Popen(
            [sys.executable, "-m", "halfsplit", "enter", "volts TP1 @on", typed],
            cwd=folder,
            stdout=subprocess.DEVNULL,
        )
        try:
            code = going.wait(timeout=usual * dice.uniform(0.4, 1.0))
        except subprocess.TimeoutExpired:
            going.kill()
            going.wait()
        else:
            assert code == 0
            sure.append(typed)
        with CaseLog.open(case) as log:
            there = [str(event.data["text"]) for event in log.live()[1:]]
        assert [typed for typed in there if typed in sure] == sure
        assert [typed for typed in tried if typed in there] == there
    said = halfsplit("enter", "volts TP1 @on", "2.5", folder=folder)
    assert (said.returncode, said.stderr) == (0, "")
