"""What a command tells about itself, and what it answers. One command is one file in `commands`."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from typing import TypeAlias

from halfsplit.cli.screen import Screen
from halfsplit.errors import HalfsplitError, Problem
from halfsplit.frozen import dataclass
from halfsplit.registry import Registry

__all__ = ["COMMANDS", "SCHEMA", "Answer", "Command", "UsageError", "in_order", "problem_data"]

SCHEMA = "halfsplit/1"
"""Marks every answer in JSON; the number goes up when a field changes its meaning or goes."""

Lines: TypeAlias = "Callable[[Screen], Iterable[str]]"


class UsageError(HalfsplitError):
    """A command line that asks for something no command does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What came of a command: ``data`` for programs, ``lines`` for persons, and the exit code.

    ``data`` is ``None`` when the command has already said all there was to say.
    """

    data: Mapping[str, object] | None = None
    lines: Lines = field(default=lambda screen: ())
    code: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command: its place in the help, one sentence, its arguments, and what it does."""

    name: str
    order: int
    help: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace, Screen], Answer]
    more: str = ""
    """Further sentences for the command's own help."""


COMMANDS: Registry[Command] = Registry("halfsplit.cli.commands", what="command")


def in_order() -> list[Command]:
    """All commands in the order in which a person meets them."""
    return sorted(COMMANDS, key=lambda command: command.order)


def problem_data(problem: Problem) -> dict[str, object]:
    """A problem of a board file, for JSON."""
    return {
        "line": problem.line,
        "column": problem.column,
        "severity": problem.severity,
        "message": problem.message,
        "nearest": problem.nearest,
    }
