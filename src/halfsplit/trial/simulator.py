"""The independent circuit simulator as a process that is spoken to: load, alter, solve.

The program ngspice is run in its pipe mode: one process holds a circuit, takes ``alter`` and
``op`` commands and prints node voltages. A solve that fails is reported, never guessed.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from halfsplit.closing import Closing
from halfsplit.errors import TrialError

__all__ = ["Simulator", "find_program"]

_END = "halfsplit-end"
_VALUE = re.compile(r"^(\S+) = ([-+0-9.eE]+)$")
_COMPLEX = re.compile(r"^(\S+) = ([-+0-9.eE]+),\s*([-+0-9.eE]+)$")
_REFUSED = ("can't find model", "error on line", "simulation interrupted", "fatal", "syntax error")
_FOUND = "No. of Data Rows"


def find_program() -> str:
    """Path of the simulator. Raises :class:`TrialError` when it is not installed."""
    found = shutil.which("ngspice")
    if not found:
        raise TrialError(
            "expected the program ngspice, found none on the path: "
            "install it (Debian: apt install ngspice) and try again"
        )
    return found


class Simulator(Closing):
    """One running simulator. Use as a context manager; circuits follow one another in it."""

    def __init__(self, program: str | None = None) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="halfsplit-trial-")
        self._deck = Path(self._folder.name) / "board.cir"
        self._loaded = False
        self._process = subprocess.Popen(
            [program or find_program(), "-n", "-p"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            cwd=self._folder.name,
        )

    def load(self, text: str) -> None:
        """Take a circuit in place of the last one. Raises :class:`TrialError` when refused."""
        self._deck.write_text(text, encoding="utf-8")
        before = ["destroy all", "remcirc"] if self._loaded else []
        said = self._say([*before, f"source {self._deck.name}"])
        self._loaded = True
        wrong = [line for line in said if any(word in line.casefold() for word in _REFUSED)]
        if wrong:
            raise TrialError(
                "expected the simulator to take the circuit, it said: " + "; ".join(wrong[:4])
            )

    def solve(
        self, changes: Mapping[str, float], wanted: Sequence[str] = ()
    ) -> dict[str, float] | None:
        """Alter elements (``r_x`` ohm, ``v_x`` volt), find the operating point, and return the
        voltage of each node, or of those wanted only; ``None`` when it did not converge."""
        asked = [f"alter {name} = {value:.9g}" for name, value in changes.items()]
        shown = (name if name.startswith("@") else f"v({name})" for name in wanted)
        show = "print " + " ".join(shown) if wanted else "print all"
        said = self._say([*asked, "destroy all", "op", show])
        if not any(line.startswith(_FOUND) for line in said):
            return None
        found = {
            match[1].removeprefix("v(").removesuffix(")"): float(match[2])
            for match in map(_VALUE.match, said)
            if match
        }
        return found or None

    def small_signal(
        self, changes: Mapping[str, float], hertz: float, wanted: Sequence[str]
    ) -> dict[str, complex] | None:
        """Alter elements, and the voltages of the ``wanted`` nodes by the sources' ``ac`` at one
        frequency; ``None`` when it did not converge."""
        asked = [f"alter {name} = {value:.9g}" for name, value in changes.items()]
        show = "print " + " ".join(f"v({name})" for name in wanted)
        said = self._say([*asked, "destroy all", f"ac lin 1 {hertz:.9g} {hertz:.9g}", show])
        found = {
            match[1].removeprefix("v(").removesuffix(")"): complex(float(match[2]), float(match[3]))
            for match in map(_COMPLEX.match, said)
            if match
        }
        return found or None

    def close(self) -> None:
        """End the process and remove its files."""
        if self._process.poll() is None:
            try:
                self._process.communicate("quit\n", timeout=5)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.communicate()
        for stream in (self._process.stdin, self._process.stdout):
            if stream:
                with suppress(BrokenPipeError):
                    stream.close()
        self._folder.cleanup()

    def _say(self, commands: Sequence[str]) -> list[str]:
        source, sink = self._process.stdout, self._process.stdin
        assert source is not None
        assert sink is not None
        said: list[str] = []
        try:
            sink.write("\n".join(commands) + f"\necho {_END}\n")
            sink.flush()
            while _END not in (line := source.readline()):
                if not line:
                    break
                said.append(line.strip())
            else:
                return said
        except BrokenPipeError:
            pass
        raise TrialError("the simulator stopped; its last words: " + "; ".join(said[-4:]))
