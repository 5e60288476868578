"""Logic with unknowns: a value is what it may be, 0, 1 or both.

S. C. Kleene's strong three-valued logic (Introduction to metamathematics, 1952, section 64): an
unknown stays where it matters and goes where it does not (0 and X is 0). A value is a pair of
arrays (may be 0, may be 1).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from halfsplit.solve import expression

__all__ = ["HIGH", "LOW", "Mask", "Maybe", "either", "evaluate", "of_level", "pick"]

Mask = npt.NDArray[np.bool_]
Maybe = tuple[Mask, Mask]
"""May be 0, may be 1."""

_YES, _NO = np.asarray(True), np.asarray(False)
LOW: Maybe = (_YES, _NO)
HIGH: Maybe = (_NO, _YES)


def evaluate(text: str, inputs: Mapping[str, Maybe]) -> Maybe:
    """A logic expression (:mod:`halfsplit.solve.expression`) of values of one shape."""
    stack: list[Maybe] = []
    for token in expression.parse(text):
        if token == "!":
            zero, one = stack.pop()
            stack.append((one, zero))
        elif token in "&|^":
            (b0, b1), (a0, a1) = stack.pop(), stack.pop()
            if token == "&":
                stack.append((a0 | b0, a1 & b1))
            elif token == "|":
                stack.append((a0 & b0, a1 | b1))
            else:
                stack.append((a0 & b0 | a1 & b1, a0 & b1 | a1 & b0))
        elif token in "01":
            stack.append(HIGH if token == "1" else LOW)
        else:
            stack.append(inputs[token])
    return stack[0]


def of_level(lowest: npt.NDArray[np.float64], highest: npt.NDArray[np.float64]) -> Maybe:
    """From levels 0..1 that a chip sees at its inputs, the least and the most they may be."""
    return np.minimum(lowest, highest) < 1.0 - _SURE, np.maximum(lowest, highest) > _SURE


def pick(where: Mask, yes: Maybe, no: Maybe) -> Maybe:
    """Element by element."""
    return np.where(where, yes[0], no[0]), np.where(where, yes[1], no[1])


def either(a: Maybe, b: Maybe) -> Maybe:
    """One of the two."""
    return a[0] | b[0], a[1] | b[1]


_SURE = 0.1
"""A level of 0..1 below it is 0, above 1 less it is 1, between unknown."""
