"""Kinds found by folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.errors import RegistryError, UnknownName
from halfsplit.registry import Named, Registry

KIND = (
    "from types import SimpleNamespace\ndef _kind(name):\n    return SimpleNamespace(name=name)\n"
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Path:
    """A package of its own for each test."""
    name = f"kinds_{abs(hash(request.node.nodeid))}"
    package = tmp_path / name
    package.mkdir()
    (package / "__init__.py").write_text("")
    monkeypatch.syspath_prepend(str(tmp_path))
    return package


def registry(folder: Path, skip: frozenset[str] = frozenset()) -> Registry[Named]:
    return Registry(folder.name, what="kind", skip=skip)


def test_one_and_several_kinds_in_the_order_of_files(folder: Path) -> None:
    (folder / "b.py").write_text(KIND + "KIND = _kind('valve')\n")
    (folder / "a.py").write_text(KIND + "KINDS = (_kind('choke'), _kind('coil'))\n")
    found = registry(folder)
    assert list(found.all()) == ["choke", "coil", "valve"]
    assert [kind.name for kind in found] == ["choke", "coil", "valve"]
    assert found.get("valve").name == "valve"
    assert "coil" in found
    assert "Coil" not in found


def test_helpers_and_skipped_modules_are_not_imported(folder: Path) -> None:
    (folder / "a.py").write_text(KIND + "KIND = _kind('coil')\n")
    (folder / "_helper.py").write_text("raise RuntimeError('imported')\n")
    (folder / "other.py").write_text("raise RuntimeError('imported')\n")
    assert list(registry(folder, frozenset({"other"})).all()) == ["coil"]


def test_unknown_name_offers_the_nearest(folder: Path) -> None:
    (folder / "a.py").write_text(KIND + "KINDS = (_kind('coil'), _kind('valve'))\n")
    with pytest.raises(UnknownName, match=r"unknown kind 'coill'; did you mean coil\?") as caught:
        registry(folder).get("coill")
    assert caught.value.nearest == "coil"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "registers no kind: bind KIND or KINDS"),
        ("KINDS = ()\n", "registers no kind"),
        ("KIND = _kind('x')\nKINDS = (_kind('y'),)\n", "binds both KIND and KINDS"),
        ("KINDS = (_kind('x'), _kind('x'))\n", r"kind 'x' of .* is already taken by"),
        ("KINDS = (_kind('LED'), _kind('led'))\n", r"kind 'led' of .* is already taken by"),
    ],
)
def test_mistakes_in_a_module(folder: Path, text: str, message: str) -> None:
    (folder / "a.py").write_text(KIND + text)
    with pytest.raises(RegistryError, match=message):
        registry(folder).all()


def test_a_name_taken_in_another_file_names_that_file(folder: Path) -> None:
    (folder / "a.py").write_text(KIND + "KIND = _kind('coil')\n")
    (folder / "b.py").write_text(KIND + "KIND = _kind('coil')\n")
    with pytest.raises(RegistryError, match=rf"of {folder.name}\.b is already taken by .*\.a"):
        registry(folder).all()
