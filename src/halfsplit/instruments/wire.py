"""The bytes to and from one instrument, by PyVISA: nothing is asked twice, and nothing waited for
longer than was said.

PyVISA is imported when a wire is opened, so that the program runs without the extra.
"""

from __future__ import annotations

import contextlib
import os
import select
import socket
import time
import warnings
from collections.abc import Iterator
from types import ModuleType
from typing import TYPE_CHECKING

from halfsplit.errors import AnswerError, InstrumentError, LinkError, SilenceError
from halfsplit.instruments.address import is_stream
from halfsplit.instruments.answers import TYPE_IT, shown

if TYPE_CHECKING:
    from pyvisa import ResourceManager
    from pyvisa.resources import MessageBasedResource

__all__ = ["Wire", "found", "open_wire"]

_PLUG = f"look at its cable, its power and its address, {TYPE_IT}"
_WAIT = f"look whether it is busy or shows an error, give it longer by --seconds, {TYPE_IT}"
_LONGEST_LINE = 1 << 12
_PIECE = 1 << 11
"""Bytes of one read: PyVISA's own sockets read more than was asked for from 4096 on, and keep it
where nothing says that it is there."""
_LONGEST_MESSAGE, _PORTION = 1 << 26, 1 << 16
"""Bytes of a message, and of one read, where the bus marks the end."""
_PATIENCE = 20.0
"""A long block may take so many times as long as one answer, as long as it keeps coming."""


