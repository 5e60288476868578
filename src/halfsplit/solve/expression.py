"""Logic expressions and their smooth extension.

``"!(A & B)"`` over input names; operators ``!``, ``&``, ``^``, ``|`` in falling strength,
parentheses, constants ``0`` and ``1``, and ``q`` for the stored bit. With inputs between 0 and 1,
and = a b, or = a + b - a b, not = 1 - a, xor = a + b - 2 a b: right on the corners, smooth and
monotone between, so one formula serves truth tables, the DC iteration and its slopes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from halfsplit.errors import SolveError
from halfsplit.solve.law import Array

__all__ = ["evaluate", "evaluate_slopes", "names", "parse"]

Postfix = tuple[str, ...]

_TOKEN = re.compile(r"\s*([A-Za-z_][A-Za-z0-9_]*|[01!&|^()])")
_STRENGTH = {"!": 4, "&": 3, "^": 2, "|": 1}


@lru_cache(maxsize=4096)
def parse(text: str) -> Postfix:
    """The expression in postfix order. Raises :class:`SolveError` with the place."""
    output: list[str] = []
    stack: list[str] = []
    position, operand_next = 0, True
    text = text.rstrip()
    while position < len(text):
        match = _TOKEN.match(text, position)
        if not match:
            raise SolveError(f"logic expression {text!r}: unexpected {text[position:]!r}")
        token, position = match[1], match.end()
        if (token in "&^|)") == operand_next:
            raise SolveError(f"logic expression {text!r}: {token!r} is out of place")
        if token == "(" or token == "!":
            stack.append(token)
        elif token == ")":
            while stack and stack[-1] != "(":
                output.append(stack.pop())
            if not stack:
                raise SolveError(f"logic expression {text!r}: unmatched )")
            stack.pop()
        elif token in _STRENGTH:
            while stack and stack[-1] != "(" and _STRENGTH[stack[-1]] >= _STRENGTH[token]:
                output.append(stack.pop())
            stack.append(token)
            operand_next = True
        else:
            output.append(token)
            operand_next = False
    while stack:
        if stack[-1] == "(":
            raise SolveError(f"logic expression {text!r}: unmatched (")
        output.append(stack.pop())
    if operand_next:
        raise SolveError(f"logic expression {text!r}: ends too early")
    return tuple(output)


def names(text: str) -> tuple[str, ...]:
    """Input names in order of first mention."""
    found = (token for token in parse(text) if token not in "!&|^01")
    return tuple(dict.fromkeys(found))


def evaluate(text: str, inputs: Mapping[str, Array]) -> Array:
    """The smooth value at inputs in 0..1 (any common shape)."""
    stack: list[Array] = []
    for token in parse(text):
        if token == "!":
            stack.append(1.0 - stack.pop())
        elif token in _STRENGTH:
            b, a = stack.pop(), stack.pop()
            stack.append(_combine(token, a, b))
        elif token in "01":
            stack.append(np.asarray(float(token)))
        else:
            stack.append(inputs[token])
    return stack[0]


def evaluate_slopes(
    text: str, inputs: Mapping[str, Array], order: Sequence[str]
) -> tuple[Array, list[Array]]:
    """The smooth value and its derivatives with respect to the inputs named in ``order``."""
    value: list[Array] = []
    slopes: list[dict[str, Array]] = []
    for token in parse(text):
        if token == "!":
            value.append(1.0 - value.pop())
            slopes.append({name: -slope for name, slope in slopes.pop().items()})
        elif token in _STRENGTH:
            (b, db), (a, da) = (value.pop(), slopes.pop()), (value.pop(), slopes.pop())
            by_a, by_b = _partials(token, a, b)
            value.append(_combine(token, a, b))
            merged = {name: slope * by_a for name, slope in da.items()}
            for name, slope in db.items():
                term = slope * by_b
                merged[name] = merged[name] + term if name in merged else term
            slopes.append(merged)
        elif token in "01":
            value.append(np.asarray(float(token)))
            slopes.append({})
        else:
            value.append(inputs[token])
            slopes.append({token: np.asarray(1.0)})
    zero = np.asarray(0.0)
    return value[0], [slopes[0].get(name, zero) for name in order]


def _combine(operator: str, a: Array, b: Array) -> Array:
    if operator == "&":
        return a * b
    if operator == "|":
        return a + b - a * b
    return a + b - 2.0 * a * b


def _partials(operator: str, a: Array, b: Array) -> tuple[Array, Array]:
    if operator == "&":
        return b, a
    if operator == "|":
        return 1.0 - b, 1.0 - a
    return 1.0 - 2.0 * b, 1.0 - 2.0 * a
