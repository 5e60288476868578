"""The habits of docs/architecture.md that a program can check."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "halfsplit"
SOURCES = sorted(PACKAGE.rglob("*.py"))
MOST_LINES = 600


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("path", [p for p in SOURCES if p.name == "__init__.py"], ids=name_of)
def test_init_holds_a_docstring_only(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree), f"{name_of(path)} says nothing about its package"
    assert len(tree.body) == 1, f"{name_of(path)} holds more than its docstring"


def test_every_folder_of_code_is_a_package() -> None:
    folders = {path.parent for path in SOURCES}
    assert PACKAGE in folders
    assert [name_of(f) for f in sorted(folders) if not (f / "__init__.py").exists()] == []


def test_no_file_of_code_is_too_long_to_read() -> None:
    lengths = {name_of(p): len(p.read_text(encoding="utf-8").splitlines()) for p in SOURCES}
    assert {name: n for name, n in lengths.items() if n > MOST_LINES} == {}
