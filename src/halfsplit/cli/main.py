"""The `halfsplit` command: read the command line, run one command, print what it answers.

Nothing here or in `commands` imports numpy or the web at the top; a command imports what it needs
when it runs, so that help and version answer at once.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import NoReturn

from halfsplit.cli.command import (
    COMMANDS,
    SCHEMA,
    Answer,
    Command,
    UsageError,
    in_order,
    problem_data,
)
from halfsplit.cli.screen import terminal
from halfsplit.errors import BoardError, HalfsplitError, InstrumentError, UnknownName

__all__ = ["main", "parser", "subparsers"]

_BAD = 2
_STOPPED = 130

_EPILOG = (
    "BOARD is a board file or the name of an example. CASE is a case file; left out, it is the "
    "only one in the current folder."
)


class _Parser(argparse.ArgumentParser):
    """A parser that raises, so that a mistake is told once and in one form."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}; see {self.prog} --help")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code.

    0: done; 1: a board with errors in it; 2: something could not be done, said on standard error
    (and as JSON on standard output with ``--json``); 130: stopped from the keyboard.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    as_json, debug = "--json" in words, "--debug" in words
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    if set(words) <= {"--version", "--json"} and "--version" in words:
        return _version(as_json=as_json)
    try:
        return _run(words)
    except HalfsplitError as error:
        if debug:
            raise
        return _refuse(error, as_json=as_json)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return _STOPPED
    except BrokenPipeError:
        # Whoever read our output has gone; Python would complain again when it closes the stream.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def parser(only: str = "") -> argparse.ArgumentParser:
    """The grammar of all commands; of the one named ``only``, which is quicker."""
    top = _Parser(
        prog="halfsplit",
        description="Finds the one bad part on an old electronic board: "
        "what to measure next, and what to repair.",
        epilog=_EPILOG,
    )
    top.add_argument(
        "--version",
        action="store_true",
        help="print which Halfsplit this is and what solves its circuits, and stop",
    )
    commands = top.add_subparsers(title="commands", metavar="COMMAND", dest="command")
    for command in [COMMANDS.get(only)] if only else in_order():
        _add(commands, command)
    return top


def subparsers() -> dict[str, argparse.ArgumentParser]:
    """Name of each command -> its own grammar."""
    for action in parser()._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


def _run(words: list[str]) -> int:
    first = words[0] if words else "-"
    if not first.startswith("-") and first not in COMMANDS:
        raise UnknownName("command", first, COMMANDS.names())
    grammar = parser(only=first if first in COMMANDS else "")
    args, more = grammar.parse_known_args(words)
    if more:
        name = f"halfsplit {args.command}" if args.command else "halfsplit"
        raise UsageError(f"expected nothing more, got {' '.join(more)}; see {name} --help")
    if args.version:
        return _version(as_json=False)
    if args.command is None:
        grammar.print_help()
        return 0
    command: Command = args.chosen
    screen = terminal()
    answer: Answer = command.run(args, screen)
    if answer.data is not None:
        if args.json:
            _print_json(answer.data)
        else:
            for line in answer.lines(screen):
                print(line)
    sys.stdout.flush()
    return answer.code


def _version(*, as_json: bool) -> int:
    from halfsplit.solve.library import describe
    from halfsplit.version import installed_version

    engine = describe()
    if as_json:
        _print_json({"version": installed_version(), "engine": asdict(engine)})
    else:
        print(f"halfsplit {installed_version()}\nengine: {engine}")
    return 0


def _add(commands: argparse._SubParsersAction[_Parser], command: Command) -> None:
    sub = commands.add_parser(
        command.name,
        help=command.help,
        description=f"{command.help[0].upper()}{command.help[1:]}. {command.more}".strip(),
        epilog=None,
    )
    # A reading such as -0.7V is a value, not an option.
    sub._negative_number_matcher = re.compile(r"^-[\d.,]")
    command.arguments(sub)
    sub.add_argument("--json", action="store_true", help="answer in JSON, see docs/json.md")
    sub.add_argument("--debug", action="store_true", help="show where in the program it went wrong")
    sub.set_defaults(chosen=command)


def _refuse(error: HalfsplitError, *, as_json: bool) -> int:
    if as_json:
        _print_json({"error": _as_data(error)})
    print(f"halfsplit: {error}", file=sys.stderr)
    return _BAD


def _as_data(error: HalfsplitError) -> Mapping[str, object]:
    data: dict[str, object] = {"type": type(error).__name__, "message": str(error)}
    if isinstance(error, BoardError):
        data["source"] = error.source
        data["problems"] = [problem_data(problem) for problem in error.problems]
    if isinstance(error, UnknownName):
        data["nearest"] = error.nearest
    if isinstance(error, InstrumentError):
        data |= {"at": error.at, "expected": error.expected, "got": error.got, "do": error.do}
    return data


def _print_json(data: Mapping[str, object]) -> None:
    print(json.dumps({"schema": SCHEMA, **data}, ensure_ascii=False, allow_nan=False, indent=2))
