"""A question to the person before something is done that cannot be taken back by itself."""

from __future__ import annotations

import sys

__all__ = ["agreed", "answer_to"]


def answer_to(question: str) -> str:
    """What the person answers, in small letters; empty when nobody is there. The question goes to
    standard error, so that it is no part of an answer in JSON."""
    print(f"{question} ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().casefold()


def agreed(question: str, *, yes: bool) -> bool:
    """Whether the person says yes, or has said so beforehand; anything else is no."""
    return yes or answer_to(f"{question} [yes/no]") in ("y", "yes")
