"""`halfsplit fetch`: traces from the scope become evidence, as a captured file does."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.records import add_nets, add_played, names, nets_given
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.capture.record import Record

__all__ = ["KIND"]

_MOST_CHANNEL = 64


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "case", metavar="CASE", nargs="?", help="a case file; left out, the only one here"
    )
    parser.add_argument("--from", dest="name", metavar="NAME", default="", help="which scope")
    parser.add_argument(
        "--channels", metavar="1,2", default="1", help="which channels of the scope; else 1"
    )
    add_nets(parser)
    add_played(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Fetch the traces, keep them, and enter what they say."""
    from halfsplit.build.transient_schedule import read_schedule
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.evidence import enter_record, keep_record
    from halfsplit.errors import WaveError
    from halfsplit.instruments.book import pick
    from halfsplit.instruments.kinds.scope import fetch, record_of

    channels = _channels(args.channels)
    schedule = read_schedule(args.played) if args.played else None
    entry = pick("scope", args.name)
    with open_case(args.case) as bench:
        with entry.open() as link:
            traces = fetch(link, channels, entry.way)
        record = record_of(traces, {}, entry.name)
        told = {"instrument": entry.name, "channels": [one.to_json() for one in traces]}
        try:
            answer = enter_record(record, bench, nets_given(args), schedule, look=args.look)
            read = bool((answer.data or {})["stages"])
            why = "no line could be read"
        except WaveError as error:
            read, why = False, str(error)
        if not read:
            answer = _only_kept(record, why, "" if args.look else keep_record(record, bench))

    def lines(screen: Screen) -> Iterable[str]:
        for one in traces:
            yield f"CH{one.channel}: {one.words}"
        yield from answer.lines(screen)

    return replace(answer, data={**told, **(answer.data or {})}, lines=lines)


def _only_kept(record: Record, why: str, kept: str) -> Answer:
    """Of traces that say nothing about a stage."""
    from halfsplit.cli.evidence import kept_words

    def lines(screen: Screen) -> Iterable[str]:
        yield from screen.wrap(f"It says nothing about a stage: {why}", "! ", "  ")
        for remark in record.remarks:
            yield from screen.wrap(remark, "! ", "  ")
        if kept:
            yield kept_words(kept)

    data: dict[str, object] = {
        "source": record.source, "nets": {}, "stages": [], "first_bad": None, "left_out": [why],
        "remarks": list(record.remarks), "kept": kept or None, "entered": [], "picture": None,
        "next": None,
    }  # fmt: skip
    return Answer(data=data, lines=lines)


def _channels(text: str) -> list[int]:
    found = names(text)
    if not found or not all(
        each.isascii() and each.isdigit() and 1 <= int(each[:4]) <= _MOST_CHANNEL for each in found
    ):
        raise UsageError(f"expected --channels 1,2 with numbers from 1 up, got {text!r}")
    return list(dict.fromkeys(int(each) for each in found))


KIND = Command(
    name="fetch",
    order=73,
    help="fetch the traces of a scope, keep them, and enter what they say stage by stage",
    arguments=arguments,
    run=run,
    more="They are entered as halfsplit capture enters a file; say by --nets CH1=NET where the "
    "probes are. A trace that tells of no stage is kept all the same.",
)
