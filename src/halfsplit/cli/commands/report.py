"""`halfsplit report`: the repair record of a case."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument(
        "--to", metavar="FILE", help="file to make, .html or .pdf; left out, the short of it here"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Write the record, or say the short of it."""
    from pathlib import Path

    from halfsplit.cli.cases import open_case
    from halfsplit.report import html
    from halfsplit.report.pdf import pdf
    from halfsplit.store.writing import new_file

    with open_case(args.case) as bench:
        record = bench.record()
        if args.to:
            into = Path(args.to)
            as_pdf = into.suffix.casefold() == ".pdf"
            made = (
                pdf(record, bench.attachment)
                if as_pdf
                else html.whole(record, bench.attachment).encode()
            )
            with new_file(into) as stream:
                stream.write(made)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(record.title)
        yield from record.short
        yield f"{args.to}: the whole record" if args.to else "The whole record: --to FILE.html"

    return Answer(data={"record": record.to_json(), "file": args.to}, lines=lines)


KIND = Command(
    name="report",
    order=91,
    help="write the repair record: what was read, why, what was done",
    arguments=arguments,
    run=run,
    more="One HTML file that needs nothing else, or a PDF with the extra halfsplit[pdf].",
)
