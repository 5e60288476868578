"""`halfsplit capture`: a recorded file becomes readings of every stage in it."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.records import add_nets, add_window, nets_given, record_of
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words", metavar="[CASE] FILE", nargs="+",
        help="the case file, if there are several; a capture: VCD, text, WAV, ...",
    )  # fmt: skip
    add_nets(parser)
    parser.add_argument(
        "--played", metavar="SCHEDULE",
        help="what was played meanwhile, as for halfsplit play; else the lines of each stage are "
        "read as the phases of a motor that was being stepped",
    )  # fmt: skip
    parser.add_argument("--look", action="store_true", help="tell, but enter and keep nothing")
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Read the record, keep it beside the case, enter a reading for every stage."""
    from halfsplit.build.transient_schedule import read_schedule
    from halfsplit.cli.cases import is_case_name, open_case
    from halfsplit.cli.show import next_lines
    from halfsplit.diagnose.captured import nets_of_channels, read_capture
    from halfsplit.evidence import enter_capture
    from halfsplit.recordings import Recordings

    words: list[str] = args.words
    case = words.pop(0) if len(words) > 1 and is_case_name(words[0]) else None
    if len(words) != 1:
        raise UsageError(f"expected one capture, got {len(words)}: {' '.join(words)}")
    schedule = read_schedule(args.played) if args.played else None
    record = record_of(words[0], args)
    with open_case(case) as bench:
        nets = nets_of_channels(record, bench.world, nets_given(args))
        if args.look:
            found, done, after = read_capture(record, nets, bench.world, schedule), None, None
        else:
            kept = Recordings(bench.path)
            done = enter_capture(
                bench, record, nets, schedule,
                keep=lambda: kept.add_parts(record.source, [record]),
            )  # fmt: skip
            found, after = done.captured, bench.next()
    data = {
        "source": record.source,
        "nets": nets,
        **found.to_json(),
        "kept": done.kept if done else None,
        "entered": list(done.readings) if done else [],
        "picture": done.picture if done else None,
        "next": after.to_json() if after else None,
    }

    def lines(screen: Screen) -> Iterable[str]:
        bad = found.first_bad
        yield screen.strong(
            f"The first bad stage is {' '.join(bad.nets)}." if bad else "Every stage is right."
        )
        for one in found.stages:
            yield from screen.wrap(one.words, hang="  ")
        for remark in (*found.left_out, *found.remarks):
            yield from screen.wrap(remark, "! ", "  ")
        if done:
            yield f"kept as {done.kept!r} in the captures of the case"
        if after is not None:
            yield ""
            yield from next_lines(after, screen)

    return Answer(data=data, lines=lines)


KIND = Command(
    name="capture",
    order=71,
    help="enter what a scope or a logic analyser recorded, stage by stage",
    arguments=arguments,
    run=run,
    more="Channels are matched to nets by name. Every stage of which a line was recorded gets a "
    "reading: right, or which line does what; the first bad stage is named.",
)
