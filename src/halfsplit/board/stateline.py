"""The line of a state: what is set, step by step.

A step holds everything that is set at its moment: what earlier steps set stays set until a
later one changes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.board.draft import Draft
from halfsplit.board.lexer import Token, Word
from halfsplit.board.model import Drive, Spot, State, Step
from halfsplit.board.names import net_fault
from halfsplit.errors import UnitError
from halfsplit.units import parse

__all__ = ["LEVELS", "MAX_STEPS", "read_state"]

LEVELS = ("low", "high", "open")
"""Words that a net may be set to, besides a voltage such as ``2.4V``."""

MAX_STEPS = 4096
"""Most steps in one state."""


def read_state(tokens: Sequence[Token], note: str, draft: Draft, nets: Iterable[str]) -> None:
    """Read one state; ``nets`` are all nets it may set. Parts must have been read."""
    problems, before = draft.problems, draft.problems.errors
    if len(tokens) < 2 or tokens[1].value is not None:
        spot = tokens[min(1, len(tokens) - 1)].spot
        problems.error(spot, "expected a name after state, such as state rest CLK=low")
        return
    name = tokens[1].word
    if not name.quoted and (fault := net_fault(name.text, "0")):
        problems.error(name.spot, fault.replace("a net", "a name"))
        return
    if name.text in draft.states:
        line = draft.states[name.text].spot.line
        problems.error(name.spot, f"state {name.text} is already on line {line}")
        return
    line_ = _Line(draft, frozenset(nets))
    line_.read(tokens[2:])
    if problems.errors > before:
        draft.doubtful.add(name.text)
    elif not line_.doubtful:
        draft.states[name.text] = State(
            name=name.text,
            steps=tuple(Step(drives=tuple(step.values())) for step in line_.steps),
            powered=line_.powered,
            note=note,
            spot=name.spot,
        )
    else:
        draft.doubtful.add(name.text)


class _Line:
    def __init__(self, draft: Draft, nets: frozenset[str]) -> None:
        self.steps: list[dict[str, Drive]] = [{}]
        self.powered = True
        self.doubtful = False
        """It leans on a line that was left out, so it is left out too, without another word."""
        self._draft, self._nets = draft, nets
        self._like_allowed = True

    def read(self, tokens: Sequence[Token]) -> None:
        rest = list(tokens)
        new_step: Token | None = None
        while rest:
            token = rest.pop(0)
            if token.value is not None:
                self._set(token.word, token.value, new=new_step is not None)
                new_step = None
            elif token.text == "then" and new_step is None:
                new_step = token
            elif token.text == "then":
                self._error(token.spot, "expected something to set between then and then")
            elif token.text == "like":
                self._like(token, rest)
            elif token.text == "pulse":
                self._pulse(token, rest)
                new_step = None
            else:
                message = f"expected NET=low or the like, or like, then, pulse; got {token.text!r}"
                self._error(token.spot, message, token.text, ("like", "then", "pulse"))
                return
            self._like_allowed = False
            if len(self.steps) > MAX_STEPS:
                self._error(token.spot, f"more than {MAX_STEPS} steps in one state")
                return
        if new_step is not None:
            self._error(new_step.spot, "expected something to set after then, such as CLK=high")

    def _error(self, spot: Spot, message: str, name: str = "", known: Iterable[str] = ()) -> None:
        self._draft.problems.error(spot, message, name=name, known=known)

    def _like(self, token: Token, rest: list[Token]) -> None:
        if not self._like_allowed:
            self._error(token.spot, "like comes first, directly after the state's name")
            del rest[:1]
            return
        if not rest or rest[0].value is not None:
            self._error(token.spot, "expected a state after like")
            return
        word = rest.pop(0).word
        model = self._draft.states.get(word.text)
        if model is not None:
            self.steps = [{drive.target: drive for drive in step.drives} for step in model.steps]
            self.powered = model.powered
        elif word.text in self._draft.doubtful:
            self.doubtful = True
        else:
            message = f"expected a state typed above, got {word.text!r}"
            self._error(word.spot, message, word.text, self._draft.states)

    def _pulse(self, token: Token, rest: list[Token]) -> None:
        if not rest or rest[0].value is not None:
            self._error(token.spot, "expected a net after pulse")
            return
        word, times = rest.pop(0).word, 1
        if rest and rest[0].value is None and rest[0].text.isascii() and rest[0].text.isdigit():
            count = rest.pop(0)
            times = int(count.text) if len(count.text) < 6 else MAX_STEPS
            if not 0 < times < MAX_STEPS // 3:
                message = f"expected 1 to {MAX_STEPS // 3 - 1} pulses, got {count.text!r}"
                self._error(count.spot, message)
                return
        if word.text not in self._nets:
            self._unknown(word, self._nets)
            return
        for level in ("low", "high", "low") * times:
            self.steps.append({**self.steps[-1]})
            self._put(Drive(target=word.text, value=level, spot=word.spot))

    def _put(self, drive: Drive) -> None:
        self.steps[-1][drive.target] = drive

    def _set(self, target: Word, value: Word, *, new: bool) -> None:
        fold = value.text.casefold()
        if target.text.casefold() == "rails" and target.text not in self._nets:
            if fold in ("on", "off"):
                self.powered = fold == "on"
            else:
                self._error(
                    value.spot,
                    f"expected rails=on or rails=off, got {value.text!r}",
                    value.text,
                    ("on", "off"),
                )
            return
        words, volts = self._allowed(target.text)
        if not words and not volts:
            part = self._draft.parts.get(target.text)
            if part is not None:
                message = f"a state cannot set {target.text}, a {part.kind}"
                self._error(target.spot, message)
            else:
                self._unknown(target, [*self._nets, *self._draft.parts])
            return
        known = next((word for word in words if word.casefold() == fold), None)
        if known is None and volts and _is_volts(value.text):
            known = value.text
        if known is None:
            shown = ", ".join(words) + (" or a voltage such as 2.4V" if volts else "")
            message = f"expected {target.text}={shown}; got {value.text!r}"
            self._error(value.spot, message, value.text, words)
            return
        if new:
            self.steps.append({**self.steps[-1]})
        self._put(Drive(target=target.text, value=known, spot=target.spot))

    def _allowed(self, target: str) -> tuple[list[str], bool]:
        """The words that ``target`` may be set to, and whether a voltage will do."""
        part = self._draft.parts.get(target)
        words: list[str] = []
        if part is not None:
            kind = self._draft.lexicon.kinds[part.kind]
            words += dict.fromkeys((*kind.settings, *(("out", "in") if kind.free_pins else ())))
        if target in self._draft.rails:
            return [*words, "off", "on"], True
        if target in self._nets and target != self._draft.ground:
            return [*words, *LEVELS, *self._on_net(target)], True
        return words, False

    def _on_net(self, net: str) -> list[str]:
        """What a net may be set to because of the outputs that are on it."""
        words: dict[str, None] = {}
        for part in self._draft.parts.values():
            kind = self._draft.lexicon.word_of(part)
            if kind and kind.on_nets:
                outputs = (pin for pin, role in part.roles.items() if role == "out")
                if any(part.pins.get(pin) == net for pin in outputs):
                    words.update(dict.fromkeys(kind.on_nets))
        return list(words)

    def _unknown(self, word: Word, known: Iterable[str]) -> None:
        if word.text in self._draft.doubtful:
            self.doubtful = True
            return
        if word.text == self._draft.ground:
            self._error(word.spot, f"a state cannot set {word.text}, which is ground")
            return
        message = f"expected a net, rail or part of this board, got {word.text!r}"
        self._error(word.spot, message, word.text, known)


def _is_volts(text: str) -> bool:
    """A voltage with its unit: a bare 1 could be meant as a logic level."""
    if "v" not in text.casefold():
        return False
    try:
        parse(text, "V")
    except UnitError:
        return False
    return True
