"""A table of pins and nets, as a spreadsheet hands it over, made into lines of a board file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import field

from halfsplit.board.names import Lexicon, is_designator
from halfsplit.board.vocabulary import Vocabulary
from halfsplit.frozen import dataclass

__all__ = ["Remark", "TableBoard", "board_of_table", "parts_text"]

_HEADS = {
    "part": ("part", "designator", "ref", "reference", "component", "refdes"),
    "what": ("kind", "type", "value", "what", "device", "comment"),
    "pin": ("pin", "pad", "leg", "pin number"),
    "net": ("net", "signal", "node", "connection", "net name"),
}
"""Column -> words that may head it."""
_MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A row that could not be used, or was changed; rows count from 1."""

    row: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TableBoard:
    """The lines made, and what there is to say about rows."""

    text: str
    remarks: tuple[Remark, ...]


@dataclass(slots=True)
class _Found:
    what: str = ""
    pins: dict[str, str] = field(default_factory=dict)


def board_of_table(table: str, vocabulary: Vocabulary) -> TableBoard:
    """Lines of a board file for rows of part, what it is (may be missing), pin and net.

    Cells are parted by tabs, else semicolons, else commas. Columns are found by their heads; rows
    without heads are taken as part, pin, net or part, what, pin, net. Never raises.
    """
    rows = _rows(table)
    remarks: list[Remark] = []
    columns, first = _columns(rows)
    parts: dict[str, _Found] = {}
    for number, row in enumerate(rows[first:_MOST_ROWS], first + 1):
        cells = {name: row[at].strip() if at < len(row) else "" for name, at in columns.items()}
        said = _take(cells, parts)
        if said and any(cells.values()):
            remarks.append(Remark(row=number, words=said))
    if not columns:
        remarks.append(Remark(row=1, words="expected columns for part, pin and net"))
    named = {name: (found.what, found.pins) for name, found in parts.items()}
    return TableBoard(text=parts_text(named, vocabulary), remarks=tuple(remarks))


def parts_text(parts: dict[str, tuple[str, dict[str, str]]], vocabulary: Vocabulary) -> str:
    """A line for each part: designator -> what it is, as typed, and pin -> net."""
    lexicon = Lexicon(vocabulary)
    lines = []
    for designator, (what, pins) in parts.items():
        words = what.split()
        kind = lexicon.implied(designator)
        named = bool(words) and (lexicon.kind(words[0]) or lexicon.type(words[0]))
        if not words and kind is None:
            words = ["unknown"]
        elif not named and kind is None:
            words = ["unknown", f"type={words[0]}"]
        elif not words and kind is not None and kind.value_unit:
            words = ["?"]
        tail = [word for word in words if word.startswith("type=")]
        head = [word for word in words if not word.startswith("type=")]
        nets = [f"{pin}={net}" for pin, net in sorted(pins.items(), key=lambda one: _order(one[0]))]
        lines.append(" ".join([designator, *head, *nets, *tail]))
    return "".join(f"{line}\n" for line in lines)


def _rows(table: str) -> list[list[str]]:
    lines = table.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    sign = next((sign for sign in "\t;," if any(sign in line for line in lines)), "\t")
    return [line.split(sign) for line in lines if line.strip()]


def _columns(rows: Sequence[Sequence[str]]) -> tuple[dict[str, int], int]:
    """Column name -> index, and the first row of data."""
    if not rows:
        return {}, 0
    heads = [cell.strip().casefold() for cell in rows[0]]
    found = {
        name: next((heads.index(word) for word in words if word in heads), -1)
        for name, words in _HEADS.items()
    }
    if min(found["part"], found["pin"], found["net"]) >= 0:
        return {name: at for name, at in found.items() if at >= 0}, 1
    wide = len(rows[0])
    if wide < 3:
        return {}, 0
    names = ("part", "pin", "net") if wide == 3 else ("part", "what", "pin", "net")
    return dict(zip(names, range(wide), strict=False)), 0


def _take(cells: dict[str, str], parts: dict[str, _Found]) -> str:
    """Keep a row; what is wrong with it, in words, else empty."""
    designator, pin, net = cells.get("part", ""), cells.get("pin", ""), cells.get("net", "")
    if not is_designator(designator):
        return f"expected a designator such as R7, got {designator!r}"
    plain = re.sub(r'[\s;"=\[\],|%\\]+', "_", net).strip("_") or "-"
    pin = re.sub(r'[\s;"=\[\],|%\\]+', "", pin)
    if not pin:
        return f"{designator}: expected a pin, got nothing"
    found = parts.setdefault(designator, _Found())
    found.what = found.what or cells.get("what", "")
    before = found.pins.get(pin)
    if before not in (None, plain):
        return f"{designator}.{pin} is on {before} already and now on {plain}; the first stays"
    found.pins[pin] = plain
    return f"net {net!r} is called {plain}" if net and plain != net else ""


def _order(pin: str) -> int:
    """Numbers in order, then letters as they came."""
    return int(pin) if pin.isdecimal() and pin.isascii() else 10_000
