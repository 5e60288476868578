"""The record as a page: its body for our own pages, and one file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from functools import cache

from jinja2 import Environment, Template
from markupsafe import Markup

from halfsplit.album import Photo
from halfsplit.diagnose.session import percent
from halfsplit.finding import Finding
from halfsplit.finding import drawn as picture_of
from halfsplit.packaged import packaged
from halfsplit.report.drawing import drawing
from halfsplit.report.model import Record

__all__ = ["body", "policy", "style", "whole"]

WIDE, HIGH, LEFT, RIGHT, UPPER, LOWER = 640, 200, 40, 470, 12, 170
"""Of the plot, in its own units."""


def body(record: Record, source: Callable[[Photo | Finding], str], drawn: str = "") -> Markup:
    """The record's article; ``source`` gives the address of a photo or of a finding's picture,
    ``drawn`` is that of the board's drawing."""
    text = _template().render(
        r=record, source=source, drawn=drawn, percent=percent, plot=_plot(record)
    )
    return Markup(text)


def whole(record: Record, bytes_of: Callable[[str], bytes]) -> str:
    """The record as one HTML file; ``bytes_of`` gives attached bytes by their SHA-256. A
    policy in it forbids scripts and requests to anywhere, whatever was typed into the case."""

    def source(shown: Photo | Finding) -> str:
        data = bytes_of(shown.sha256)
        if isinstance(shown, Photo):
            return _inside(shown.media, data)
        return _inside("image/svg+xml", picture_of(data).encode())

    drawn = _inside("image/svg+xml", drawing(record.board).encode()) if record.board else ""
    title = Markup.escape(f"{record.title}: repair record")
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy()}">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{style()}</style>\n</head>\n<body>\n"
        f"{body(record, source, drawn)}\n</body>\n</html>\n"
    )


def policy() -> str:
    """The Content-Security-Policy of the file (W3C CSP level 3): its own style, photos inside."""
    digest = base64.b64encode(hashlib.sha256(style().encode()).digest()).decode()
    return f"default-src 'none'; img-src data:; style-src 'sha256-{digest}'"


def _inside(media: str, data: bytes) -> str:
    return f"data:{media};base64,{base64.b64encode(data).decode()}"


@cache
def style() -> str:
    """The record's style sheet."""
    return packaged("report/record.css").read_text(encoding="utf-8")


@cache
def _template() -> Template:
    text = packaged("report/record.html").read_text(encoding="utf-8")
    return Environment(autoescape=True, trim_blocks=True).from_string(text)


def _plot(record: Record) -> Markup:
    """Belief over time as SVG; each line has its own dashes and its name at the end."""
    last = len(record.course) - 1
    if last < 1:
        return Markup()
    ends = _apart([_height(record.course[last][n]) for n in range(len(record.leaders))])
    parts = [
        Markup('<line x1="{0}" y1="{1}" x2="{2}" y2="{1}"/><text x="2" y="{3}">{4}</text>').format(
            LEFT, _height(share), RIGHT, _height(share) + 4, f"{share:.0%}"
        )
        for share in (0.0, 0.5, 1.0)
    ]
    for n, name in enumerate(record.leaders):
        spots = " ".join(
            f"{LEFT + (RIGHT - LEFT) * at / last:.1f},{_height(row[n]):.1f}"
            for at, row in enumerate(record.course)
        )
        said = name.replace("something-else", "something else")
        label = f"{said} {percent(record.course[last][n])}"
        parts.append(
            Markup('<path class="l{}" d="M{}"/><text x="{}" y="{:.1f}">{}</text>').format(
                n, spots.replace(" ", " L"), RIGHT + 8, ends[n] + 4, label
            )
        )
    return Markup(
        '<svg class="plot" viewBox="0 0 {} {}" role="img" aria-label="{}">{}'
        '<text x="{}" y="{}">after each of {} readings</text></svg>'
    ).format(
        WIDE, HIGH, "Probability of the likeliest suspects over the readings",
        Markup().join(parts), LEFT, HIGH - 8, last,
    )  # fmt: skip


def _height(share: float) -> float:
    return LOWER - (LOWER - UPPER) * share


def _apart(heights: list[float]) -> list[float]:
    """Label heights moved up so that they do not lie on one another."""
    placed: dict[int, float] = {}
    free = float("inf")
    for n in sorted(range(len(heights)), key=lambda n: -heights[n]):
        free = placed[n] = min(heights[n], free - 15.0)
    return [placed[n] for n in range(len(heights))]
