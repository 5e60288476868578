"""Phase lines drawn with what was found on them: as data for a page, and as SVG.

The finding is drawn, not only the trace: the level that a whole line would have is dashed where it
differs, states out of turn are shaded and numbered, steps carry their position.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from html import escape
from typing import Any

import numpy as np

from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity
from halfsplit.waves.account import Account
from halfsplit.waves.line import Array, Line, window

__all__ = ["Lane", "Mark", "Picture", "picture_of", "svg_text", "telling_picture"]

MOST_MARKS = 200
"""More states out of turn than this are not drawn one by one."""
MOST_EDGES = 1_000_000
STEPS_BEFORE, STEPS_SHOWN = 12, 40

_LEFT, _WIDTH, _LANE, _HIGH, _TOP, _APART = 90, 900, 44, 24, 46, 20

_STYLE = (
    "text{font:12px sans-serif;fill:#1b1b1b}.line{fill:none;stroke:#1b1b1b;stroke-width:1.5}"
    ".due{fill:none;stroke:#0b62a8;stroke-width:1.5;stroke-dasharray:4 3}"
    ".mark{fill:#e69f00;fill-opacity:.35}.axis{stroke:#777;stroke-width:1}"
    ".small{font-size:10px;fill:#444}"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lane:
    """One line: its edges as ``shown``, and as ``due`` on a whole line."""

    shown: Line
    due: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something found from ``begin`` to ``end`` (s) on the lanes named."""

    begin: float
    end: float
    words: str
    lanes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """What is drawn, from ``begin`` to ``end`` (s); ``ticks`` has time and position of steps."""

    title: str
    begin: float
    end: float
    lanes: tuple[Lane, ...]
    marks: tuple[Mark, ...]
    ticks: tuple[tuple[float, int], ...]

    def to_json(self) -> dict[str, object]:
        """For the page: edges and times in s."""
        return {
            "title": self.title,
            "begin": self.begin,
            "end": self.end,
            "lanes": [
                {
                    "name": lane.shown.name,
                    "shown": _edges(lane.shown),
                    "due": _edges(lane.due),
                }
                for lane in self.lanes
            ],
            "marks": [
                {"begin": m.begin, "end": m.end, "words": m.words, "lanes": list(m.lanes)}
                for m in self.marks
            ],
            "ticks": [list(tick) for tick in self.ticks],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Picture:
        """What :meth:`to_json` gave. Raises ValueError, KeyError or TypeError for anything else."""
        begin, end = float(data["begin"]), float(data["end"])
        if not (math.isfinite(begin) and math.isfinite(end) and begin <= end):
            raise ValueError("no span of time")
        lanes = tuple(
            Lane(
                shown=_line(str(lane["name"]), lane["shown"], begin, end),
                due=_line(str(lane["name"]), lane["due"], begin, end),
            )
            for lane in data["lanes"]
        )
        names = {lane.shown.name for lane in lanes}
        marks = [
            Mark(
                begin=float(one["begin"]), end=float(one["end"]), words=str(one["words"]),
                lanes=tuple(str(name) for name in one["lanes"] if name in names),
            )
            for one in data["marks"]
        ]  # fmt: skip
        return cls(
            title=str(data["title"]), begin=begin, end=end, lanes=lanes,
            marks=tuple(marks[:MOST_MARKS]),
            ticks=tuple((float(time), int(position)) for time, position in data["ticks"]),
        )  # fmt: skip


def picture_of(account: Account, begin: float | None = None, end: float | None = None) -> Picture:
    """Draw an account from ``begin`` to ``end`` (s), all of it unless given."""
    states = account.found.states
    start = float(states.times[0]) if begin is None else begin
    stop = states.stop if end is None else end
    due = _due(account)
    lanes = tuple(
        Lane(shown=window(line, start, stop), due=window(wanted, start, stop))
        for line, wanted in zip(account.found.recorded, due, strict=True)
    )
    marks = tuple(
        Mark(
            begin=max(one.time, start),
            end=min(one.time + one.span, stop),
            words=f"{one.kind} {one.code}".strip()
            + (f", {one.expected} due" if one.expected else ""),
            lanes=one.lines or states.names,
        )
        for one in account.ledger.oddities
        if one.time < stop and one.time + one.span >= start
    )
    ticks = tuple(
        (step.time, step.position) for step in account.ledger.steps if start <= step.time < stop
    )
    return Picture(
        title=account.explanation.words, begin=start, end=stop, lanes=lanes,
        marks=marks[:MOST_MARKS], ticks=ticks,
    )  # fmt: skip


def telling_picture(account: Account) -> Picture:
    """So much of an account that what was found on it can be seen: steps around the first state
    out of turn, else the first ones."""
    oddities, states = account.ledger.oddities, account.found.states
    step = account.found.tidy.step
    first = oddities[0].time if oddities else float(states.times[0]) + STEPS_BEFORE * step
    begin = max(float(states.times[0]), first - STEPS_BEFORE * step)
    return picture_of(account, begin, min(states.stop, begin + STEPS_SHOWN * step))


def svg_text(picture: Picture) -> str:
    """One ``<svg>`` element that stands alone."""
    height = _TOP + _LANE * len(picture.lanes) + 40
    inside = [
        f"<style>{_STYLE}</style>",
        f'<text x="8" y="18">{escape(picture.title)}</text>',
        *_marks(picture),
        *_lanes(picture),
        *_axis(picture),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {_LEFT + _WIDTH + 20} '
        f'{height}" width="{_LEFT + _WIDTH + 20}" height="{height}">'
        f"<title>{escape(picture.title)}</title>" + "".join(inside) + "</svg>\n"
    )


def _due(account: Account) -> list[Line]:
    """What whole lines would show along the walk."""
    found = account.found
    shown, off, _ = replace(found.best, fault="", lines=()).shown()
    codes = np.where(found.walk.resting, off, shown[found.walk.positions])
    states = found.states
    result = []
    for i, line in enumerate(found.tidy.lines):
        bits = (codes >> i & 1).astype(bool)
        change = np.flatnonzero(np.diff(bits)) + 1
        times: Array = states.times[change]
        result.append(
            replace(
                line, start=float(states.times[0]), stop=states.stop, first=bool(bits[0]),
                edges=times,
            )
        )  # fmt: skip
    return result


def _line(name: str, data: Mapping[str, Any], begin: float, end: float) -> Line:
    edges = np.array([float(edge) for edge in data["edges"]], dtype=np.float64)
    if edges.size > MOST_EDGES or not ((edges >= begin) & (edges <= end)).all():
        raise ValueError("edges beyond the picture")
    return Line(name=name, start=begin, stop=end, first=bool(data["first"]), edges=edges)


def _edges(line: Line) -> Mapping[str, object]:
    return {"first": int(line.first), "edges": line.edges.tolist()}


def _x(picture: Picture, time: float) -> float:
    span = max(picture.end - picture.begin, 1e-12)
    return round(_LEFT + _WIDTH * (time - picture.begin) / span, 2)


def _lanes(picture: Picture) -> Iterator[str]:
    for number, lane in enumerate(picture.lanes):
        floor = _TOP + _LANE * number + _HIGH
        yield f'<text x="8" y="{floor - 6}">{escape(lane.shown.name)}</text>'
        if _differs(lane, picture):
            yield f'<path class="due" d="{_path(picture, lane.due, floor)}"/>'
        yield f'<path class="line" d="{_path(picture, lane.shown, floor)}"/>'


def _differs(lane: Lane, picture: Picture) -> bool:
    """Whether what is due lies a line's width or more beside what is shown."""
    due, shown = lane.due, lane.shown
    if due.first != shown.first or len(due.edges) != len(shown.edges):
        return True
    seen = 2.0 * (picture.end - picture.begin) / _WIDTH
    return bool((np.abs(due.edges - shown.edges) > seen).any())


def _path(picture: Picture, line: Line, floor: int) -> str:
    level = line.first
    text = f"M{_LEFT} {floor - _HIGH * level}"
    for edge in line.edges.tolist():
        level = not level
        text += f"H{_x(picture, edge)}V{floor - _HIGH * level}"
    return text + f"H{_LEFT + _WIDTH}"


def _marks(picture: Picture) -> Iterator[str]:
    rows = {lane.shown.name: number for number, lane in enumerate(picture.lanes)}
    for mark in picture.marks:
        left = _x(picture, mark.begin)
        width = max(2.0, round(_x(picture, mark.end) - left, 2))
        for name in mark.lanes:
            top = _TOP + _LANE * rows[name] - 4
            yield (
                f'<rect class="mark" x="{left}" y="{top}" width="{width}" height="{_HIGH + 8}">'
                f"<title>{escape(mark.words)}</title></rect>"
            )


def _axis(picture: Picture) -> Iterator[str]:
    y = _TOP + _LANE * len(picture.lanes) + 4
    yield f'<path class="axis" d="M{_LEFT} {y}H{_LEFT + _WIDTH}"/>'
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        time = picture.begin + share * (picture.end - picture.begin)
        x = _x(picture, time)
        yield f'<path class="axis" d="M{x} {y}v5"/>'
        yield (
            f'<text class="small" x="{x}" y="{y + 18}" text-anchor="middle">'
            f"{format_quantity(time, 's', 4)}</text>"
        )
    free = 0.0
    for time, position in picture.ticks:
        x = _x(picture, time)
        if x >= free:
            free = x + _APART
            yield (
                f'<text class="small" x="{x}" y="{_TOP - 10}" text-anchor="middle">'
                f"{position}</text>"
            )
