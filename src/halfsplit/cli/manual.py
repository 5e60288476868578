"""docs/command-line.md, made from the grammar: ``python -m halfsplit.cli.manual > FILE``."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from halfsplit.cli.command import Command, in_order
from halfsplit.cli.main import subparsers

__all__ = ["manual"]

_HEAD = """\
# The command line

Made from the program's own grammar; to renew it:
`python -m halfsplit.cli.manual > docs/command-line.md`

`BOARD` is a board file or the name of an example that comes with the program. `CASE` is a case
file, `NAME.hsplit`; left out, it is the only one in the current folder.

A repair, from the beginning:

```sh
halfsplit board drive.board          # does the board file read well?
halfsplit new --board drive.board    # makes drive.hsplit
halfsplit next                       # what to measure first, and why
halfsplit enter 1 0.7V               # the reading of suggestion 1
halfsplit enter volts U3.6 @run low  # or of any other check
halfsplit suspects                   # what it may be, and which readings say so
```

| exit code | means |
|---|---|
| 0 | done |
| 1 | `halfsplit board` found errors in the file |
| 2 | it could not be done; one message on standard error says why and what to do |
| 130 | stopped from the keyboard |

Every command takes `--json`, which answers on standard output in the form of
[json.md](json.md), and `--debug`, which shows where in the program an error arose. Text for persons
fits the terminal; set `NO_COLOR` to have it without emphasis. Give programs `--json`: the text may
change in any version.

| command | does |
|---|---|
"""


def manual() -> str:
    """The page as Markdown."""
    found = subparsers()
    lines = [f"| [`{one.name}`](#{one.name}) | {one.help} |" for one in in_order()]
    parts = ["\n".join(_section(one, found[one.name])) for one in in_order()]
    return _HEAD + "\n".join(lines) + "\n\n" + "\n\n".join(parts) + "\n"


def _section(command: Command, parser: argparse.ArgumentParser) -> Iterator[str]:
    actions = [a for a in parser._actions if a.dest not in ("help", "json", "debug")]
    shown = [a for a in actions if not a.option_strings]
    options = [a for a in actions if a.option_strings]
    usage = " ".join([f"halfsplit {command.name}", *map(_usage, shown), *map(_usage, options)])
    yield f"## {command.name}"
    yield ""
    yield f"{command.help[0].upper()}{command.help[1:]}. {command.more}".strip()
    yield ""
    yield f"```\n{usage}\n```"
    if actions:
        yield ""
        yield "| argument | |\n|---|---|"
        for action in (*shown, *options):
            yield f"| `{_name(action)}` | {action.help} |"


def _usage(action: argparse.Action) -> str:
    name = _name(action)
    if action.option_strings:
        return name if action.required else f"[{name}]"
    return f"[{name}]" if action.nargs == "?" else name


def _name(action: argparse.Action) -> str:
    metavar = action.metavar if isinstance(action.metavar, str) else ""
    return " ".join([*action.option_strings[-1:], metavar]).strip()


if __name__ == "__main__":
    print(manual(), end="")
