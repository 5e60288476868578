"""The lines that are not a part's: board, ground, rail, offsheet, testpoint, output."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from halfsplit.board.draft import Draft
from halfsplit.board.lexer import Token, Word
from halfsplit.board.model import OffSheet, Output, Rail, Spot
from halfsplit.board.names import net_fault
from halfsplit.errors import UnitError
from halfsplit.units import parse, parse_percent

__all__ = [
    "read_board_line",
    "read_ground",
    "read_offsheet",
    "read_output",
    "read_rail",
    "read_testpoint",
]


def read_board_line(tokens: Sequence[Token], draft: Draft) -> None:
    """``board "Title" rev B``; an unquoted title runs up to ``rev``."""
    if draft.board_spot is not None:
        draft.problems.error(
            tokens[0].spot, f"board is already on line {draft.board_spot.line}; expected one"
        )
        return
    draft.board_spot = tokens[0].spot
    texts = [token.text for token in tokens[1:]]
    bare = [
        i for i, token in enumerate(tokens[1:]) if token.text == "rev" and not token.word.quoted
    ]
    cut = bare[-1] if bare else len(texts)
    draft.title = " ".join(texts[:cut])
    draft.revision = " ".join(texts[cut + 1 :])
    if not draft.title:
        draft.problems.error(tokens[0].spot, 'expected a title, such as board "Carriage drive"')
    elif bare and not draft.revision:
        draft.problems.error(tokens[1 + cut].spot, "expected a revision after rev, such as rev B")


def read_ground(tokens: Sequence[Token], draft: Draft) -> None:
    """``ground GND``."""
    if draft.ground_spot is not None:
        message = (
            f"ground is already on line {draft.ground_spot.line}; expected one, "
            "other grounds are nets joined to it"
        )
        draft.problems.error(tokens[0].spot, message)
        return
    rest = _Rest(tokens, draft)
    name = rest.net("ground", ground=True)
    if name is not None and rest.end():
        draft.ground, draft.ground_spot = name, tokens[0].spot


def read_rail(tokens: Sequence[Token], draft: Draft) -> None:
    """``rail +5 5V 5% ohms=0.05``."""
    rest = _Rest(tokens, draft)
    net = rest.net("rail")
    volts = rest.quantity("V", "the rail's voltage such as 5V or -12V")
    tolerance, ohms = None, None
    while rest.good and rest.left:
        token = rest.left.pop(0)
        try:
            if token.value is None and token.text.endswith("%"):
                tolerance = parse_percent(token.text)
                continue
            if token.value is not None and token.word.text.casefold() == "ohms":
                ohms = parse(token.value.text, "Ω")
                if ohms <= 0:
                    rest.refuse(
                        token.value.spot, f"expected more than 0 Ω, got {token.value.text!r}"
                    )
                continue
        except UnitError as error:
            rest.refuse((token.value or token.word).spot, str(error))
            continue
        rest.refuse(token.spot, f"expected a tolerance (5%) or ohms=0.05, got {token.text!r}")
    if not rest.good or net is None or volts is None:
        return
    spot = tokens[1].spot
    if volts == 0:
        message = (
            f"expected a voltage that is not 0, got {tokens[2].text!r}; "
            "ground has a line of its own"
        )
        draft.problems.error(tokens[2].spot, message)
    elif net == draft.ground:
        draft.problems.error(spot, f"{net} is ground; expected another net as a rail")
    elif net in draft.rails:
        draft.problems.error(spot, f"rail {net} is already on line {draft.rails[net].spot.line}")
    else:
        plain = Rail(net=net, volts=volts)
        draft.rails[net] = Rail(
            net=net,
            volts=volts,
            tolerance=plain.tolerance if tolerance is None else tolerance,
            ohms=plain.ohms if ohms is None else ohms,
            spot=spot,
        )


def read_offsheet(tokens: Sequence[Token], draft: Draft) -> None:
    """``offsheet NET drive FAMILY | load FAMILY [COUNT] | load OHMS NET | unknown``."""
    rest = _Rest(tokens, draft)
    net = rest.net("offsheet")
    what = rest.choice(("drive", "load", "unknown"))
    if net is None or what is None:
        return
    spot, families = tokens[1].spot, draft.lexicon.families
    family, count, ohms, net_to = "", 1, None, ""
    if what == "drive":
        word = rest.word("a logic family such as 74LS")
        if word is None:
            return
        known = draft.lexicon.family(word.text)
        if known is None:
            message = f"expected a logic family, got {word.text!r}"
            rest.refuse(word.spot, message, word.text, sorted(families))
        family = known or ""
    elif what == "load":
        word = rest.word("a logic family such as 74LS, or ohms and a net such as 10k +5")
        if word is None:
            return
        known = draft.lexicon.family(word.text)
        if known is not None:
            family, count = known, rest.count()
        else:
            try:
                ohms = parse(word.text, "Ω")
            except UnitError:
                message = f"expected a logic family or a resistance, got {word.text!r}"
                rest.refuse(word.spot, message, word.text, sorted(families))
            else:
                if ohms <= 0:
                    rest.refuse(word.spot, f"expected more than 0 Ω, got {word.text!r}")
                net_to = rest.net("the other end of the load") or ""
    if rest.end():
        kind: Literal["drive", "load", "unknown"] = (
            "drive" if what == "drive" else "load" if what == "load" else "unknown"
        )
        draft.offsheet.append(
            OffSheet(
                net=net, what=kind, family=family, count=count, ohms=ohms, net_to=net_to, spot=spot
            )
        )


def read_testpoint(tokens: Sequence[Token], draft: Draft) -> None:
    """``testpoint TP1 NET``."""
    rest = _Rest(tokens, draft)
    word = rest.word("the name of the test point, such as TP1")
    net = rest.net("testpoint")
    if word is None or net is None or not rest.end():
        return
    if fault := net_fault(word.text, "0"):
        draft.problems.error(word.spot, fault.replace("a net", "a name"))
    elif word.text in draft.testpoints:
        line = draft.testpoint_spots[word.text].line
        draft.problems.error(word.spot, f"test point {word.text} is already on line {line}")
    else:
        draft.testpoints[word.text] = net
        draft.testpoint_spots[word.text] = tokens[2].spot


def read_output(tokens: Sequence[Token], draft: Draft) -> None:
    """``output "NAME" current PART above AMPS | volts NET above VOLTS | level NET | right NET``."""
    rest = _Rest(tokens, draft)
    name = rest.word('what is seen, such as "phase A pulls"')
    measure = rest.choice(("current", "volts", "level", "right"))
    target = rest.word("a part (current) or a net (volts, level, right)")
    if name is None or measure is None or target is None:
        return
    threshold: float | None = 0.0
    if measure in ("current", "volts"):
        unit, example = ("A", "100mA") if measure == "current" else ("V", "11.4")
        if rest.choice(("above",)) is None:
            return
        threshold = rest.quantity(unit, f"a threshold such as {example}")
    if threshold is None or not rest.end():
        return
    if not name.text.strip():
        draft.problems.error(name.spot, "expected a name for the output, got an empty one")
    elif name.text in draft.outputs:
        line = draft.outputs[name.text].spot.line
        draft.problems.error(name.spot, f"output {name.text!r} is already on line {line}")
    else:
        draft.outputs[name.text] = Output(
            name=name.text,
            measure=measure,  # type: ignore[arg-type]
            target=target.text,
            threshold=threshold,
            spot=target.spot,
        )


class _Rest:
    """The words still to be read on a line; the first thing missing is reported, once."""

    def __init__(self, tokens: Sequence[Token], draft: Draft) -> None:
        self.left = list(tokens[1:])
        self.good = True
        self._last = tokens[0]
        self._draft = draft

    def refuse(self, spot: Spot, message: str, name: str = "", known: Sequence[str] = ()) -> None:
        if self.good:
            self._draft.problems.error(spot, message, name=name, known=known)
        self.good = False

    def word(self, what: str) -> Word | None:
        """The next bare word."""
        if not self.good:
            return None
        if not self.left:
            self.refuse(self._last.spot, f"expected {what} after {self._last.text!r}")
            return None
        self._last = self.left.pop(0)
        if self._last.value is not None:
            self.refuse(self._last.spot, f"expected {what}, got {self._last.text!r}")
            return None
        return self._last.word

    def net(self, what: str, *, ground: bool = False) -> str | None:
        word = self.word(f"a net ({what})")
        if word is None:
            return None
        fault = net_fault(word.text, "0" if ground else self._draft.ground)
        if fault:
            self.refuse(word.spot, fault)
            return None
        return word.text

    def choice(self, words: Sequence[str]) -> str | None:
        shown = " or ".join(words)
        word = self.word(shown)
        if word is None:
            return None
        if word.text.casefold() in words:
            return word.text.casefold()
        self.refuse(word.spot, f"expected {shown}, got {word.text!r}", word.text, words)
        return None

    def quantity(self, unit: str, what: str) -> float | None:
        word = self.word(what)
        if word is None:
            return None
        try:
            return parse(word.text, unit)
        except UnitError:
            self.refuse(word.spot, f"expected {what}, got {word.text!r}")
            return None

    def count(self) -> int:
        """A whole number, 1 when the line ends."""
        if not self.left:
            return 1
        word = self.word("how many inputs")
        if word is None:
            return 1
        if not word.text.isascii() or not word.text.isdigit() or not 0 < len(word.text) < 5:
            self.refuse(word.spot, f"expected how many inputs, such as 2, got {word.text!r}")
            return 1
        if int(word.text) == 0:
            self.refuse(word.spot, f"expected at least one input, got {word.text!r}")
        return int(word.text)

    def end(self) -> bool:
        """Whether all was good and nothing is left over."""
        if self.good and self.left:
            self.refuse(
                self.left[0].spot, f"expected the end of the line, got {self.left[0].text!r}"
            )
        return self.good
