"""Board files: text in, a :class:`~halfsplit.board.model.Board` or everything wrong with it out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial

from halfsplit.board import lines
from halfsplit.board.brackets import BracketError, copies
from halfsplit.board.describe import read_describe, read_gives
from halfsplit.board.document import Document
from halfsplit.board.draft import Draft
from halfsplit.board.lexer import Statement, Token
from halfsplit.board.model import Board, Part, Spot
from halfsplit.board.names import KEYWORDS, Lexicon
from halfsplit.board.partline import read_part
from halfsplit.board.power import imply_power
from halfsplit.board.problems import Problems
from halfsplit.board.remarks import no_remarks, read_note, read_remarks
from halfsplit.board.stateline import read_state
from halfsplit.board.vocabulary import Vocabulary
from halfsplit.errors import BoardError, Problem
from halfsplit.frozen import dataclass

__all__ = ["Examination", "decode", "examine", "read_board"]


_Read = Callable[[Sequence[Token], Draft], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Examination:
    """What came of reading a text, good or bad.

    ``board`` leaves out the lines that could not be used and is ``None`` only when there is
    nothing to read at all. ``problems`` are the reader's, in the order of the file; what a
    repairer would ask about a board that reads well comes from ``halfsplit.board.lint``.
    """

    board: Board | None
    problems: tuple[Problem, ...]
    lines: Document

    @property
    def good(self) -> bool:
        """No errors."""
        return all(problem.severity != "error" for problem in self.problems)


def read_board(text: str, vocabulary: Vocabulary, *, source: str = "board") -> Board:
    """Read a board file. Raises :class:`BoardError` with everything that is wrong in it.

    ``source`` is the name shown before each problem, such as the file's.
    """
    examination = examine(text, vocabulary)
    errors = [problem for problem in examination.problems if problem.severity == "error"]
    if errors or examination.board is None:
        raise BoardError(errors, source=source)
    return examination.board


def decode(data: bytes, *, source: str = "board") -> str:
    """The text of a file's bytes, UTF-8. Raises :class:`BoardError` where it is something else."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        good = data[: error.start].decode("utf-8")
        line = good.count("\n") + 1
        column = len(good) - (good.rfind("\n") + 1) + 1
        message = (
            f"expected text in UTF-8, got the byte 0x{data[error.start]:02X}; "
            "save the file as UTF-8 text"
        )
        problem = Problem(line=line, column=column, severity="error", message=message)
        raise BoardError([problem], source=source) from error


def examine(text: str, vocabulary: Vocabulary) -> Examination:
    """Read as much of ``text`` as can be read; never raises for what the text says."""
    document = Document.of(text)
    problems = Problems()
    if "\0" in text:
        problems.error(Spot(), "expected a board file (text), got binary data")
    elif not document.statements:
        problems.error(
            Spot(), 'the file says nothing; expected lines such as board "Title" and R1 4k7 A B'
        )
    else:
        draft = Draft(lexicon=Lexicon(vocabulary), problems=problems)
        _fill(draft, document.statements)
        return Examination(board=draft.board(text), problems=problems.sorted(), lines=document)
    return Examination(board=None, problems=problems.sorted(), lines=document)


def _fill(draft: Draft, statements: Sequence[Statement]) -> None:
    """Ground and rails first, then parts, then what refers to them; lines may be in any order."""
    sound = [statement for statement in statements if _is_sound(statement, draft)]
    by_word: dict[str, list[Statement]] = {word: [] for word in (*KEYWORDS, "")}
    for statement in sound:
        token = statement.tokens[0]
        word = token.text.casefold() if token.value is None and not token.word.quoted else ""
        by_word[word if word in KEYWORDS else ""].append(statement)
    for statement in by_word["note"]:
        draft.notes.append(statement.verbatim or "")
    for word, read in (("board", lines.read_board_line), ("ground", lines.read_ground)):
        for statement in by_word[word]:
            no_remarks(statement, draft.problems)
            read(statement.tokens, draft)
    _plain(by_word["rail"], draft, lines.read_rail)
    _plain(by_word["describe"], draft, read_describe)
    _plain(by_word["gives"], draft, read_gives)
    for statement in by_word[""]:
        _part(statement, draft)
    imply_power(draft)
    _plain(by_word["offsheet"], draft, lines.read_offsheet)
    _plain(by_word["testpoint"], draft, lines.read_testpoint)
    _plain(by_word["output"], draft, lines.read_output)
    _check_references(draft)
    nets = draft.nets()
    for statement in by_word["state"]:
        note = read_note(statement, draft.problems)
        _each(statement, 1, draft, partial(_state, note=note, nets=nets))


