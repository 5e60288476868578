"""Tests and probe readings of a logic card as a person types them.

A test is ``INPUTS:OUTPUTS``: levels in the netlist's order, ``x`` for an output that nobody looked
at (``10110:0x``), or by name (``A=1,B=0:Y=1``), where outputs may be left out. A reading is
``NET=LEVEL``, with ``@2`` behind it when it was taken during the second test.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.gates import NamedGates
from halfsplit.diagnose.gates import GateTest, Level
from halfsplit.errors import ReadingError, UnknownName

__all__ = ["order_of_levels", "typed_level", "typed_reading", "typed_test"]

_LEVELS = {"0": 0, "1": 1, "low": 0, "high": 1, "l": 0, "h": 1}


def typed_level(text: str) -> bool:
    """0, 1, low, high, l or h. Raises :class:`ReadingError`."""
    level = _LEVELS.get(text.strip().casefold())
    if level is None:
        raise ReadingError(f"expected a level: 0, 1, low or high, got {text.strip()!r}")
    return bool(level)


def typed_test(named: NamedGates, text: str) -> GateTest:
    """Raises :class:`ReadingError` and :class:`UnknownName`."""
    given, colon, seen = text.partition(":")
    if not colon:
        raise ReadingError(f"expected a test as INPUTS:OUTPUTS, such as 101:0x, got {text!r}")
    levels = _levels(given, named.inputs, "input")
    if (levels < 0).any():
        missing = [named.inputs[at] for at in np.flatnonzero(levels < 0)]
        raise ReadingError(f"test {text!r}: expected a level for every input, got none for "
                           f"{', '.join(missing)}")  # fmt: skip
    return GateTest(given=levels == 1, seen=_levels(seen, named.outputs, "output"))


def order_of_levels(named: NamedGates) -> str:
    """In which order levels of a test come."""
    return f"{' '.join(named.inputs)} : {' '.join(named.outputs)}"


def typed_reading(named: NamedGates, text: str, tests: int) -> Level:
    """Raises :class:`ReadingError` and :class:`UnknownName`."""
    found = re.fullmatch(r"(.+)=([^=@]+?)(?:@(\d+))?", text)
    if found is None:
        raise ReadingError(f"expected a reading as NET=LEVEL or NET=LEVEL@TEST, got {text!r}")
    test = int(found[3] or 1)
    if not 1 <= test <= tests:
        raise ReadingError(f"reading {text!r}: expected a test from 1 to {tests}, got {test}")
    net = named.net(found[1].strip())
    if net in named.unread:
        raise ReadingError(f"reading {text!r}: no probe goes there; read the net it is on")
    return Level(net=net, test=test - 1, high=typed_level(found[2]))


def _levels(text: str, names: Sequence[str], what: str) -> npt.NDArray[np.int8]:
    found = np.full(len(names), -1, dtype=np.int8)
    if "=" in text:
        for each in text.split(","):
            name, _, level = each.partition("=")
            if name.strip() not in names:
                raise UnknownName(what, name.strip(), names)
            found[names.index(name.strip())] = typed_level(level)
        return found
    figures = re.sub(r"[\s_]", "", text).casefold()
    if len(figures) != len(names) or not set(figures) <= set("01x"):
        raise ReadingError(f"expected {len(names)} levels 0, 1 or x, one for each {what} "
                           f"({' '.join(names)}), got {text!r}")  # fmt: skip
    return np.array([-1 if figure == "x" else int(figure) for figure in figures], dtype=np.int8)
