"""The readers' library: named alike by installer and loader, and done without when missing."""

from __future__ import annotations

import os
from pathlib import Path

import hatch_build
import pytest

from halfsplit.capture import compiled


def test_installation_and_loader_name_the_library_alike() -> None:
    assert hatch_build.readers_path(hatch_build.READERS) == compiled.library_path()


@pytest.mark.parametrize("what", ["missing", "not a library", "switched off"])
def test_without_the_library_numpy_reads(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "readers.so"
    if what == "not a library":
        path.write_bytes(b"\x7fELF and nothing else")
    if what == "switched off":
        monkeypatch.setenv("HALFSPLIT_ENGINE", "numpy")
    else:
        monkeypatch.setattr(compiled, "library_path", lambda: path)
    assert compiled.load_readers() is None


def test_a_library_that_is_older_than_its_source_goes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stale = tmp_path / "lib.so"
    stale.write_bytes(b"old")
    os.utime(stale, (1.0, 1.0))
    monkeypatch.setenv("CC", "no-such-compiler")
    assert "no C compiler" in hatch_build.compile_readers(stale)
    assert not stale.exists()


def test_a_compiler_makes_what_the_loader_takes(tmp_path: Path) -> None:
    made = tmp_path / "lib.so"
    problem = hatch_build.compile_readers(made)
    assert (compiled.load(str(made)) is not None) == (problem == "")
