"""Where what can be made again is kept."""

import sys
from pathlib import Path

import pytest

from halfsplit.kept import kept_folder


def test_the_folder_follows_the_system(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    # XDG Base Directory Specification: a relative path is to be ignored.
    for value in ("", "relative/path"):
        monkeypatch.setenv("XDG_CACHE_HOME", value)
        monkeypatch.setenv("HOME", str(tmp_path))
        monkeypatch.setattr(sys, "platform", "linux")
        assert kept_folder() == tmp_path / ".cache" / "halfsplit"
        monkeypatch.setattr(sys, "platform", "darwin")
        assert kept_folder() == tmp_path / "Library" / "Caches" / "halfsplit"
        monkeypatch.setattr(sys, "platform", "win32")
        monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "Local"))
        assert kept_folder() == tmp_path / "Local" / "halfsplit"
