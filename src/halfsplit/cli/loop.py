"""A case in the terminal: show the next check, take the reading, show the next."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from halfsplit.bench import Bench
from halfsplit.checks.kind import Check
from halfsplit.cli.command import Answer
from halfsplit.cli.screen import Screen
from halfsplit.cli.show import entry_lines, log_lines, next_lines, suspect_lines
from halfsplit.cli.suggested import check_of, check_of_number, offer, offered_before
from halfsplit.errors import HalfsplitError

__all__ = ["Loop"]

_KEYS = (
    ("a reading", "the answer to check 1: 0.7, 4k7, OL, low, right; could not tell: skip"),
    ("2: 0.7", "the answer to another suggestion, by its number"),
    ("volts U3.6 @run: 0.7", "any other check, a colon, and what was read"),
    ("r", "let the meter read check 1, if one is remembered; entered after a yes"),
    ("s", "suspects, with what raised or lowered them"),
    ("l", "the log"),
    ("u, u 4", "take back the last entry, or entry 4"),
    ("n WORDS", "write a note"),
    ("m", "more: every suggestion in full"),
    ("q", "stop; the case is kept"),
)
_DEMO_KEYS = (
    ("b", "let the demo board answer check 1"),
    ("t", "tell the hidden fault"),
)


class Loop:
    """One conversation. ``read`` gives the next line typed and raises EOFError at the end.

    With ``hidden``, the id of a fault, there is no board but a rehearsal of one, which answers.
    """

    def __init__(
        self,
        bench: Bench,
        screen: Screen,
        *,
        hidden: str = "",
        read: Callable[[str], str] = input,
        write: Callable[[str], None] = print,
    ) -> None:
        self._bench, self._screen, self._hidden = bench, screen, hidden
        self._read, self._write = read, write

    def run(self) -> Answer:
        """Until the person stops."""
        self._say([self._screen.strong(f"{self._bench.board.title}   {self._bench.path}")])
        self._say(["Type a reading, or ? for what else can be typed."])
        if self._hidden:
            self._say(["A fault is hidden in this board: b lets the board answer, t tells it."])
            self._say(log_lines(self._bench.log()[1:], self._screen))
        self._say([""])
        self._show()
        while True:
            line = self._typed("> ", "q")
            if line in ("q", "quit", "exit"):
                self._say([f"kept in {self._bench.path}"])
                return Answer()
            try:
                self._do(line)
            except HalfsplitError as error:
                self._say(self._screen.wrap(str(error), "! ", "  "))

    def _typed(self, prompt: str, at_end: str) -> str:
        """The next line; ``at_end`` when the keyboard is gone."""
        try:
            return self._read(prompt).strip()
        except (EOFError, KeyboardInterrupt):
            return at_end

    def _do(self, line: str) -> None:
        word, _, rest = line.partition(" ")
        rest = rest.strip()
        if not line or line == "?":
            self._say(self._screen.columns((*_KEYS, *_DEMO_KEYS) if self._hidden else _KEYS))
        elif self._hidden and line == "b":
            self._answer()
        elif self._hidden and line == "t":
            self._say([f"hidden: {self._hidden}"])
        elif line == "r":
            self._meter()
        elif line == "s":
            self._say(suspect_lines(self._bench.suspects(8), self._screen))
        elif line == "l":
            self._say(log_lines(self._bench.log(), self._screen))
        elif line == "m":
            self._say(next_lines(offer(self._bench, self._bench.next()), self._screen, full=5))
        elif word == "n" and rest:
            self._say(log_lines([self._bench.note(rest)], self._screen))
        elif word == "u" and (not rest or rest.lstrip("#").isdecimal()):
            undo = self._bench.undo(int(rest.lstrip("#")) if rest else None)
            self._say([f"#{undo.takes_back} taken back", ""])
            self._show()
        else:
            self._enter(*self._asked(line))

    def _answer(self) -> None:
        check = self._first()
        self._enter(check, self._bench.rehearse(self._hidden, check))

    def _meter(self) -> None:
        from halfsplit.instruments.reading import read_check

        check = self._first()
        shown = read_check(check, self._bench.world)
        self._say([f"{shown.instrument} reads {shown.text} ({shown.function})"])
        if self._typed("Enter it? [yes/no] ", "no").casefold() in ("y", "yes"):
            self._enter(check, shown.text, shown.source)

    def _enter(self, check: Check, reading: str, source: str = "") -> None:
        view = self._bench.enter(check, reading, source=source)
        entry = view.entry
        assert entry.reading is not None
        self._say([*entry_lines(entry, self._screen), ""])
        self._show()

    def _asked(self, line: str) -> tuple[Check, str]:
        """``CHECK: READING``, else the whole line answers the first suggestion."""
        name, colon, reading = line.rpartition(":")
        if colon and name.strip() and reading.strip():
            words = [name.strip(), reading.strip()]
            return check_of(words, self._bench, offered_before(self._bench))
        return self._first(), line

    def _first(self) -> Check:
        return check_of_number(1, self._bench, offered_before(self._bench))

    def _show(self) -> None:
        self._say(next_lines(offer(self._bench, self._bench.next(3)), self._screen))

    def _say(self, lines: Iterable[str]) -> None:
        for line in lines:
            self._write(line)
