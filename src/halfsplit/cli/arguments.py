"""Arguments that several commands take."""

from __future__ import annotations

import argparse

__all__ = ["USUAL_PORT", "add_board", "add_case", "add_page", "port", "whole_number"]

USUAL_PORT = 8473
"""Port of the page, while it is free."""


def add_board(parser: argparse.ArgumentParser) -> None:
    """BOARD."""
    parser.add_argument("board", metavar="BOARD", help="a board file, or the name of an example")


def add_case(parser: argparse.ArgumentParser) -> None:
    """CASE, which may be left out."""
    parser.add_argument(
        "case",
        metavar="CASE",
        nargs="?",
        help="a case file; left out, the only one in the current folder",
    )


def add_page(parser: argparse.ArgumentParser) -> None:
    """How the page is served."""
    parser.add_argument("--no-browser", action="store_true", help="do not open the browser")
    parser.add_argument(
        "--port", type=port, metavar="N", help=f"port of the page, 0 for any; else {USUAL_PORT}"
    )
    parser.add_argument(
        "--network",
        action="store_true",
        help="open it to the local network too; a code is shown that a phone has to type",
    )


def port(text: str) -> int:
    """A port number. Raises :class:`argparse.ArgumentTypeError`."""
    if not text.isascii() or not text.isdigit() or int(text[:9]) > 65535:
        raise argparse.ArgumentTypeError(f"expected a port from 0 to 65535, got {text!r}")
    return int(text)


def whole_number(text: str) -> int:
    """A number from 1 up. Raises :class:`argparse.ArgumentTypeError`."""
    if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= 99_999_999:
        raise argparse.ArgumentTypeError(f"expected a whole number from 1 up, got {text!r}")
    return int(text)
