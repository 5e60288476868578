"""The demo carried from symptom to a signed-off record by the commands that a person types.

``python -m tests.repair.first_repair > docs/first-repair.md`` writes the page. The board is played
by the trial's independent simulator, with drawn tolerances and a cheap meter, so the answers are
not the program's own predictions.
"""

from __future__ import annotations

import contextlib
import io
import os
import shlex
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

from halfsplit.bench import Bench
from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.checks.kind import Check
from halfsplit.cli import cases
from halfsplit.cli.main import main
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.player import PLAYED, Hand, Player
from halfsplit.trial.stand import Bench as Simulators

__all__ = ["CASE", "FAULT", "RECORD", "Walk", "walked"]

BOARD = "plotter-drive"
CASE = "wagtail.hsplit"
FAULT = "Q2 c short to e"
"""The fault that is hidden: an inverter holds phase B off."""
RECORD = "wagtail.html"
SEED = 7
MOST = 40
"""Checks after which a walk that finds nothing is given up."""
BEYOND = {"soak": "steady", "passes": "299", "parttest": "failed"}
"""Kind of check -> what is seen after the repair where the simulator cannot tell."""


@dataclass(kw_only=True)
class Walk:
    """A repair in the current folder. ``page`` are the lines of the page so far; ``bench`` the one
    case, as all commands have it open."""

    world: Compiled
    bench: Bench
    patient: Player
    page: list[str] = field(default_factory=list)

    def text(self, *paragraphs: str) -> None:
        """Words between two commands."""
        for paragraph in paragraphs:
            self.page += ["", paragraph]

    def run(self, *words: str, most: int = 0) -> None:
        """Run a command and show it with what it answered, ``most`` lines of it at most."""
        lines = _answer(*words).rstrip().splitlines()
        typed = " ".join(f'"{word}"' if " " in word else word for word in words)
        self.page += ["", f"    $ halfsplit {typed}"]
        self.page += [f"    {line}".rstrip() for line in lines[: most or None]]
        if 0 < most < len(lines):
            self.page.append("    ...")

    def enter(self, check: str) -> None:
        """Do a check on the patient and enter what it reads."""
        self.run("enter", check, self.patient.answer(self.bench.check(check)), most=1)

    def accept(self, check: Check) -> None:
        """The same for the acceptance run, which nobody wants to read whole."""
        self.bench.write(check, BEYOND.get(check.kind) or self.patient.answer(check))


@contextlib.contextmanager
def walked(folder: Path) -> Iterator[Walk]:
    """A whole repair in an empty folder; the case is open until the end."""
    world = compile_board(read_board(find_source(BOARD).text, PartsVocabulary()))
    fault = next(one for one in world.faults if one.id == FAULT)
    own = {f"XDG_{kind}_HOME": str(folder / kind) for kind in ("CACHE", "CONFIG", "DATA")}
    with (
        mock.patch.dict(os.environ, own),
        contextlib.chdir(folder),
        contextlib.closing(Simulators()) as simulators,
    ):
        begun = _answer("new", CASE, "--board", BOARD)
        patient = Player(world.board, fault, SEED, simulators, Hand(misread=0.0))
        with (
            Bench.open(CASE) as bench,
            mock.patch.object(cases, "open_case", return_value=contextlib.nullcontext(bench)),
        ):
            made = Walk(world=world, bench=bench, patient=patient)
            _begin(made, begun)
            _power_up(made)
            _complain(made)
            suspect = _search(made)
            _weigh(made, suspect)
            _mend(made, suspect)
            _prove(made)
            _close(made)
            yield made


def _begin(made: Walk, begun: str) -> None:
    made.page += ["# A first repair"]
    made.text(
        "The demo board from its symptom to a signed-off record. All that stands behind `$` was "
        "typed as shown, and answered as shown. The board is played by an independent circuit "
        f"simulator with drawn tolerances and a cheap meter; `{FAULT}` is hidden in it.",
        "Before you do the like: power off and unplugged for ohms and solder, capacitors empty and "
        "measured, glasses on, no fingers near what may start. Mains parts are for the licensed "
        "where local codes say so.",
        "## The case",
        f"    $ halfsplit new {CASE} --board {BOARD}",
    )
    made.page += [f"    {line}" for line in begun.splitlines()]