class Wire:
    """Open on one instrument until `close`. ``seconds`` is the longest wait for one answer."""

    def __init__(self, resource: MessageBasedResource, address: str, seconds: float) -> None:
        self.address, self.seconds = address, seconds
        self._resource = resource
        self._stream = is_stream(address)
        self._socket = _socket_of(resource)
        self._waiting = bytearray()
        self._more = False
        resource.timeout = 1000.0 * seconds
        if self._stream:
            resource.read_termination = None

    def send(self, text: str) -> None:
        """One line. Raises :class:`LinkError`."""
        try:
            with self._quiet():
                self._resource.write_raw(text.encode("ascii") + b"\n")
        except Exception as error:
            raise self._gone(error) from error

    def line(self) -> bytes:
        """What comes up to the end of the line, without it. Raises :class:`SilenceError`,
        :class:`AnswerError` for a line without end, :class:`LinkError`."""
        if not self._stream:
            line, _, rest = self._message().partition(b"\n")
            self._waiting = bytearray(rest)
            return line
        came = bytearray()
        until = time.monotonic() + self.seconds
        while not came.endswith(b"\n"):
            if len(came) > _LONGEST_LINE:
                raise AnswerError(
                    self.address, expected="a line", got=f"{shown(bytes(came))} without an end",
                    do=f"look whether an instrument that speaks SCPI is there, {TYPE_IT}",
                )  # fmt: skip
            came += self._some(_PIECE, until, bytes(came), to_end=True)
        return bytes(came[:-1])

    def exactly(self, count: int) -> bytes:
        """The next so many bytes, whatever they are. Raises :class:`SilenceError`,
        :class:`LinkError`."""
        if not self._stream:
            return self._of_message(count)
        came = bytearray()
        last = time.monotonic() + _PATIENCE * self.seconds
        while len(came) < count:
            until = min(last, time.monotonic() + self.seconds)
            wanted = min(count - len(came), _PIECE)
            came += self._some(wanted, until, len(came))
        return bytes(came)

    def rest(self) -> bytes:
        """What follows a block, to the end of its message, without the line's end. Raises what
        `line` raises."""
        if self._stream:
            return self.line()
        left = bytes(self._waiting).removesuffix(b"\n")
        self._waiting.clear()
        return left

    def forget(self) -> bytes:
        """Throw away and return what came before it was asked for. Where a bus marks messages the
        instrument does so itself (IEEE 488.2, chapter 6); a stream keeps it until it is read."""
        came = bytes(self._waiting)
        self._waiting.clear()
        while self._stream and len(came) < _LONGEST_LINE and (there := self._there()):
            came += self._read(min(there, _PIECE), b"")
        return came

    def close(self) -> None:
        """Let go of it, whatever state it is in."""
        with contextlib.suppress(Exception), self._quiet():
            self._resource.close()

    def clear(self) -> None:
        """Ask the instrument to forget what it was about to say, where the bus can; a new
        connection has nothing to forget."""
        if self._socket is None:
            with contextlib.suppress(Exception), self._quiet():
                self._resource.clear()
        self.forget()

    def _some(self, most: int, until: float, came: bytes | int, *, to_end: bool = False) -> bytes:
        """At least one byte, at most ``most``, of a stream, before ``until``; no further than the
        end of a line with ``to_end``. ``came`` is what came before, or how much."""
        left = until - time.monotonic()
        if left <= 0.0 or (self._socket is not None and not self._ready(left)):
            raise self._silent(came)
        count = 1
        if self._socket is not None:
            there = self._peek()
            if not there:
                so_far = _so_far(came)
                raise LinkError(
                    self.address, expected="an answer to the end",
                    got=f"{so_far}, and it closed the connection" if came else "a closed "
                    "connection", do=_PLUG,
                )  # fmt: skip
            count = there.find(b"\n") + 1 if to_end and b"\n" in there else len(there)
        return self._read(min(count, most), came)

    def _silent(self, came: bytes | int) -> SilenceError:
        return SilenceError(
            self.address, expected=f"an answer within {self.seconds:g} s",
            got=f"{_so_far(came)} and then no more" if came else "nothing", do=_WAIT,
        )  # fmt: skip

    def _message(self) -> bytes:
        """What waits of the last message, else a whole new one, where the bus marks its end."""
        if self._waiting:
            return bytes(self._waiting)
        until = time.monotonic() + _PATIENCE * self.seconds
        came = bytearray()
        while True:
            if time.monotonic() > until:
                raise self._silent(len(came))
            came += self._read(_PORTION, len(came))
            if not self._more:
                return bytes(came)
            if len(came) > _LONGEST_MESSAGE:
                raise AnswerError(
                    self.address, expected=f"at most {_LONGEST_MESSAGE} bytes",
                    got=f"{len(came)} and more",
                    do=f"look whether the right instrument is there, {TYPE_IT}",
                )  # fmt: skip

    def _of_message(self, count: int) -> bytes:
        self._waiting = bytearray(self._message())
        if len(self._waiting) < count:
            raise SilenceError(
                self.address, expected=f"{count} bytes", got=f"{len(self._waiting)} of them",
                do="fetch it again",
            )  # fmt: skip
        taken = bytes(self._waiting[:count])
        del self._waiting[:count]
        return taken

    def _read(self, count: int, came: bytes | int) -> bytes:
        """One call of VISA's read. ``_more`` tells whether the message goes on."""
        from pyvisa.constants import StatusCode
        from pyvisa.errors import VisaIOError

        try:
            with self._quiet():
                data, status = self._resource.visalib.read(self._resource.session, count)
        except VisaIOError as error:
            if error.error_code == StatusCode.error_timeout:
                raise self._silent(came) from error
            raise self._gone(error) from error
        except Exception as error:
            raise self._gone(error) from error
        self._more = status == StatusCode.success_max_count_read
        if not data:
            raise self._silent(came)
        return bytes(data)

    def _there(self) -> int:
        """Bytes that wait in a stream, as far as that can be known."""
        if self._socket is not None:
            return len(self._peek()) if self._ready(0.0) else 0
        with contextlib.suppress(Exception):
            return int(getattr(self._resource, "bytes_in_buffer", 0))
        return 0

    def _ready(self, seconds: float) -> bool:
        assert self._socket is not None
        try:
            return bool(select.select([self._socket], [], [], seconds)[0])
        except (OSError, ValueError) as error:
            raise self._gone(error) from error

    def _peek(self) -> bytes:
        """What has come and was not read; empty when the other side has closed."""
        assert self._socket is not None
        try:
            return self._socket.recv(_PIECE, socket.MSG_PEEK)
        except OSError as error:
            raise self._gone(error) from error

    def _gone(self, error: Exception) -> InstrumentError:
        return LinkError(
            self.address, expected="an instrument that listens and answers",
            got=_plain(error), do=_PLUG,
        )  # fmt: skip

    @contextlib.contextmanager
    def _quiet(self) -> Iterator[None]:
        from pyvisa.constants import StatusCode

        with self._resource.ignore_warning(
            StatusCode.success_max_count_read, StatusCode.success_termination_character_read
        ):
            yield


