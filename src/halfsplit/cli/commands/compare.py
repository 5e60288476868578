"""`halfsplit compare`: is a controller that cannot be opened as good as another one."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.records import (
    add_channels,
    add_file,
    add_phases,
    add_window,
    names,
    record_of,
    write_text,
)
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.waves.account import Account
    from halfsplit.waves.command import Commanded
    from halfsplit.waves.manner import Manner

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_file(parser, help="a capture of the suspect's phase lines")
    parser.add_argument(
        "--good",
        action="append",
        default=[],
        metavar="FILE",
        help="a capture of a good or sister unit, or its description; may be given again; left "
        "out, the suspect is held against what any motor needs",
    )
    parser.add_argument(
        "--write", metavar="OUT", help="write down how the good unit behaves, for another time"
    )
    parser.add_argument(
        "--step", metavar="LINE", help="the line in all captures that tells it to step"
    )
    parser.add_argument("--dir", metavar="LINE", help="with --step: the line that tells which way")
    add_channels(parser)
    add_phases(parser)
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Learn from the good captures, compare the suspect."""
    from halfsplit.waves.manner import compare, needed

    if args.dir and not args.step:
        raise UsageError("expected --step with --dir: which line tells it to step?")
    suspect, told = _capture(args.file, args)
    manner = _manner(args)
    found = compare(manner, suspect, told) if manner else needed(suspect)
    if args.write:
        if manner is None:
            raise UsageError("expected --good with --write: there is nothing to write down")
        text = json.dumps(manner.to_json(), indent=2, ensure_ascii=False) + "\n"
        write_text(args.write, text)
    data = {
        "good": found.good,
        "verdict": found.verdict,
        "differences": [
            {"what": d.what, "sentence": d.words, "time": d.time if d.time == d.time else None}
            for d in found.differences
        ],
        "manner": manner.to_json() if manner else None,
    }

    def lines(screen: Screen) -> Iterable[str]:
        yield from (screen.strong(line) for line in screen.wrap(found.verdict))
        for one in found.differences:
            yield from screen.wrap(f"- {one.words}", hang="  ")
        yield from screen.wrap("What was not exercised is not proven.")

    return Answer(data=data, lines=lines)


def _manner(args: argparse.Namespace) -> Manner | None:
    """What the good unit does: described in one file, or learnt from captures."""
    from halfsplit.waves.manner import Manner, learn

    written = [path for path in args.good if path.lower().endswith(".json")]
    if not args.good:
        return None
    if not written:
        captures = [_capture(path, args) for path in args.good]
        return learn([account for account, _ in captures], [told for _, told in captures if told])
    if len(args.good) > 1:
        raise UsageError("expected one description or some captures of a good unit, got both")
    from halfsplit.errors import CaptureError

    try:
        return Manner.from_json(json.loads(Path(written[0]).read_text(encoding="utf-8")))
    except (OSError, ValueError) as error:
        raise CaptureError(f"cannot be read: {error}", source=written[0]) from error


def _capture(path: str, args: argparse.Namespace) -> tuple[Account, Commanded | None]:
    """The account of the phase lines, and what told them where that is asked for."""
    from halfsplit.waves.account import account
    from halfsplit.waves.channels import lines_of
    from halfsplit.waves.command import Commanded

    record = record_of(path, args)
    telling = [name for name in (args.step, args.dir) if name]
    phases = names(args.lines) or [name for name in record.names if name not in telling]
    lines, _ = lines_of(record, phases, args.family)
    found = account(
        lines,
        phases=args.phases,
        active_low=None if args.on is None else args.on == "low",
        order_known=args.in_order,
    )
    if not telling:
        return found, None
    step, *way = lines_of(record, telling, args.family)[0]
    return found, Commanded(account=found, step=step, way=way[0] if way else None)


KIND = Command(
    name="compare",
    order=104,
    help="hold a controller's phase lines against a good unit's, or against what a motor needs",
    arguments=arguments,
    run=run,
    more="It proves a controller good only as far as it was exercised.",
)