def _power_up(made: Walk) -> None:
    made.text(
        "## Power-up",
        "A board that comes from a shelf is not just switched on. The plan says what to read, and "
        "what limit to set:",
    )
    made.run("powerup", BOARD)
    made.text("What was read on the way goes into the case, as a note and as readings:")
    board = made.world.board
    ohms = ", ".join(
        f"{rail.net} {made.patient.answer(made.bench.check(f'ohms net {rail.net} : net GND'))}"
        for rail in board.rails
    )
    made.run("note", f"Ohms to ground before power: {ohms}. Limits as planned, nothing warm.")
    for rail in board.rails:
        made.enter(f"volts net {rail.net} @rest")


def _complain(made: Walk) -> None:
    made.text(
        "## The complaint", "The carriage buzzes. Two phases, each in the state that asks it:"
    )
    made.enter("symptom phase A pulls @hold-A")
    made.enter("symptom phase B pulls @hold-B")


def _search(made: Walk) -> str:
    """Check after check until a repair is due; the suspect it is."""
    made.text("## The search", "What to measure next, why, and what each outcome would mean:")
    made.run("next", "--count", "1")
    made.text("And so on, each time the first of the list:")
    for _ in range(MOST):
        view = made.bench.next()
        if view.verdict.verdict.kind != "measure":
            break
        checks = [one.suggestion.check for one in view.suggestions]
        made.enter(next(one.id for one in checks if one is not None and one.kind in PLAYED))
    made.text("Enough is known:")
    made.run("next", "--count", "1")
    made.text("Why, and why not its neighbours:")
    made.run("suspects", "--count", "2")
    return made.bench.suspects(1)[0].suspect.suspect.id


def _weigh(made: Walk, suspect: str) -> None:
    made.text("## Before the iron", "Go on or stop, and what must not be lost on the way:")
    made.run("worth")
    made.text("What the part stands here, what may take its place, what may have killed it:")
    made.run("replace", BOARD, suspect)


def _mend(made: Walk, suspect: str) -> None:
    made.text(
        "## The repair", "The old part goes into a bag, not into the bin: it is tested later."
    )
    made.patient = Player(
        made.world.board, made.world.faults[0], SEED, made.patient.bench, made.patient.hand
    )
    made.run("mended", suspect, most=8)


def _prove(made: Walk) -> None:
    made.text("## The proof", "A part that was changed proves nothing. What would:")
    made.run("prove", "--case", CASE)
    made.text("It is switched on by the same plan as before. What the case asks for now begins so:")
    made.run("next", "--count", "3")
    count = 0
    while count < 100 and (asked := made.bench.next(100).suggestions):
        for one in asked:
            assert one.suggestion.check is not None
            made.accept(one.suggestion.check)
        count += len(asked)
    made.text(
        f"All {count} were done: every output in every state, 299 passes, an hour warm, and the "
        "old part on its own, which fails. Then:"
    )
    made.run("next", "--count", "1")
    made.run("prove", "--case", CASE)


def _close(made: Walk) -> None:
    made.text("## The record")
    made.run("close")
    made.run("report", "--to", RECORD)
    made.text("What stands in it, beside every reading, the drawing and the reasons:")
    record = made.bench.record()
    for title, lines in (
        ("Was it worth it", record.weighed),
        ("What must not be lost", record.protected),
        ("Parts changed", record.changed),
        ("Acceptance", (record.proof,)),
    ):
        made.text(f"- {title}:")
        made.page += [f"  - {line}" for line in lines]


def _answer(*words: str) -> str:
    """What a command line prints."""
    out, err = io.StringIO(), io.StringIO()
    with (
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        mock.patch.dict(os.environ, COLUMNS="100", NO_COLOR="1"),
    ):
        code = main(words)
    if code:
        raise RuntimeError(f"halfsplit {shlex.join(words)}: {code}, {err.getvalue()}")
    return out.getvalue()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder, walked(Path(folder)) as whole:
        sys.stdout.write("\n".join(whole.page) + "\n")
