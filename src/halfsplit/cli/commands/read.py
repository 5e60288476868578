"""`halfsplit read`: the meter fills the reading of a check; the person enters it."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.bench import Bench
    from halfsplit.checks.kind import Check
    from halfsplit.instruments.reading import Shown

__all__ = ["KIND"]

_AGAIN = ("a", "again")


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words",
        metavar="[CASE] [CHECK]",
        nargs="*",
        help="the case file, if there are several; the number of a suggestion or a check such as "
        '"volts U3.6 @run"; else the first suggestion that a meter answers',
    )
    parser.add_argument("--from", dest="name", metavar="NAME", default="", help="which meter")
    parser.add_argument("--four-wire", action="store_true", help="ohms with sense leads")
    parser.add_argument(
        "--what", metavar="F", help='only show a function, for no check: "ac volts", "dc amps", ...'
    )
    parser.add_argument("--look", action="store_true", help="show, but enter nothing")
    parser.add_argument("--yes", action="store_true", help="enter it without asking")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Ask the meter, show what it reads, enter it after a yes."""
    from halfsplit.cli.cases import is_case_name, open_case
    from halfsplit.cli.show import entered_lines
    from halfsplit.cli.suggested import offer
    from halfsplit.instruments.reading import read_check

    words: list[str] = args.words
    if args.what:
        return _function(args)
    case = words.pop(0) if words and is_case_name(words[0]) else None
    with open_case(case) as bench:
        check = _asked(words, bench, args)

        def ask() -> Shown:
            return read_check(check, bench.world, name=args.name, four_wire=args.four_wire)

        shown, sure = _confirmed(check, ask, args)
        view = bench.enter(check, shown.text, source=shown.source) if sure else None
        if view:
            offer(bench, view.next)
    entered = view.to_json() if view else None
    data = {"check": check.id, **shown.to_json(), "entered": entered}

    def lines(screen: Screen) -> Iterable[str]:
        yield f"{shown.instrument} reads {shown.text} ({shown.function}) for {check.id}"
        if view:
            yield from entered_lines(view, screen)
        else:
            yield "Nothing was entered."

    return Answer(data=data, lines=lines)


def _function(args: argparse.Namespace) -> Answer:
    from halfsplit.instruments.book import pick
    from halfsplit.instruments.reading import read_function

    if args.words or args.yes:
        raise UsageError("--what only shows; to enter a reading name its check instead")
    shown = read_function(args.what, pick("meter", args.name))
    data = {"check": None, **shown.to_json(), "entered": None}
    return Answer(
        data=data,
        lines=lambda screen: [f"{shown.instrument} reads {shown.text} ({shown.function})"],
    )


def _confirmed(
    check: Check, ask: Callable[[], Shown], args: argparse.Namespace
) -> tuple[Shown, bool]:
    """What was read, and whether it is to be entered; read again as often as is wanted."""
    from halfsplit.cli.asking import answer_to

    while True:
        shown = ask()
        if args.look or args.yes:
            return shown, not args.look
        answer = answer_to(
            f"{check.id}: {shown.instrument} reads {shown.text} ({shown.function}). "
            "Enter it? [yes/no/again]"
        )
        if answer not in _AGAIN:
            return shown, answer in ("y", "yes")


def _asked(words: list[str], bench: Bench, args: argparse.Namespace) -> Check:
    """The check that was named, else the first suggestion that a meter answers, when the probes are
    there."""
    from halfsplit.cli.asking import agreed
    from halfsplit.cli.suggested import check_of, offered_before
    from halfsplit.errors import ReadingError
    from halfsplit.instruments.reading import ANSWERED

    if words:
        return check_of([*words, ""], bench, offered_before(bench))[0]
    for one in bench.next().suggestions:
        check, sentence = one.suggestion.check, one.suggestion.sentence
        if check is None or check.kind not in ANSWERED:
            continue
        if not agreed(f"{sentence} Are the probes there?", yes=args.yes or args.look):
            raise ReadingError(f"nothing was read for {check.id}: the probes are not there yet")
        return check
    raise ReadingError(
        f"expected a suggestion that a meter answers ({', '.join(ANSWERED)}), found none; "
        "name a check, or type what came of the next one: halfsplit enter 1 READING"
    )


KIND = Command(
    name="read",
    order=72,
    help="let the meter fill the reading of a check, and enter it after a yes",
    arguments=arguments,
    run=run,
    more="Put the probes where the check says first: the meter reads at once. Before ohms, diodes "
    "and capacitors it makes sure that there are no volts between the probes.",
)
