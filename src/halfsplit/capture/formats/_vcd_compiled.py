"""The compiled parser and sorter of VCD bodies (vcd.c), called with numpy arrays."""

from __future__ import annotations

import ctypes
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.compiled import address
from halfsplit.capture.formats._vcd_changes import DONE, FULL, Changes, Codes

__all__ = ["Parser", "Sorted", "group"]

_POINTER, _INTEGER = ctypes.c_void_p, ctypes.c_int64
_NAMES = ("blob", "offset", "length", "slot", "width", "kind", "single", "table")
_ROWS = {"slot": np.int32, "tick": np.int64, "value": np.uint8}
_REALS = {"real_slot": np.int32, "real_tick": np.int64, "real_from": np.int64, "real_to": np.int64}


class _Names(ctypes.Structure):
    _fields_ = [*((name, _POINTER) for name in _NAMES), ("mask", _INTEGER)]


class _Changes(ctypes.Structure):
    _fields_ = [
        *((name, _POINTER) for name in _ROWS),
        ("size", _INTEGER),
        ("room", _INTEGER),
        *((name, _POINTER) for name in _REALS),
        ("reals", _INTEGER),
        ("real_room", _INTEGER),
        *((name, _INTEGER) for name in ("first", "now", "at")),
    ]


Sorted = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.uint8]]


class Parser:
    """Parses one block after another into the same arrays: what it gives lasts until the next."""

    def __init__(self, library: ctypes.CDLL) -> None:
        self._library = library
        self._rows: dict[str, NDArray[Any]] = {}
        self._reals: dict[str, NDArray[Any]] = {}
        self._make_room(1 << 16, 1 << 8)

    def parse(self, text: bytes, codes: Codes, now: int) -> Changes:
        """As :func:`halfsplit.capture.formats._vcd_body.parse`."""
        names = _Names(*(address(getattr(codes, name)) for name in _NAMES), codes.table.size - 1)
        while True:
            room, real_room = self._rows["slot"].size, self._reals["real_slot"].size
            out = _Changes(
                *(address(row) for row in self._rows.values()), 0, room,
                *(address(row) for row in self._reals.values()), 0, real_room, -1, now, 0,
            )  # fmt: skip
            problem = self._library.halfsplit_vcd_parse(
                text, _INTEGER(len(text)), ctypes.byref(names), ctypes.byref(out)
            )
            if problem != FULL:
                break
            self._make_room(2 * room + int(codes.width.max()), 2 * real_room)
        rows = {name: row[: out.size] for name, row in self._rows.items()}
        slot, tick, begin, stop = (row[: out.reals] for row in self._reals.values())
        spans = zip(begin.tolist(), stop.tolist(), strict=True)
        return Changes(
            **rows,
            real_slot=slot,
            real_tick=tick,
            real=[text[start:end] for start, end in spans],
            first=out.first,
            now=out.now,
            problem=problem,
            at=out.at if problem != DONE else 0,
        )

    def _make_room(self, changes: int, reals: int) -> None:
        self._rows = {name: np.empty(changes, dtype) for name, dtype in _ROWS.items()}
        self._reals = {name: np.empty(reals, dtype) for name, dtype in _REALS.items()}


def group(
    library: ctypes.CDLL, changes: Changes, every: NDArray[np.uint8], last: NDArray[np.uint8]
) -> Sorted:
    """As :func:`halfsplit.capture.formats._vcd_sort.group`."""
    size, slots = changes.slot.size, every.size
    starts, counts = np.empty(slots + 1, dtype=np.int64), np.empty(slots, dtype=np.int64)
    ticks, values = np.empty(size, dtype=np.int64), np.empty(size, dtype=np.uint8)
    given = [address(row) for row in (changes.slot, changes.tick, changes.value)]
    taken = [address(row) for row in (every, last, starts, counts, ticks, values)]
    library.halfsplit_vcd_group(_INTEGER(size), *given, _INTEGER(slots), *taken)
    return starts[:-1], counts, ticks, values
