"""Compile the solver's kernel and the capture readers when a C compiler is there; without one the
install is all Python.

The library lands beside its source (an editable install runs from there), is named after the
platform, and is left alone when it is newer than its source. Only the standard library and what
hatchling brings.
"""

from __future__ import annotations

import os
import platform
import shlex
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).parent
FOLDER = ROOT / "src" / "halfsplit" / "solve"
SOURCE = FOLDER / "kernel.c"
TRANSIENT = FOLDER / "transient.c"
READERS = ROOT / "src" / "halfsplit" / "capture"
FLAGS = (
    "-O3", "-std=gnu11", "-fPIC", "-fno-math-errno", "-fno-trapping-math", "-Wno-psabi",
)  # fmt: skip
PLAIN = ("-DENTRY=solve_plain", "-DLANES=2", "-DDISPATCH")
X86 = {
    "avx2": ("-mavx2", "-mfma", "-DENTRY=solve_avx2", "-DLANES=4"),
    "avx512": (
        "-mavx512f", "-mavx512dq", "-mavx512vl", "-mfma", "-mprefer-vector-width=512",
        "-DENTRY=solve_avx512", "-DLANES=8",
    ),
}  # fmt: skip


class KernelHook(BuildHookInterface[Any]):
    """Runs for wheels and editable installs alike."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self.target_name != "wheel":
            return
        library = library_path(FOLDER)
        problem = compile_kernel(library)
        if problem:
            self.app.display_warning(f"Halfsplit: no compiled kernel, numpy solves: {problem}")
            return
        march = transient_path(FOLDER)
        problem = compile_transient(march)
        if problem:
            self.app.display_warning(f"Halfsplit: no compiled steps of time, numpy: {problem}")
        readers = readers_path(READERS)
        problem = compile_readers(readers)
        if problem:
            self.app.display_warning(f"Halfsplit: no compiled readers, numpy reads: {problem}")
        for made in (library, march, readers):
            if made.exists():
                build_data["artifacts"].append(f"/{made.relative_to(ROOT).as_posix()}")
        build_data["pure_python"] = False
        build_data["tag"] = f"py3-none-{_wheel_platform()}"


def library_path(folder: Path) -> Path:
    """The same name as halfsplit.solve.kernel looks for."""
    name = sysconfig.get_platform().replace(".", "_").replace("-", "_")
    return folder / f"_kernel_{name}.so"


def readers_path(folder: Path) -> Path:
    """The same name as halfsplit.capture.compiled looks for."""
    return folder / library_path(folder).name.replace("_kernel_", "_readers_")


def compile_readers(library: Path) -> str:
    """Make ``library`` of the capture readers; what stood in the way, or nothing."""
    sources = sorted(READERS.glob("*.c"))
    compiler, problem = _due(library, sources)
    if not compiler:
        return problem
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / library.name
        problem = _run([*compiler, *FLAGS, "-shared", *map(str, sources), "-o", str(made), "-lm"])
        if not problem:
            _put(made, library)
    return problem


def transient_path(folder: Path) -> Path:
    """The same name as halfsplit.solve.transient_compiled looks for."""
    return folder / library_path(folder).name.replace("_kernel_", "_transient_")


def compile_kernel(library: Path) -> str:
    """Make ``library`` from kernel.c; what stood in the way, or nothing."""
    return _in_variants(library, SOURCE)


def compile_transient(library: Path) -> str:
    """Make ``library`` from transient.c; what stood in the way, or nothing."""
    return _in_variants(library, TRANSIENT)


def _in_variants(library: Path, source: Path) -> str:
    """Make ``library`` from ``source``, once for each instruction set."""
    compiler, problem = _due(library, (source, *FOLDER.glob("*.h")))
    if not compiler:
        return problem
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / library.name
        for variants in (X86, {}) if _is_x86() else ({},):
            problem = _compile(compiler, source, made, variants)
            if not problem:
                _put(made, library)
                return ""
    return problem


def _due(library: Path, sources: Iterable[Path]) -> tuple[list[str], str]:
    """The compiler, when ``library`` is older than its sources; else none, and why if it is bad."""
    if sys.platform == "win32":
        return [], "not built on Windows"
    newest = max(source.stat().st_mtime for source in (Path(__file__), *sources))
    if library.exists() and library.stat().st_mtime >= newest:
        return [], ""
    library.unlink(missing_ok=True)
    compiler = find_compiler()
    return compiler, "" if compiler else "found no C compiler (cc, gcc or clang)"


def _put(made: Path, library: Path) -> None:
    """All at once: another process may have the old one open."""
    beside = library.with_name(f"{library.name}.{os.getpid()}")
    shutil.copy(made, beside)
    os.replace(beside, library)


def _compile(
    compiler: list[str], source: Path, made: Path, variants: dict[str, tuple[str, ...]]
) -> str:
    objects = []
    for name, flags in {"plain": PLAIN, **variants}.items():
        target = str(made.parent / f"{name}.o")
        more = ("-DWITH_X86",) if variants and name == "plain" else ()
        problem = _run([*compiler, *FLAGS, *flags, *more, "-c", str(source), "-o", target])
        if problem:
            return problem
        objects.append(target)
    return _run([*compiler, "-shared", "-o", str(made), *objects, "-lm"])


def _run(command: list[str]) -> str:
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        return str(error)
    if done.returncode == 0:
        return ""
    lines = [line for line in done.stderr.splitlines() if "error" in line] or ["no message"]
    return f"{command[0]} failed: {lines[0]}"


def find_compiler() -> list[str]:
    named = shlex.split(os.environ.get("CC", ""))
    if named:
        return named if shutil.which(named[0]) else []
    found = next((name for name in ("cc", "gcc", "clang") if shutil.which(name)), "")
    return [found] if found else []


def _is_x86() -> bool:
    return platform.machine().lower() in ("x86_64", "amd64")


def _wheel_platform() -> str:
    from packaging.tags import platform_tags

    return next(iter(platform_tags())) if sys.platform == "darwin" else _generic()


def _generic() -> str:
    return sysconfig.get_platform().replace(".", "_").replace("-", "_")
