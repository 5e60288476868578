"""Waveforms and edges on the command line."""

from pathlib import Path
from xml.etree import ElementTree

import pytest
from tests.cli.conftest import Call

RC = """\
board "RC"
rail +5 5V
R1 10k +5 OUT
C1 film-capacitor 100nF OUT GND
U1 74LS04 1=A 2=B
offsheet A drive 74LS
state off rails=off
state on A=low
state up A=high
"""


@pytest.fixture
def board(folder: Path) -> Path:
    path = folder / "rc.board"
    path.write_text(RC, encoding="utf-8")
    return path


def test_waveforms_in_json_and_as_a_picture(call: Call, board: Path) -> None:
    said = call("play", board.name, "off 1ms, on 5ms", "--fault", "C1 open", "--place", "net OUT",
                "--svg", "out.svg", "--json")  # fmt: skip
    assert said.code == 0
    healthy, fault = said.data["volts"]["net OUT"]
    assert said.data["faults"] == ["healthy", "C1 open"]
    assert len(said.data["time"]) == len(healthy) == len(fault)
    # 1 ms of time constant: 99.3 % after five
    assert healthy[-1] == pytest.approx(5 * 0.9933, abs=0.02)
    at = next(k for k, t in enumerate(said.data["time"]) if t > 1.2e-3)
    assert fault[at] > 4.9 > healthy[at]
    drawing = ElementTree.fromstring((board.parent / "out.svg").read_text(encoding="utf-8"))
    texts = [one.text for one in drawing.iter("{http://www.w3.org/2000/svg}text")]
    assert {"healthy", "C1 open", "net OUT"} <= set(texts)


def test_what_a_person_reads(call: Call, board: Path) -> None:
    said = call("play", board.name, "off 1ms, on 5ms", "--fault", "C1 open", "--place", "net OUT")
    assert "differs most at 1.0" in said.out
    assert "ends at" in said.out


def test_edges_of_logic(call: Call, board: Path) -> None:
    said = call("play", board.name, "on 1us, up 1us", "--edges", "--place", "net B", "--json")
    edges = said.data["edges"]["net B"]["healthy"]
    assert [level for _, level in edges] == ["1", "0"]
    assert edges[1][0] == pytest.approx(1.01e-6)  # typical delay of the LS04: 10 ns


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["on 1ms"], "--place or --current"),
        (["onn 1ms", "--place", "net OUT"], "did you mean on"),
        (["on", "--place", "net OUT"], "how long on lasts"),
        (["on 1ms", "--place", "net OUT", "--fault", "C1 opn"], "did you mean C1 open"),
        (["on 1ms", "--edges", "--current", "C1"], "--place with --edges"),
        (["on 1ms", "--place", "net OUT", "--svg", "no/such/x.svg"], "cannot write the picture"),
    ],
)
def test_what_cannot_be_played_is_said(
    call: Call, board: Path, words: list[str], expected: str
) -> None:
    said = call("play", board.name, *words)
    assert said.code != 0
    assert expected in said.err
