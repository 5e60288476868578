"""`halfsplit prove`: how long a run must be for the claim that is wanted."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--case", metavar="CASE", help="a case file, for its own counts")
    parser.add_argument(
        "--reliability",
        metavar="R",
        type=float,
        default=0.99,
        help="share of passes right; else 0.99",
    )
    parser.add_argument(
        "--confidence",
        metavar="C",
        type=float,
        default=0.95,
        help="with which it is shown; else 0.95",
    )
    parser.add_argument(
        "--failures",
        metavar="N",
        type=int,
        default=0,
        help="failures that the run may have; else none",
    )
    parser.add_argument(
        "--hours",
        metavar="H",
        type=float,
        default=1.0,
        help="hours between failures claimed; else 1",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Work out the run."""
    from halfsplit.cli.cases import open_case
    from halfsplit.diagnose.proof import Claim, proof

    claim = Claim(
        reliability=args.reliability, confidence=args.confidence, failures=args.failures,
        hours=args.hours,
    )  # fmt: skip
    try:
        if args.case:
            with open_case(args.case) as bench:
                found = proof(claim, bench.session)
        else:
            found = proof(claim)
    except ValueError as error:
        raise UsageError(f"{error}; see halfsplit prove --help") from error

    def lines(screen: Screen) -> Iterable[str]:
        shown, sure = 100.0 * claim.reliability, 100.0 * claim.confidence
        yield screen.strong(f"To show that {shown:g} % of passes are right, at {sure:g} %:")
        rows = [
            (str(found.passes), f"passes, {claim.failures} of them wrong at most"),
            (str(found.sequential), "passes by the sequential plan when none is wrong; it goes on "
             "after one that is"),
            (f"{found.hours:.3g} h", f"of running, for {claim.hours:g} h between failures"),
        ]  # fmt: skip
        if found.quiet is not None:
            rows.append((str(found.quiet), "quiet passes, for a fault that came as often as yours"))
        yield from screen.columns(rows, right=(0,))
        for condition in found.conditions:
            yield from screen.wrap(condition, "  ", "    ")
        if found.so_far:
            yield from screen.wrap(f"{found.so_far} Sequential plan: {found.stands}.")
        yield (
            "The claim is about this unit under these conditions: passes of one unit are not units."
        )

    return Answer(data={"proof": found.to_json()}, lines=lines)


KIND = Command(
    name="prove",
    order=77,
    help="say how many passes, hours and cold starts prove a repair",
    arguments=arguments,
    run=run,
    more="Success run, exact binomial limits, Wald's sequential test, and an intermittent's own "
    "rate from the case. Counted passes are entered as the check `passes`.",
)
