"""What a registry found in a folder, kept between runs and never stale.

A second run is a second registry of the folder, with the modules of the first one forgotten.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from halfsplit.errors import RegistryError, UnknownName
from halfsplit.index import Index, keep, kept
from halfsplit.kept import kept_folder
from halfsplit.registry import Registry

KIND = (
    "from types import SimpleNamespace\n"
    "def _kind(name, types=()):\n    return SimpleNamespace(name=name, types=types)\n"
)
Run = Callable[[], "Registry[SimpleNamespace]"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Path:
    """A package of two files, and an empty place to keep things in."""
    package = tmp_path / f"indexed_{abs(hash(request.node.nodeid))}"
    package.mkdir()
    (package / "__init__.py").write_text("")
    (package / "coils.py").write_text(KIND + "KINDS = (_kind('choke'), _kind('coil', ['L7']))\n")
    (package / "valve.py").write_text(KIND + "KIND = _kind('valve', ['ECC83', 'EF86'])\n")
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    # Two writings of one file within a second look alike to Python's own cache.
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    return package


@pytest.fixture
def run(folder: Path) -> Run:
    def fresh() -> Registry[SimpleNamespace]:
        for name in [name for name in sys.modules if name.split(".")[0] == folder.name]:
            del sys.modules[name]
        return Registry(folder.name, what="kind", others=lambda kind: kind.types)

    return fresh


def imported(folder: Path) -> set[str]:
    return {name.partition(".")[2] for name in sys.modules if name.startswith(f"{folder.name}.")}


def test_the_second_run_imports_only_what_it_asks_for(folder: Path, run: Run) -> None:
    assert run().get("coil").name == "coil"
    assert imported(folder) == {"coils", "valve"}
    second = run()
    assert list(second.names()) == ["choke", "coil", "valve"]
    assert second.others() == {"L7": "coil", "ECC83": "valve", "EF86": "valve"}
    assert "choke" in second
    assert "pump" not in second
    assert imported(folder) == set()
    assert second.get("choke").name == "choke"
    assert imported(folder) == {"coils"}
    assert list(second.all()) == ["choke", "coil", "valve"]


def test_a_kind_is_one_object_however_it_is_asked_for(run: Run) -> None:
    run().names()
    second = run()
    assert second.get("valve") is second.all()["valve"]


def test_a_new_file_is_found_with_nothing_else_done(folder: Path, run: Run) -> None:
    run().names()
    (folder / "bell.py").write_text(KIND + "KIND = _kind('bell', ['B1'])\n")
    second = run()
    assert "bell" in second
    assert second.others()["B1"] == "bell"
    assert second.get("bell").name == "bell"


def test_a_changed_and_a_deleted_file_are_seen(folder: Path, run: Run) -> None:
    run().names()
    changed = (folder / "coils.py").read_text().replace("'choke'", "'trunk'")
    (folder / "coils.py").write_text(changed)
    (folder / "valve.py").unlink()
    second = run()
    assert list(second.names()) == ["trunk", "coil"]
    with pytest.raises(UnknownName, match="unknown kind 'valve'"):
        second.get("valve")


def test_a_table_in_the_folder_counts(folder: Path, run: Run) -> None:
    table = folder / "table.toml"
    table.write_text("name = 'horn'\n")
    (folder / "horn.py").write_text(
        KIND + "import pathlib, tomllib\n"
        "_TABLE = pathlib.Path(__file__).with_name('table.toml')\n"
        "KIND = _kind(tomllib.loads(_TABLE.read_text())['name'])\n"
    )
    assert "horn" in run()
    table.write_text("name = 'gong'\n")
    second = run()
    assert "gong" in second
    assert "horn" not in second


@pytest.mark.parametrize(
    "damage", ["", "{", "[]", "{}", '{"modules": 1, "others": 2}', '{"modules": {"x": 1}}', "\xff"]
)
def test_a_damaged_file_is_made_again(run: Run, damage: str) -> None:
    run().names()
    (place,) = (kept_folder() / "kinds").glob("*.json")
    good = place.read_text()
    place.write_bytes(damage.encode("latin-1"))
    assert list(run().names()) == ["choke", "coil", "valve"]
    assert place.read_text() == good


def test_what_was_kept_of_older_files_is_thrown_away(folder: Path, run: Run) -> None:
    run().names()
    (folder / "bell.py").write_text(KIND + "KIND = _kind('bell')\n")
    run().names()
    assert len(list((kept_folder() / "kinds").iterdir())) == 1


def test_an_index_that_is_wrong_all_the_same_does_no_harm(folder: Path, run: Run) -> None:
    keep(folder.name, [str(folder)], Index(modules={"valve": "coils"}, others={}))
    registry = run()
    assert registry.get("valve").name == "valve"
    assert registry.get("choke").name == "choke"


def test_a_place_that_cannot_be_written_is_done_without(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    assert "coil" in run()
    assert "coil" in run()


def test_mistakes_are_told_at_every_run_until_they_are_mended(folder: Path, run: Run) -> None:
    (folder / "extra.py").write_text(KIND + "KIND = _kind('Coil')\n")
    for _ in range(2):
        with pytest.raises(RegistryError, match="is already taken by"):
            run().names()


def test_a_further_name_that_stands_for_two_kinds_is_refused(folder: Path, run: Run) -> None:
    (folder / "other.py").write_text(KIND + "KIND = _kind('pentode', ['EF86'])\n")
    with pytest.raises(RegistryError, match="'EF86' of kind 'valve' already stands for 'pentode'"):
        run().names()


def test_a_folder_that_was_never_seen_has_nothing_kept(folder: Path) -> None:
    assert kept(folder.name, [str(folder)]) is None
