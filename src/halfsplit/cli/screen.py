"""How answers are laid out for a person: width, bars, columns, and emphasis where it is welcome."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence

from halfsplit.frozen import dataclass

__all__ = ["Screen", "terminal"]

_NARROWEST = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """Where text goes: ``width`` in columns, whether ``bold`` may be used, which ``blocks`` print.

    Nothing is said by emphasis alone, so that text without it says the same.
    """

    width: int = 80
    bold: bool = False
    blocks: bool = True

    def strong(self, text: str) -> str:
        """Emphasised, where the terminal can and NO_COLOR does not forbid it."""
        return f"\x1b[1m{text}\x1b[0m" if self.bold else text

    def bar(self, share: float, length: int = 10) -> str:
        """A share 0 to 1 as a bar of ``length`` columns; anything above 0 shows."""
        filled = min(length, round(max(0.0, share) * length))
        if share > 0:
            filled = max(1, filled)
        full, rest = ("█", "·") if self.blocks else ("#", ".")
        return full * filled + rest * (length - filled)

    def wrap(self, text: str, indent: str = "", hang: str | None = None) -> list[str]:
        """Text broken to the width; ``hang`` goes before the second and further lines."""
        lines: list[str] = []
        for paragraph in text.splitlines() or [""]:
            lines += textwrap.wrap(
                paragraph,
                max(_NARROWEST, self.width - 1),
                initial_indent=indent,
                subsequent_indent=indent if hang is None else hang,
                break_on_hyphens=False,
            ) or [indent.rstrip()]
        return lines

    def columns(
        self, rows: Iterable[Sequence[str]], *, right: Iterable[int] = (), indent: str = "  "
    ) -> list[str]:
        """Rows in aligned columns two apart; the last column is broken to fit the width.

        ``right`` numbers the columns that are set flush right.
        """
        table = [list(row) for row in rows]
        if not table:
            return []
        flush = set(right)
        widths = [max(_cells(row[i]) for row in table) for i in range(len(table[0]) - 1)]
        lines = []
        for row in table:
            cells = [
                _pad(cell, width, to_right=i in flush)
                for i, (cell, width) in enumerate(zip(row, widths, strict=False))
            ]
            before = indent + "".join(cell + "  " for cell in cells)
            room = self.width - _cells(before) - 1
            if room < _NARROWEST // 2:
                lines.append(before.rstrip())
                lines += self.wrap(row[-1], indent * 2) if row[-1] else []
                continue
            broken = textwrap.wrap(row[-1], room, break_on_hyphens=False) or [""]
            lines.append((before + broken[0]).rstrip())
            lines += [" " * _cells(before) + more for more in broken[1:]]
        return lines


def terminal() -> Screen:
    """The screen of this process's standard output."""
    encoding = (getattr(sys.stdout, "encoding", None) or "ascii").lower()
    try:
        "█·".encode(encoding)
        blocks = True
    except (UnicodeEncodeError, LookupError):
        blocks = False
    is_terminal = sys.stdout.isatty()
    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    width = shutil.get_terminal_size((100, 24)).columns
    return Screen(
        width=max(_NARROWEST, min(width, 120)), bold=is_terminal and not plain, blocks=blocks
    )


def _pad(text: str, width: int, *, to_right: bool) -> str:
    blank = " " * (width - _cells(text))
    return blank + text if to_right else text + blank


def _cells(text: str) -> int:
    """Columns that a text takes on a terminal (Unicode Standard Annex 11: wide takes two)."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )
