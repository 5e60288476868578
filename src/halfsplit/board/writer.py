"""A board made by a program, as tidy text that reads back equal."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.board.model import (
    GROUND,
    Board,
    Description,
    OffSheet,
    Output,
    Part,
    Rail,
    Remarks,
    State,
)
from halfsplit.board.names import Lexicon
from halfsplit.board.reader import examine
from halfsplit.board.vocabulary import KindWord, TypeWord, Vocabulary
from halfsplit.errors import BoardError, Problem
from halfsplit.units import format_percent, format_typed

__all__ = ["part_line", "write_board"]


def write_board(board: Board, vocabulary: Vocabulary) -> str:
    """Render ``board`` as text; reading it gives an equal board.

    Comments, brackets and ``like`` are a person's and are not made up. Raises
    :class:`BoardError` when the board says what a file cannot (a net with a blank in its name,
    a part of a kind the vocabulary lacks, a step that forgets what an earlier step set).
    """
    lexicon = Lexicon(vocabulary, board.descriptions)
    blocks = [
        _title(board),
        [_rail(rail) for rail in board.rails],
        [line for each in board.descriptions for line in _described(each)],
        [_part(part, lexicon) for part in board.parts],
        [_offsheet(leaving) for leaving in board.offsheet],
        [f"testpoint {name} {net}" for name, net in board.testpoints.items()],
        [_output(output) for output in board.outputs],
        [_state(state) for state in board.states],
    ]
    text = "\n".join("".join(line + "\n" for line in block) for block in blocks if block)
    _require_equal(text, board, vocabulary)
    return text


def part_line(part: Part, vocabulary: Vocabulary) -> str:
    """The line of one part. Raises :class:`BoardError` for a kind the vocabulary lacks."""
    return _part(part, Lexicon(vocabulary, [part.description] if part.description else []))


def _part(part: Part, lexicon: Lexicon) -> str:
    kind = lexicon.word_of(part)
    if kind is None:
        message = f"{part.designator} is a {part.kind!r}, a kind that this vocabulary lacks"
        raise BoardError([Problem(line=0, column=0, severity="error", message=message)])
    number = lexicon.type(part.type) if part.type else None
    if number is not None and number.kind != kind.name:
        number = None
    words = [part.designator, *_kind(part, kind, number, lexicon)]
    if kind.value_unit is not None and (number is None or number.value is None):
        words.append("?" if part.value is None else format_typed(part.value, kind.value_unit))
    if part.tolerance is not None:
        words.append(format_percent(part.tolerance))
    words += _free_pins(part) if kind.free_pins else _pins(part, kind)
    presets = number.fields if number is not None else {}
    for name, value in part.fields.items():
        if presets.get(name) != value:
            words.append(f"{name}={_quoted(value)}")
    if part.type and number is None and part.description is None:
        words.append(f"type={_quoted(part.type)}")
    return " ".join(words) + _remarks(part.remarks)


def _kind(part: Part, kind: KindWord, number: TypeWord | None, lexicon: Lexicon) -> Iterator[str]:
    """The type number, or the kind unless the designator implies it."""
    if number is not None:
        if lexicon.kind(number.name) is not None:
            yield kind.name
        yield number.name
    elif lexicon.implied(part.designator) is not kind or kind.value_unit is None:
        yield kind.name


def _pins(part: Part, kind: KindWord) -> list[str]:
    """Bare nets for two pins, ``pin=net`` for more; implied power is left out."""
    typed = [pin for pin in kind.pins if pin.name not in part.implied]
    nets = [part.pins.get(pin.name, "-") for pin in typed]
    tail = kind.pins[: len(typed)] == tuple(typed)
    if len(kind.pins) <= 2 and tail and not any(net[:1] in "0123456789." for net in nets):
        return nets
    power = ("supply", "ground") if kind.supply_volts is not None else ()
    small = len(kind.pins) <= 4
    return [
        f"{pin.name}={net}"
        for pin, net in zip(typed, nets, strict=True)
        if net != "-" or small or pin.role in power
    ]


def _free_pins(part: Part) -> list[str]:
    """Pins without a role first, then a role word before each run of its pins."""
    words, role = [], ""
    for pin in sorted(part.pins, key=lambda pin: pin in part.roles):
        if part.roles.get(pin, "") != role:
            role = part.roles[pin]
            words.append(role)
        words.append(f"{pin}={part.pins[pin]}")
    return words


def _remarks(remarks: Remarks) -> str:
    words = [
        name
        for name in ("spare", "irreplaceable", "socketed", "verified")
        if getattr(remarks, name)
    ]
    if remarks.price is not None:
        words.append(f"price {remarks.price!r}")
    if remarks.note:
        words.append(f"note {_note(remarks.note)}")
    return "".join(f" ; {word}" for word in words)


def _title(board: Board) -> list[str]:
    lines = []
    if board.title:
        revision = f" rev {_quoted(board.revision)}" if board.revision else ""
        lines.append(f"board {_quoted(board.title, always=True)}{revision}")
    lines += [f"note {note}".rstrip() for note in board.notes]
    if board.ground != GROUND:
        lines.append(f"ground {board.ground}")
    return lines


def _described(described: Description) -> Iterator[str]:
    words = ["describe", described.name, described.family]
    if described.title:
        words.append(_quoted(described.title, always=True))
    role = ""
    for pin in described.pins:
        if pin.role != role:
            role = pin.role
            words.append(role)
        words.append(f"{pin.name}={pin.title}")
    yield " ".join(words)
    for gives in described.gives:
        line = f"gives {described.name}.{gives.output} {gives.level}"
        line += f" when {gives.enable}" if gives.enable else ""
        yield line + (f" on {gives.clock}" if gives.clock else "")


def _rail(rail: Rail) -> str:
    ohms = "" if rail.ohms == 0.05 else f" ohms={format_typed(rail.ohms, 'Ω')}"
    return f"rail {rail.net} {format_typed(rail.volts, 'V')} {format_percent(rail.tolerance)}{ohms}"


def _offsheet(leaving: OffSheet) -> str:
    words = ["offsheet", leaving.net, leaving.what]
    if leaving.ohms is not None:
        words += [format_typed(leaving.ohms, "Ω") + "Ω", leaving.net_to]
    elif leaving.family:
        words.append(leaving.family)
    if leaving.what == "load" and leaving.family:
        words.append(str(leaving.count))
    return " ".join(words)


def _output(output: Output) -> str:
    words = f"output {_quoted(output.name, always=True)} {output.measure} {output.target}"
    if output.measure in ("level", "right"):
        return words
    unit = "A" if output.measure == "current" else "V"
    return f"{words} above {format_typed(output.threshold, unit)}"


def _state(state: State) -> str:
    words = ["state", _quoted(state.name)]
    if not state.powered:
        words.append("rails=off")
    before: dict[str, str] = {}
    for index, step in enumerate(state.steps):
        now = {drive.target: drive.value for drive in step.drives}
        changed = [target for target, value in now.items() if before.get(target) != value]
        if index:
            words.append("then")
            changed = changed or list(now)[:1]
        words += [f"{target}={now[target]}" for target in changed]
        before = now
    return " ".join(words) + (f" ; note {_note(state.note)}" if state.note else "")


def _note(text: str) -> str:
    plain = text.strip() == text and "  " not in text and text.isprintable()
    awkward = any(sign in text for sign in ';#"\\')
    return text if plain and not awkward else _quoted(text, always=True)


def _quoted(text: str, *, always: bool = False) -> str:
    plain = text.isprintable() and not any(sign in text for sign in ' ;#"=[]%\\,|')
    plain = plain and text not in ("", "-", "?")
    return text if plain and not always else '"' + text.replace('"', '""') + '"'


def _require_equal(text: str, board: Board, vocabulary: Vocabulary) -> None:
    """Refuse to hand out a text that says something else."""
    examination = examine(text, vocabulary)
    errors = [problem for problem in examination.problems if problem.severity == "error"]
    if errors:
        raise BoardError(errors, source="written board")
    again = examination.board
    if again is None or again == board:
        return
    for name in ("title", "revision", "ground", "testpoints", "notes"):
        if getattr(again, name) != getattr(board, name):
            _refuse(f"the {name} {getattr(board, name)!r}", getattr(again, name))
    for name in ("rails", "descriptions", "parts", "offsheet", "outputs", "states"):
        for mine, read in zip(getattr(board, name), getattr(again, name), strict=False):
            if mine != read:
                _refuse(f"{mine}", read)
    _refuse("this board", "another")


def _refuse(what: str, read: object) -> None:
    message = f"cannot be written as a board file: {what} would read back as {read}"
    raise BoardError([Problem(line=0, column=0, severity="error", message=message)])