def _state(copy: Sequence[Token], draft: Draft, *, note: str, nets: Iterable[str]) -> None:
    read_state(copy, note, draft, nets)


def _plain(statements: Iterable[Statement], draft: Draft, read: _Read) -> None:
    for statement in statements:
        no_remarks(statement, draft.problems)
        _each(statement, 1, draft, read)


def _is_sound(statement: Statement, draft: Draft) -> bool:
    faults = list(statement.faults)
    for fault in faults:
        draft.problems.error(fault.spot, fault.message)
    if not faults and not statement.tokens:
        spot = Spot(line=statement.first + 1, column=1)
        draft.problems.error(spot, "expected a designator or a line word before ;")
        return False
    if faults:
        draft.doubt(statement)
    return not faults


def _part(statement: Statement, draft: Draft) -> None:
    before = draft.problems.errors
    remarks = read_remarks(statement, draft.problems)
    _each(statement, 0, draft, lambda copy, into: read_part(copy, remarks, into))
    if draft.problems.errors > before:
        draft.doubt(statement)


def _each(
    statement: Statement,
    head: int,
    draft: Draft,
    read: _Read,
) -> None:
    """Read every line that a line with brackets stands for."""
    before = draft.problems.errors
    try:
        expanded = copies(statement.tokens, min(head, len(statement.tokens) - 1))
    except BracketError as error:
        draft.problems.error(error.spot, str(error))
    else:
        for copy in expanded:
            read(copy, draft)
    if draft.problems.errors > before:
        draft.doubt(statement)


def _check_references(draft: Draft) -> None:
    """Test points, off-sheet nets, outputs and far sides must be on the board."""
    nets = draft.nets()
    for net in draft.nets_of_parts():
        _check_far_side(net, draft)
    for leaving in list(draft.offsheet):
        ends = [leaving.net, leaving.net_to] if leaving.net_to else [leaving.net]
        if not all(_check_net(net, nets, leaving.spot, draft) for net in ends):
            draft.offsheet.remove(leaving)
    for name, net in list(draft.testpoints.items()):
        if not _check_net(net, nets, draft.testpoint_spots[name], draft):
            del draft.testpoints[name]
    for output in list(draft.outputs.values()):
        if output.measure != "current":
            good = _check_net(output.target, nets, output.spot, draft)
        else:
            good = output.target in draft.parts
            if not good and output.target not in draft.doubtful:
                message = f"expected a part of this board, got {output.target!r}"
                draft.problems.error(output.spot, message, name=output.target, known=draft.parts)
        if not good:
            del draft.outputs[output.name]


def _check_net(net: str, nets: Iterable[str], spot: Spot, draft: Draft) -> bool:
    if net in nets:
        return True
    if net not in draft.doubtful:
        message = f"expected a net of this board, got {net!r}, which no part is on"
        draft.problems.error(spot, message, name=net, known=nets)
    return False


def _check_far_side(net: str, draft: Draft) -> None:
    """``J2/5`` is the cable side of pin 5 of J2, which must have been typed."""
    designator, slash, pin = net.partition("/")
    connector = draft.parts.get(designator)
    if not slash or connector is None or not _names_its_pins(connector, draft):
        return
    if pin in connector.pins:
        return
    for part in draft.parts.values():
        if net in part.pins.values():
            message = f"{designator} has no pin {pin} typed, so {net} is the far side of nothing"
            draft.problems.error(part.spot, message, name=pin, known=connector.pins)
            return


def _names_its_pins(part: Part, draft: Draft) -> bool:
    word = draft.lexicon.word_of(part)
    return word is not None and word.free_pins
