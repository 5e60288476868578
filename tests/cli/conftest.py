"""A board of two resistors, a folder of its own for each test, and the command line in-process."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from halfsplit import bench, opencase
from halfsplit.board.model import Board
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.cli.main import main

DIVIDER = """\
board "Divider" rev A
rail +5 5V
R1 10k +5 MID ; spare
R2 10k MID GND
testpoint TP1 MID
state on
output "middle" volts MID above 2V
"""


@dataclass(frozen=True)
class Said:
    """What one command line answered."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The answer in JSON."""
        return json.loads(self.out)


Call = Callable[..., Said]


@pytest.fixture(scope="session")
def worlds() -> dict[str, Compiled]:
    """Boards compiled once for all tests."""
    return {}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, worlds: dict[str, Compiled]) -> Path:
    """The current folder, with ``divider.board`` in it."""

    def compiled(board: Board) -> Compiled:
        if board.text not in worlds:
            worlds[board.text] = compile_board(board)
        return worlds[board.text]

    monkeypatch.setattr(bench, "compiled", compiled)
    monkeypatch.setattr(opencase, "compiled", compiled)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "divider.board").write_text(DIVIDER, encoding="utf-8")
    return tmp_path


@pytest.fixture
def call(folder: Path, capsys: pytest.CaptureFixture[str]) -> Call:
    """Run one command line and give what it answered."""

    def run(*words: str) -> Said:
        capsys.readouterr()
        code = main(words)
        out, err = capsys.readouterr()
        return Said(code, out, err)

    return run


@pytest.fixture
def case(call: Call) -> str:
    """A case in the current folder with nothing read yet."""
    assert call("new", "--board", "divider.board").code == 0
    return "divider.hsplit"