def open_wire(address: str, *, seconds: float, baud: int = 0) -> Wire:
    """Open a wire to a VISA name. Raises :class:`LinkError`, also when the extra is missing."""
    manager = _manager(address)
    try:
        resource = manager.open_resource(address, open_timeout=int(1000 * seconds))
        if baud and hasattr(resource, "baud_rate"):
            resource.baud_rate = baud
    except Exception as error:
        raise LinkError(
            address, expected="an instrument", got=_plain(error),
            do=f"look at its cable, its power, its address, and that no other program holds it, "
            f"{TYPE_IT}",
        ) from error  # fmt: skip
    if not hasattr(resource, "read_termination"):
        resource.close()
        raise LinkError(
            address, expected="an instrument that is talked to in lines",
            got=type(resource).__name__, do="look at its address",
        )  # fmt: skip
    return Wire(resource, address, seconds)  # type: ignore[arg-type]  # of which we just made sure


def found() -> tuple[str, ...]:
    """Addresses at which something may be: USB, serial ports, what answers on the local network.
    Raises :class:`LinkError` when the extra is missing or nothing can be looked for."""
    manager = _manager("instruments")
    try:
        with _no_warnings():
            return tuple(sorted(manager.list_resources("?*")))
    except Exception as error:
        raise LinkError(
            "instruments", expected="a list of addresses", got=_plain(error),
            do="give the address yourself",
        ) from error  # fmt: skip


def _manager(at: str) -> ResourceManager:
    """PyVISA's manager: of the library that PYVISA_LIBRARY names, else its own in Python. It is
    shared by all wires and closed by PyVISA itself at the end."""
    pyvisa = _pyvisa(at)
    try:
        made: ResourceManager = pyvisa.ResourceManager(os.environ.get("PYVISA_LIBRARY") or "@py")
    except Exception as error:
        raise LinkError(
            at, expected="a VISA library", got=_plain(error),
            do='install the extra: pip install "halfsplit[instruments]"',
        ) from error  # fmt: skip
    return made


def _pyvisa(at: str) -> ModuleType:
    try:
        with _no_warnings():
            import pyvisa
    except ImportError as error:
        raise LinkError(
            at, expected="the extra that talks to instruments", got="none installed",
            do=f'pip install "halfsplit[instruments]", {TYPE_IT}',
        ) from error  # fmt: skip
    return pyvisa


@contextlib.contextmanager
def _no_warnings() -> Iterator[None]:
    """PyVISA warns of what it cannot look for; the addresses it found are all that is said."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _socket_of(resource: MessageBasedResource) -> socket.socket | None:
    """The socket under a network wire of PyVISA's own library, which alone can tell a connection
    that was closed from one that is slow."""
    sessions = getattr(resource.visalib, "sessions", {})
    inner = getattr(sessions.get(resource.session), "interface", None)
    return inner if isinstance(inner, socket.socket) else None


def _so_far(came: bytes | int) -> str:
    return shown(came) if isinstance(came, bytes) else f"{came} bytes"


def _plain(error: Exception) -> str:
    """What went wrong, in one line."""
    text = " ".join(str(error).split())[:200]
    return text or type(error).__name__
