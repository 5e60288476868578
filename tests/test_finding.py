"""What captures showed, kept in a case as numbers and drawn again."""

import json
import math
import struct
from xml.etree import ElementTree

import numpy as np
import pytest

from halfsplit.draw.png import DOTS_PER_INCH, png_of
from halfsplit.draw.traces import Strip
from halfsplit.errors import CaseError
from halfsplit.finding import drawn, finding_data, lines_picture, traces_picture
from halfsplit.waves.line import Line
from halfsplit.waves.plot import Lane, Mark, Picture, svg_text

EVIL = "<script>alert(1)</script>"
TRACES = traces_picture(
    EVIL,
    np.linspace(0.0, 1.0, 5),
    ("good board", "recorded"),
    [Strip(title=EVIL, unit="V", values=np.array([[0, 1, 2, 3, 4], [0, 1, math.nan, 3, 4.0]]))],
)


def lines() -> Picture:
    shown = Line(name=EVIL, start=0.0, stop=1.0, first=False, edges=np.array([0.25, 0.75]))
    mark = Mark(begin=0.25, end=0.5, words="odd 3", lanes=(EVIL,))
    return Picture(
        title="PA is late", begin=0.0, end=1.0, lanes=(Lane(shown=shown, due=shown),),
        marks=(mark,), ticks=((0.25, 1),),
    )  # fmt: skip


def texts(svg: str) -> str:
    return " ".join(ElementTree.fromstring(svg).itertext())


def test_pictures_come_back_from_their_numbers() -> None:
    assert drawn(json.dumps(lines_picture(lines())).encode()) == svg_text(lines())
    svg = drawn(json.dumps(TRACES).encode())
    assert "recorded" in texts(svg)
    paths = [one.get("d", "") for one in ElementTree.fromstring(svg).iter() if one.get("d")]
    assert sum(path.count("M") == 2 for path in paths) == 1, "the gap parts one trace"


@pytest.mark.parametrize("data", [lines_picture(lines()), TRACES])
def test_words_never_become_marks(data: dict[str, object]) -> None:
    svg = drawn(json.dumps(data).encode())
    assert "<script" not in svg
    assert EVIL in texts(svg)


def without(data: dict[str, object], **other: object) -> bytes:
    return json.dumps(data | other).encode()


@pytest.mark.parametrize(
    "data",
    [
        b"", b"{}", b"[" * 100_000, b"\xff", b'{"form": "lines"}', b'{"form": "other"}',
        without(TRACES, time=[0, 1]), without(TRACES, time=[0, math.nan, 1, 2, 3]),
        without(TRACES, time=[0] * 30_000), without(TRACES, strips=[]),
        without(TRACES, names=["x"]),
        without(lines_picture(lines()), begin=2.0), without(lines_picture(lines()), end=math.inf),
        without(lines_picture(lines()), ticks=[[1]]),
        without(lines_picture(lines()), lanes=[{"name": "x", "shown": {"first": 0, "edges": [9]},
                                                "due": {"first": 0, "edges": []}}]),
    ],
)  # fmt: skip
def test_what_is_no_picture_is_refused(data: bytes) -> None:
    with pytest.raises(CaseError, match="expected the numbers of a picture"):
        drawn(data)


def test_a_finding_has_words() -> None:
    with pytest.raises(CaseError, match="in a sentence"):
        finding_data(capture="x", sentence=" ", sha256="0" * 64)


def test_an_svg_becomes_a_png_of_its_size() -> None:
    """Width and height stand first in IHDR (W3C PNG, 11.2.2). An SVG's pixel is 1/96 inch (CSS
    Values 4, 6.2), a typst point 1/72; typst takes a pixel for a point."""
    svg = drawn(json.dumps(TRACES).encode())
    data = png_of(svg)
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", data[16:24])
    root = ElementTree.fromstring(svg)
    scale = DOTS_PER_INCH / 72
    ratio = float(root.get("width", 0)) / float(root.get("height", 1))
    assert width / height == pytest.approx(ratio, rel=0.01)
    assert float(root.get("width", 0)) <= width <= scale * float(root.get("width", 0)) + 1
    with pytest.raises(CaseError, match="take the SVG"):
        png_of("no picture")
