"""`halfsplit capture`: a recorded file becomes readings of every stage in it."""

from __future__ import annotations

import argparse

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.records import add_nets, add_played, add_window, nets_given, record_of
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words", metavar="[CASE] FILE", nargs="+",
        help="the case file, if there are several; a capture: VCD, text, WAV, ...",
    )  # fmt: skip
    add_nets(parser)
    add_played(parser)
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Read the record, keep it beside the case, enter a reading for every stage."""
    from halfsplit.build.transient_schedule import read_schedule
    from halfsplit.cli.cases import is_case_name, open_case
    from halfsplit.cli.evidence import enter_record

    words: list[str] = args.words
    case = words.pop(0) if len(words) > 1 and is_case_name(words[0]) else None
    if len(words) != 1:
        raise UsageError(f"expected one capture, got {len(words)}: {' '.join(words)}")
    schedule = read_schedule(args.played) if args.played else None
    record = record_of(words[0], args)
    with open_case(case) as bench:
        return enter_record(record, bench, nets_given(args), schedule, look=args.look)


KIND = Command(
    name="capture",
    order=71,
    help="enter what a scope or a logic analyser recorded, stage by stage",
    arguments=arguments,
    run=run,
    more="Channels are matched to nets by name. Every stage of which a line was recorded gets a "
    "reading: right, or which line does what; the first bad stage is named.",
)
