"""A conversation with one instrument: questions, settings, blocks, and what it says of errors.

Common commands of IEEE 488.2-1992 (``*CLS`` 10.3, ``*ESR?`` 10.12, ``*IDN?`` 10.14) and the error
queue of SCPI-1999 (volume 2, 21.8). ``*RST`` is never sent: it would change what is on the bench.
Nothing is asked a second time. After trouble a link is closed, so that an answer that comes late
is never taken for the next one's.
"""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from typing import TypeVar

from halfsplit.closing import Closing
from halfsplit.errors import AnswerError, InstrumentError, LinkError, RefusedError, SilenceError
from halfsplit.instruments.answers import (
    TYPE_IT,
    block_size,
    error_entry,
    identity,
    number,
    shown,
    words_of,
)
from halfsplit.instruments.wire import Wire, open_wire

__all__ = ["ERROR_WAYS", "SECONDS", "Link"]

SECONDS = 3.0
"""Longest wait for one answer, unless the owner says otherwise."""

ERROR_WAYS = ("SYST:ERR?", "*ESR?")
"""Where an instrument tells of errors: SCPI's queue, else the standard event status register."""

T = TypeVar("T")

_EVENTS = {5: "command error", 4: "execution error", 3: "device error", 2: "query error"}
"""Bits of that register that mean trouble (IEEE 488.2-1992, 11.5.1)."""
_MOST_ENTRIES = 20
_MOST_STALE = 4
_PUT_RIGHT = f"put right what it says, {TYPE_IT}"
_busy: dict[str, Lock] = {}


