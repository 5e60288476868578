"""`halfsplit instruments`: the meters, scopes and supplies that answer by themselves."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.instruments.book import Entry

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "--find",
        action="store_true",
        help="look on USB, serial ports and the local network, where some answer to a broadcast",
    )
    parser.add_argument(
        "--ask", action="store_true", help="ask each one that is remembered for its name"
    )
    parser.add_argument(
        "--remember",
        nargs=2,
        metavar=("NAME", "ADDRESS"),
        help="remember one: 192.0.2.7, 192.0.2.7:5025, COM3, /dev/ttyUSB0, or a VISA name",
    )
    parser.add_argument("--kind", metavar="K", default="meter", help="meter, scope or supply")
    parser.add_argument(
        "--seconds", metavar="S", type=float, help="longest wait for one answer; else 3"
    )
    parser.add_argument("--baud", metavar="B", type=int, default=0, help="speed of a serial line")
    parser.add_argument(
        "--unasked", action="store_true", help="remember it though it does not answer now"
    )
    parser.add_argument("--forget", metavar="NAME", help="forget one")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Remember, forget, look and list."""
    from halfsplit.instruments import book, wire

    if args.unasked and not args.remember:
        raise UsageError("--unasked goes with --remember NAME ADDRESS")
    if args.remember:
        book.remember(_made(args))
    if args.forget:
        book.forget(args.forget)
    found = wire.found() if args.find else ()
    entries = book.load()
    answers = {entry.name: _answer(entry) for entry in entries.values()} if args.ask else {}
    data = {
        "path": str(book.book_path()),
        "instruments": [
            {**one.to_json(), "answers": answers.get(one.name) if args.ask else None}
            for one in entries.values()
        ],
        "found": list(found) if args.find else None,
    }

    def lines(screen: Screen) -> Iterable[str]:
        if not entries:
            yield "No instrument is remembered; everything can be typed."
            yield from screen.wrap("To remember one: halfsplit instruments --remember NAME ADDRESS")
        for one in entries.values():
            yield from _lines(one, screen)
            if args.ask:
                yield from screen.wrap(answers[one.name] or "answers", "    ", "    ")
        if args.find:
            known = {one.address: one.name for one in entries.values()}
            yield screen.strong("Found" if found else "Nothing was found")
            yield from (f"  {each}  {known.get(each, '')}".rstrip() for each in found)

    return Answer(data=data, lines=lines)


def _made(args: argparse.Namespace) -> Entry:
    """The instrument that was typed, introduced unless it is not to be asked."""
    from halfsplit.instruments.address import tidy
    from halfsplit.instruments.book import Entry
    from halfsplit.instruments.kind import INSTRUMENTS
    from halfsplit.instruments.link import SECONDS

    name, address = args.remember
    entry = Entry(
        name=name, kind=INSTRUMENTS.get(args.kind).name, address=tidy(address), baud=args.baud,
        seconds=SECONDS if args.seconds is None else args.seconds,
    ).possible()  # fmt: skip
    return entry if args.unasked else entry.introduced()


def _answer(entry: Entry) -> str:
    """Empty when it answers, else why not."""
    from halfsplit.errors import InstrumentError

    try:
        entry.open().close()
    except InstrumentError as error:
        return str(error)
    return ""


def _lines(one: Entry, screen: Screen) -> Iterable[str]:
    from halfsplit.instruments.kind import ERRORS, IN_VAIN, INSTRUMENTS

    yield screen.strong(f"{one.name}: {INSTRUMENTS.get(one.kind).title} at {one.address}")
    if not one.identity:
        yield "    never asked: it may be another kind of instrument, or none"
        return
    yield from screen.wrap(one.identity, "    ", "    ")
    told = one.ways.get(ERRORS) or "nothing, so that a setting it refuses may go unseen"
    yield from screen.wrap(f"talked to by: {one.way}; tells of errors by: {told}", "    ", "    ")
    if in_vain := one.ways.get(IN_VAIN):
        yield from screen.wrap(f"does not answer: {in_vain}", "    ", "    ")


KIND = Command(
    name="instruments",
    order=59,
    help="list and remember meters, scopes and supplies that answer by themselves",
    arguments=arguments,
    run=run,
    more='Needs the extra: pip install "halfsplit[instruments]". One that is remembered is asked '
    "for its name and for the way it is talked to; docs/instruments.md has the cautions.",
)
