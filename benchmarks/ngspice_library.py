"""ngspice in this process: its shared library, one circuit loaded, resistors altered."""

from __future__ import annotations

import ctypes
import ctypes.util
import time

import numpy as np

from halfsplit.solve.law import Array

__all__ = ["Ngspice"]


class _Vector(ctypes.Structure):
    """Of sharedspice.h, vector_info."""

    _fields_ = (
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.c_void_p),
        ("length", ctypes.c_int),
    )


class Ngspice:
    """The library, with what it said since the last case in ``said``."""

    def __init__(self) -> None:
        self._library = ctypes.CDLL(ctypes.util.find_library("ngspice"))
        self.said: list[str] = []
        told = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
        left = ctypes.CFUNCTYPE(
            ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p
        )
        self._kept = (told(self._say), told(lambda _line, _id, _user: 0), left(lambda *_: 0))
        self._library.ngSpice_Init(*self._kept, None, None, None, None)
        self._library.ngGet_Vec_Info.restype = ctypes.POINTER(_Vector)

    def load(self, deck: str) -> None:
        """In place of the circuit before."""
        lines = [line.encode() for line in deck.splitlines()]
        self._library.ngSpice_Circ((ctypes.c_char_p * (len(lines) + 1))(*lines, None))

    def command(self, text: str) -> None:
        self._library.ngSpice_Command(text.encode())

    def solve(self, resistor: str, ohms: float, healthy: float) -> float:
        """Processor seconds of ``alter``, ``op``, ``alter`` back."""
        self.command("destroy all")
        self.said.clear()
        started = time.process_time()
        self.command(f"alter {resistor} = {ohms:.9g}")
        self.command("op")
        self.command(f"alter {resistor} = {healthy:.9g}")
        return time.process_time() - started

    @property
    def plain(self) -> bool:
        """Whether the last case came out without gmin or source stepping."""
        return not any("stepping" in line or "rror" in line for line in self.said)

    def volts(self, size: int) -> Array:
        """[N] of the nodes n0, n1 ... after the last case; not-a-number for one that is not."""
        found = np.full(size, np.nan)
        for n in range(size):
            vector = self._library.ngGet_Vec_Info(f"n{n}".encode())
            if vector:
                found[n] = vector.contents.real[0]
        return found

    def _say(self, line: bytes, _id: int, _user: int) -> int:
        self.said.append(line.decode())
        return 0
