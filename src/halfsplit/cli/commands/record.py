"""`halfsplit record`: what is in a file that a scope or a logic analyser wrote."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.capture.names import Match
    from halfsplit.capture.overview import ChannelView

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", metavar="FILE", help="VCD, delimited text, WAV, NPY or NPZ")
    parser.add_argument("--format", metavar="F", help="read it as vcd, text, wav or numpy")
    parser.add_argument(
        "--choose",
        metavar="NAME=VALUE",
        action="append",
        default=[],
        help="overrule what was found, such as interval=10us; may be given again",
    )
    parser.add_argument(
        "--keep-readable", action="store_true", help="of a damaged file, take what can be read"
    )
    parser.add_argument("--board", metavar="BOARD", help="match the channels to nets of this board")
    parser.add_argument(
        "--keep", metavar="FOLDER", help="keep it in a new folder, ready for any window of it"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Look at the file, go through it once, and tell."""
    from halfsplit.capture.keep import keep
    from halfsplit.capture.names import match_names
    from halfsplit.capture.overview import Watch, overview
    from halfsplit.capture.read import look, stream
    from halfsplit.cli.boards import board_of
    from halfsplit.units import format_quantity

    opened = look(args.file, format=args.format, choices=_choices(args.choose))
    parts = stream(opened, keep_readable=args.keep_readable)
    watch = Watch()
    if args.keep:
        keep(watch.passing(parts), args.keep)
        seen = watch.overview()
    else:
        seen = overview(parts)
    names = [channel.name for channel in seen.channels]
    matches = match_names(names, tuple(board_of(args)[1].nets())) if args.board else None
    data = {
        "source": opened.source,
        "format": opened.format,
        "found": [asdict(finding) for finding in opened.findings],
        "begin": seen.begin,
        "end": seen.end,
        "duration": seen.end - seen.begin,
        "channels": [asdict(channel) for channel in seen.channels],
        "remarks": list(seen.remarks),
        "nets": None if matches is None else [asdict(match) for match in matches],
        "kept": args.keep,
    }

    def lines(screen: Screen) -> Iterable[str]:
        lasting = format_quantity(seen.end - seen.begin, "s", 6)
        yield screen.strong(f"{opened.source}: {opened.format}, {len(names)} channels, {lasting}")
        yield from screen.columns(
            [(f"{one.name}={one.value}", one.words) for one in opened.findings]
        )
        yield ""
        yield from screen.columns([_row(channel) for channel in seen.channels])
        for remark in seen.remarks:
            yield from screen.wrap(remark, "! ", "  ")
        if matches is not None:
            yield ""
            yield from screen.columns([(match.channel, _net(match)) for match in matches])
        if args.keep:
            yield f"kept in {args.keep}"

    return Answer(data=data, lines=lines)


def _choices(words: Sequence[str]) -> dict[str, str]:
    chosen = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals:
            raise UsageError(f"expected --choose NAME=VALUE such as interval=10us, got {word!r}")
        chosen[name.strip()] = value
    return chosen


def _row(channel: ChannelView) -> tuple[str, str]:
    from halfsplit.units import format_quantity, format_span

    if channel.kind == "digital":
        said = f"{channel.edges} edges"
        if channel.narrowest is not None:
            said += f", the nearest {format_quantity(channel.narrowest, 's')} apart"
        return channel.name, said
    said = f"{channel.samples} samples"
    if channel.rate:
        said += f", {format_quantity(channel.rate, 'Hz')}"
    if channel.low is not None and channel.high is not None:
        said += f", {format_span(channel.low, channel.high, channel.unit)}"
    return channel.name, said


def _net(match: Match) -> str:
    if match.net is not None:
        return f"net {match.net}"
    return f"net not known; {', '.join(match.suggestions) or 'no name like it'}" + (
        "?" if match.suggestions else ""
    )


KIND = Command(
    name="record",
    order=105,
    help="look at a file from a scope or a logic analyser",
    arguments=arguments,
    run=run,
    more="Says what was found out about the file, so that it can be set right with --choose, and "
    "what each channel holds.",
)
