"""The kernel's library: made where a C compiler is, left out with a word where none is."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import hatch_build
import numpy as np
import pytest
from tests.solve import circuits

from halfsplit.solve import engine, newton
from halfsplit.solve.kernel import load_kernel
from halfsplit.solve.library import REVISION, describe, library_path

ROOT = Path(hatch_build.__file__).parent
WORD = "no compiled kernel"
DIVIDER = """board "Divider"
rail +5 5V
R1 10k 1% +5 MID
R2 10k 1% MID GND
testpoint TP1 MID
state on
"""


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The sources as somebody unpacks them, without what was compiled here."""
    made = tmp_path / "copy"
    made.mkdir()
    for name in ("pyproject.toml", "hatch_build.py", "README.md", "LICENSE", "NOTICE"):
        shutil.copy(ROOT / name, made)
    left_out = shutil.ignore_patterns("_kernel_*", "_transient_*", "_readers_*", "__pycache__")
    shutil.copytree(ROOT / "src", made / "src", ignore=left_out)
    return made


def build(folder: Path, **environment: str) -> tuple[str, Path]:
    """What building a wheel says, and the wheel."""
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder / "dist")],
        cwd=folder,
        env={**{k: v for k, v in os.environ.items() if k != "CC"}, **environment},
        capture_output=True,
        text=True,
        check=True,
        timeout=280,
    )
    (wheel,) = (folder / "dist").glob("*.whl")
    return done.stdout + done.stderr, wheel


@pytest.mark.parametrize("missing", [{"PATH": ""}, {"CC": "/no/such/compiler"}], ids=str)
def test_without_a_compiler_the_install_works_in_python(
    missing: dict[str, str], copy: Path, tmp_path: Path
) -> None:
    """One line says so, and what was installed predicts a board and says why it is numpy."""
    said, wheel = build(copy, **missing)
    assert [WORD in line for line in said.splitlines()].count(True) == 1
    assert wheel.name.endswith("-py3-none-any.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        archive.extractall(tmp_path / "installed")
    assert "halfsplit/solve/kernel.c" in names
    assert [name for name in names if "_kernel_" in name] == []
    (tmp_path / "divider.board").write_text(DIVIDER, encoding="utf-8")
    version, expected = (
        subprocess.run(
            [sys.executable, "-m", "halfsplit", *words],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(tmp_path / "installed"), "HALFSPLIT_ENGINE": ""},
            capture_output=True,
            text=True,
            check=True,
            timeout=100,
        ).stdout
        for words in (["--version"], ["expect", "divider.board", "--place", "TP1"])
    )
    assert f"engine: numpy, because the install made no {library_path().name}" in version
    found = re.search(r"TP1 +([\d.]+) to ([\d.]+) V", expected)
    assert found, expected
    assert (float(found[1]) + float(found[2])) / 2.0 == pytest.approx(2.5, abs=0.01)  # half of 5 V


@pytest.mark.slow
def test_with_a_compiler_the_wheel_brings_the_library(copy: Path, tmp_path: Path) -> None:
    said, wheel = build(copy)
    with zipfile.ZipFile(wheel) as archive:
        inside = [name for name in archive.namelist() if "/_kernel_" in name]
        if not hatch_build.find_compiler():
            assert (inside, WORD in said) == ([], True)
            return
        assert WORD not in said
        assert inside == [f"halfsplit/solve/{library_path().name}"]
        archive.extract(inside[0], tmp_path)
    assert "-py3-none-" in wheel.name
    assert not wheel.name.endswith("-any.whl")
    assert load_kernel(str(tmp_path / inside[0])) is not None


def test_installation_and_loader_name_the_library_alike() -> None:
    assert hatch_build.library_path(hatch_build.FOLDER).name == library_path().name


def test_a_compiler_that_fails_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    script = tmp_path / "cc"
    script.write_text("#!/bin/sh\necho 'kernel.c:1: error: no such thing' >&2\nexit 1\n")
    script.chmod(0o755)
    monkeypatch.setenv("CC", str(script))
    problem = hatch_build.compile_kernel(tmp_path / "lib.so")
    assert problem == f"{script} failed: kernel.c:1: error: no such thing"
    assert not (tmp_path / "lib.so").exists()


def test_a_library_that_is_older_than_its_source_goes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Better none than one that says something else."""
    stale = tmp_path / "lib.so"
    stale.write_bytes(b"old")
    os.utime(stale, (1.0, 1.0))
    monkeypatch.setenv("CC", "no-such-compiler")
    assert "no C compiler" in hatch_build.compile_kernel(stale)
    assert not stale.exists()


@pytest.mark.parametrize("what", ["missing", "not a library", "switched off"])
def test_without_the_library_numpy_solves(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "kernel.so"
    if what == "not a library":
        path.write_bytes(b"\x7fELF and nothing else")
    if what == "switched off":
        monkeypatch.setenv("HALFSPLIT_ENGINE", "numpy")
    else:
        monkeypatch.delenv("HALFSPLIT_ENGINE", raising=False)
        assert load_kernel(str(path)) is None
        monkeypatch.setattr(engine, "load_kernel", lambda: load_kernel(str(path)))
    assert engine.engine_name() == "numpy"
    sketch = circuits.Sketch()
    sketch.source("V", "a", 5.0)
    sketch.r("R", "a b", 1e3)
    sketch.diode("D", "b 0")
    circuit = sketch.make()
    params = circuits.base(circuit)
    done, expected = engine.solve(circuit, params), newton.solve(circuit, params)
    np.testing.assert_array_equal(done.v, expected.v)
    linear = engine.Linear(circuit, done.v, params)
    # 1 kilohm beside what the diode shows at 4.3 mA, some 6 ohm
    assert 5.0 < linear.ohms()[1, 0] < 8.0
    assert linear.responses([params, params]).shape == (2, circuit.size, 1)


def test_the_engine_says_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HALFSPLIT_ENGINE", raising=False)
    kernel, engines = load_kernel(), describe()
    assert engine.engine_name() == (f"compiled ({kernel.name})" if kernel else "numpy")
    assert engines.name == ("compiled" if kernel else "numpy")
    assert engines.lanes == ({"avx512": 8, "avx2": 4, "plain": 2}[kernel.name] if kernel else 1)
    monkeypatch.setenv("HALFSPLIT_ENGINE", "numpy")
    assert str(describe()) == "numpy, because HALFSPLIT_ENGINE=numpy says so"


@pytest.mark.parametrize("what", ["missing", "not a library", "of another kind", "older"])
def test_a_library_that_cannot_be_used_is_told(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("HALFSPLIT_ENGINE", raising=False)
    path = tmp_path / "lib.so"
    expected = {
        "missing": "made no lib.so", "not a library": "does not load",
        "of another kind": "does not load", "older": f"revision 1, wanted {REVISION}",
    }[what]  # fmt: skip
    if what == "not a library":
        path.write_bytes(b"\x7fELF and nothing else")
    compiler = hatch_build.find_compiler()
    if what in ("of another kind", "older"):
        if not compiler:
            return
        name = "halfsplit_revision" if what == "older" else "other"
        (tmp_path / "lib.c").write_text(f"int {name}(void) {{ return 1; }}\n")
        made = [*compiler, "-shared", "-fPIC", "-o", str(path), str(tmp_path / "lib.c")]
        subprocess.run(made, check=True)
    assert expected in describe(path).why
    assert load_kernel(str(path)) is None