class Link(Closing):
    """Open on one instrument; use it in a ``with`` block.

    ``known`` is its name as it answered before, empty when it is not known yet. ``errors_by`` is
    one of `ERROR_WAYS`, or empty when it has neither.
    """

    def __init__(
        self,
        address: str,
        *,
        known: str = "",
        errors_by: str = "",
        seconds: float = SECONDS,
        baud: int = 0,
    ) -> None:
        """Raises :class:`LinkError` when there is none, :class:`SilenceError`, and
        :class:`AnswerError` when it is another instrument than before."""
        self.address, self.errors_by = address, errors_by
        self._seconds, self._baud = seconds, baud
        self._mine = _busy.setdefault(address, Lock())
        self._holds = self._mine.acquire(timeout=2.0 * seconds)
        if not self._holds:
            raise LinkError(
                address, expected="an instrument that is free",
                got="one that another page or command is asking", do=f"try again, {TYPE_IT}",
            )  # fmt: skip
        self._wire: Wire | None = None
        self.name = known
        try:
            self._open()
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Let go of the instrument."""
        self._drop()
        if self._holds:
            self._holds = False
            self._mine.release()

    def tell(self, *commands: str) -> None:
        """Settings, each of which must be accepted. Raises :class:`RefusedError` with what the
        instrument said, :class:`LinkError`, :class:`SilenceError`."""
        for command in commands:
            self._guarded(lambda wire, command=command: wire.send(command))  # type: ignore[misc]  # mypy does not infer a lambda with a default
            self.accepted(command)

    def ask(self, question: str) -> str:
        """The line that answers. Raises :class:`RefusedError` when the instrument says that it
        does not know the question, :class:`SilenceError`, :class:`AnswerError`,
        :class:`LinkError`."""
        try:
            return self._guarded(lambda wire: _asked(wire, question), keep_silent=True)
        except SilenceError as silent:
            raise self._why(question, silent) from silent

    def number(self, question: str, what: str) -> float:
        """A number that answers; infinity for an overload. Raises what `ask` raises."""
        answer = self.ask(question)
        try:
            return number(answer, self.address, what=f"{what} for {question}")
        except AnswerError:
            self._drop()
            raise

    def block(self, question: str, *, most: int) -> bytes:
        """The bytes of a block that answers, at most so many. Raises what `ask` raises."""
        try:
            return self._guarded(lambda wire: self._block(wire, question, most), keep_silent=True)
        except SilenceError as silent:
            raise self._why(question, silent) from silent

    def knows(self, question: str) -> str | None:
        """The answer, or ``None`` when it does not know the question. For finding out once how an
        instrument is talked to; raises :class:`LinkError`."""
        try:
            return self.ask(question)
        except RefusedError:
            return None
        except (SilenceError, AnswerError):
            self._drop()
            self._open()
            return None

    def errors(self) -> tuple[str, ...]:
        """What the instrument has to say of errors, oldest first; its queue is empty then."""
        if not self.errors_by:
            return ()
        if self.errors_by == "*ESR?":
            bits = int(self.number("*ESR?", "the event register"))
            return tuple(words for bit, words in _EVENTS.items() if bits >> bit & 1)
        said = []
        for _ in range(_MOST_ENTRIES):
            answer = self._guarded(lambda wire: _asked(wire, self.errors_by))
            entry = error_entry(answer)
            if entry is None:
                self._drop()
                raise AnswerError(
                    self.address, expected='an entry of its error queue such as 0,"No error"',
                    got=shown(answer), do=f"try again, {TYPE_IT}",
                )  # fmt: skip
            if not entry[0]:
                break
            said.append(f"{entry[0]} {entry[1]}".strip())
        return tuple(said)

    def accepted(self, command: str) -> None:
        """Raises :class:`RefusedError` when the instrument has errors to tell."""
        if said := self.errors():
            raise self._refused(command, said)

    def _open(self) -> None:
        self._wire = open_wire(self.address, seconds=self._seconds, baud=self._baud)
        try:
            self._wire.clear()
            self._wire.send("*CLS")
            self._greet(self._wire)
        except InstrumentError:
            self._drop()
            raise

    def _greet(self, wire: Wire) -> None:
        """Ask its name. What an earlier, broken conversation left comes before it, since an
        instrument answers in order; it is passed over."""
        wire.send("*IDN?")
        before = self.name
        for left in reversed(range(_MOST_STALE)):
            answer = words_of(wire.line())
            try:
                self.name = identity(answer, self.address)
                break
            except AnswerError:
                if not left or not _may_be_stale(answer):
                    raise
        if before and before != self.name:
            raise AnswerError(
                self.address, expected=f"the instrument {before!r}", got=repr(self.name),
                do="another one is plugged in there: give the right address, or remember this one "
                "by halfsplit instruments --remember",
            )  # fmt: skip

    def _block(self, wire: Wire, question: str, most: int) -> bytes:
        wire.forget()
        wire.send(question)
        head = wire.exactly(2)
        count = int(head[1:]) if head[1:].isdigit() and head[:1] == b"#" else 0
        size = block_size(head, wire.exactly(count), self.address, most=most)
        data = wire.exactly(size)
        rest = wire.rest()
        if rest.strip(b"\r"):
            raise AnswerError(
                self.address, expected=f"the end after a block of {size} bytes", got=shown(rest),
                do="its length does not fit; fetch it again",
            )  # fmt: skip
        return data

    def _guarded(self, job: Callable[[Wire], T], *, keep_silent: bool = False) -> T:
        """Do something with the wire; after trouble it is closed."""
        if self._wire is None:
            raise LinkError(
                self.address, expected="an open link", got="one that was closed after trouble",
                do=f"try again, {TYPE_IT}",
            )  # fmt: skip
        try:
            return job(self._wire)
        except SilenceError:
            if not keep_silent:
                self._drop()
            raise
        except InstrumentError:
            self._drop()
            raise

    def _why(self, question: str, silent: SilenceError) -> InstrumentError:
        """Why there was no answer: what the error queue says, when it says something.

        An instrument answers in order: an entry of the queue here means that the question itself
        gets no answer any more, anything else is the answer that came too late.
        """
        wire = self._wire
        if wire is None or self.errors_by != ERROR_WAYS[0]:
            self._drop()
            return silent
        try:
            wire.send(self.errors_by)
            answer = words_of(wire.line())
        except InstrumentError:
            self._drop()
            return silent
        entry = error_entry(answer)
        if entry is not None and entry[0]:
            return self._refused(question, (f"{entry[0]} {entry[1]}".strip(), *self.errors()))
        self._drop()
        if entry is not None:
            return silent
        return SilenceError(
            self.address, expected=f"an answer to {question} within {self._seconds:g} s",
            got=f"one that came too late ({shown(answer)}) and is not used",
            do=f"give it longer by --seconds, {TYPE_IT}",
        )  # fmt: skip

    def _refused(self, command: str, said: tuple[str, ...]) -> RefusedError:
        return RefusedError(
            self.address, expected=f"that it takes {command}", got=f"errors: {'; '.join(said)}",
            do=_PUT_RIGHT,
        )  # fmt: skip

    def _drop(self) -> None:
        if self._wire is not None:
            self._wire.close()
            self._wire = None


def _asked(wire: Wire, question: str) -> str:
    wire.forget()
    wire.send(question)
    return words_of(wire.line())


def _may_be_stale(answer: str) -> bool:
    """A number, a list of them, an entry of the error queue, or what is left of a line: what other
    questions of ours are answered by."""
    return not answer or answer[0] in '+-.0123456789#"' or error_entry(answer) is not None
