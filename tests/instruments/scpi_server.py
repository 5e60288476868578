"""A small instrument behind a real TCP socket, which can be told to misbehave.

It answers lines by a table, keeps settings (``SOUR:VOLT 5`` is read back by ``SOUR:VOLT?``), and
has an error queue as SCPI-1999 describes it (volume 2, 21.8): an unknown header puts
``-113,"Undefined header"`` there and is not answered.
"""

import select
import socket
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Event, Thread

NAME = "Bench Works,Invented 1,SN0042,1.0"


@dataclass(frozen=True)
class Slow:
    """Answers after so many seconds."""

    seconds: float
    answer: bytes


@dataclass(frozen=True)
class Half:
    """Sends this, and then nothing more, though the line is not at its end."""

    part: bytes


@dataclass(frozen=True)
class Cut:
    """Sends this and closes the connection."""

    part: bytes = b""


@dataclass(frozen=True)
class Held:
    """Does not answer now; whoever connects next gets the answer first, as a bridge from network
    to serial does it: ``at_once``, or before the answer to the next question."""

    answer: bytes
    at_once: bool = True


Reply = str | bytes | Slow | Half | Cut | Held | Callable[[str], str | bytes | None]


@dataclass
class ScpiServer:
    """Serves one connection at a time until `stop`. ``heard`` has every line that came."""

    replies: dict[str, Reply] = field(default_factory=dict)
    settings: dict[str, str] = field(default_factory=dict)
    refuses: dict[str, str] = field(default_factory=dict)
    has_queue: bool = True
    heard: list[str] = field(default_factory=list)
    queue: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.replies = {"*IDN?": NAME, "*ESR?": "0", **self.replies}
        self._held = Held(b"")
        self._stop = Event()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.settimeout(0.01)
        self.port: int = self._listener.getsockname()[1]
        self._thread = Thread(target=self._serve, daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"TCPIP::127.0.0.1::{self.port}::SOCKET"

    def stop(self) -> None:
        """Pull the plug."""
        self._stop.set()
        self._thread.join()
        self._listener.close()

    def _serve(self) -> None:
        while not self._stop.is_set():
            try:
                connection, _ = self._listener.accept()
            except TimeoutError:
                continue
            with connection:
                try:
                    self._talk(connection)
                except OSError:
                    continue

    def _talk(self, connection: socket.socket) -> None:
        if self._held.at_once:
            self._late(connection)
        waiting = b""
        while not self._stop.is_set():
            if not select.select([connection], [], [], 0.01)[0]:
                continue
            came = connection.recv(4096)
            if not came:
                return
            *lines, waiting = (waiting + came).split(b"\n")
            for line in lines:
                if not self._line(line.decode("ascii"), connection):
                    return

    def _line(self, line: str, connection: socket.socket) -> bool:
        """Whether to go on after this line."""
        self.heard.append(line)
        reply = self._reply(line)
        if reply is not None and not isinstance(reply, Held):
            self._late(connection)
        if callable(reply):
            reply = reply(line)
        if isinstance(reply, Held):
            self._held = reply
        elif isinstance(reply, Slow):
            time.sleep(reply.seconds)  # the fault itself is that it takes so long
            connection.sendall(reply.answer)
        elif isinstance(reply, Half):
            connection.sendall(reply.part)
        elif isinstance(reply, Cut):
            connection.sendall(reply.part)
            return False
        elif reply is not None:
            connection.sendall(reply.encode() + b"\n" if isinstance(reply, str) else reply)
        return True

    def _late(self, connection: socket.socket) -> None:
        connection.sendall(self._held.answer)
        self._held = Held(b"")

    def _reply(self, line: str) -> Reply | None:
        header, _, value = line.partition(" ")
        if line in self.replies:
            return self.replies[line]
        if line == "*CLS":
            self.queue.clear()
            return None
        if line == "SYST:ERR?" and self.has_queue:
            return self.queue.pop(0) if self.queue else '0,"No error"'
        if header in self.refuses:
            self.queue.append(self.refuses[header])
            return None
        if header.removesuffix("?") in self.settings:
            if header.endswith("?"):
                return self.settings[header.removesuffix("?")]
            self.settings[header] = value
            return None
        self.queue.append('-113,"Undefined header"')
        return None


def block(data: bytes, *, length: int | None = None) -> bytes:
    """IEEE 488.2-1992, 8.7.9: #, the number of digits, the length, the bytes; a line's end."""
    digits = str(len(data) if length is None else length)
    return f"#{len(digits)}{digits}".encode() + data + b"\n"
