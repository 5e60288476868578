"""Captures on the command line: the file, its channels, the part of it that is read."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.cli.command import UsageError

if TYPE_CHECKING:
    from halfsplit.capture.record import Record

__all__ = [
    "add_channels",
    "add_file",
    "add_nets",
    "add_phases",
    "add_pictures",
    "add_played",
    "add_window",
    "names",
    "nets_given",
    "pictures",
    "record_of",
    "write_text",
]


def add_file(parser: argparse.ArgumentParser, name: str = "file", help: str = "") -> None:
    """FILE."""
    parser.add_argument(name, metavar=name.upper(), help=help or "a capture: VCD, text, WAV, ...")


def add_channels(parser: argparse.ArgumentParser) -> None:
    """Which channels, and the logic family on them."""
    parser.add_argument("--lines", metavar="A,B,C,D", help="the channels; else all of them")
    parser.add_argument(
        "--family",
        metavar="F",
        default="ttl",
        help="logic family where volts were recorded: ttl, hct, nmos, hc, cmos, or own for the "
        "signal's own two levels; else ttl",
    )


def add_nets(parser: argparse.ArgumentParser) -> None:
    """Which channel is which net."""
    parser.add_argument(
        "--nets", metavar="CH1=NET,...", help="where channels were clipped on; else by their names"
    )


def add_played(parser: argparse.ArgumentParser) -> None:
    """What a record is evidence of."""
    parser.add_argument(
        "--played", metavar="SCHEDULE",
        help="what was played meanwhile, as for halfsplit play; else the lines of each stage are "
        "read as the phases of a motor that was being stepped",
    )  # fmt: skip
    parser.add_argument("--look", action="store_true", help="tell, but enter and keep nothing")


def add_phases(parser: argparse.ArgumentParser) -> None:
    """What is known about phase lines."""
    parser.add_argument("--phases", type=int, metavar="N", help="phases of the motor; else found")
    parser.add_argument(
        "--on", choices=("high", "low"), help="the level at which a phase is on; else found"
    )
    parser.add_argument(
        "--first",
        choices=("up", "down"),
        help="with --in-order: the first move is meant to go through the lines as listed, or back",
    )
    parser.add_argument(
        "--in-order",
        action="store_true",
        help="the lines are listed in the motor's own order, so that another order is a fault",
    )


def add_window(parser: argparse.ArgumentParser) -> None:
    """The part of the record."""
    parser.add_argument("--from", dest="begin", metavar="T", help="read from this time on, 20ms")
    parser.add_argument("--to", dest="end", metavar="T", help="read up to this time")


def add_pictures(parser: argparse.ArgumentParser, what: str) -> None:
    """--svg and --png."""
    parser.add_argument("--svg", metavar="OUT", help=what)
    parser.add_argument(
        "--png", metavar="OUT", help="the same as PNG; needs the extra halfsplit[pdf]"
    )


def pictures(args: argparse.Namespace, svg: Callable[[], str]) -> list[str]:
    """Write what was asked for of a picture; the files. Raises UsageError, CaseError."""
    if not args.svg and not args.png:
        return []
    text = svg()
    if args.svg:
        write_text(args.svg, text)
    if args.png:
        from halfsplit.draw.png import png_of

        data = png_of(text)
        try:
            Path(args.png).write_bytes(data)
        except OSError as error:
            raise UsageError(f"{args.png} cannot be written: {error.strerror}") from error
    return [path for path in (args.svg, args.png) if path]


def names(text: str | None) -> list[str]:
    """Names in a list with commas."""
    return [name.strip() for name in (text or "").split(",") if name.strip()]


def nets_given(args: argparse.Namespace) -> dict[str, str]:
    """Channel -> net or place, as typed. Raises UsageError."""
    found = {}
    for item in names(args.nets):
        channel, equals, net = (part.strip() for part in item.partition("="))
        if not (channel and equals and net):
            raise UsageError(f"expected --nets CH1=NET,CH2=NET, got {item!r}")
        found[channel] = net
    return found


def write_text(path: str, text: str) -> None:
    """Write a file. Raises UsageError when that cannot be done."""
    try:
        Path(path).write_text(text, encoding="utf-8")
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from error


def record_of(path: str, args: argparse.Namespace) -> Record:
    """The record of a file, cut to the part asked for. Raises CaptureError, UnitError."""
    from halfsplit.capture.read import read
    from halfsplit.units import parse

    record = read(path)
    if args.begin is None and args.end is None:
        return record
    begin = record.begin if args.begin is None else parse(args.begin, "s")
    end = record.end if args.end is None else parse(args.end, "s")
    return record.window(begin, end)
