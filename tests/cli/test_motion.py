"""Motion on the command line: a survey, single faults, a recording, a picture."""

import wave
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from tests.cli.conftest import Call
from tests.motion.boards import FOUR


@pytest.fixture
def board(folder: Path) -> str:
    (folder / "four.board").write_text(FOUR, encoding="utf-8")
    return "four.board"


def test_a_survey_of_all_faults(call: Call, board: str) -> None:
    said = call("motion", board, "--json").data
    assert said["states"] == ["one", "two", "three", "four"]
    assert said["faults"]["+24 missing"]["dead"] == 1.0
    assert "S1 open" in said["home_not_followed"]
    text = " ".join(call("motion", board).out.split())
    assert "dead:" in text
    assert "usual ones are assumed" in text


def test_single_faults_and_a_picture(call: Call, board: str, folder: Path) -> None:
    said = call("motion", board, "--fault", "Q2 c short to e", "--steps", "12", "--svg", "m.svg",
                "--json").data  # fmt: skip
    healthy, stuck = said["motion"]
    assert healthy["does"] == "runs"
    assert healthy["up"] == pytest.approx(12.0, abs=0.3)
    assert healthy["repeats_hertz"] == pytest.approx(100.0, rel=0.03)
    assert 40.0 in healthy["runs_at"]
    assert healthy["tracks_off"] == 0
    assert stuck["does"] == "buzzes"
    assert (healthy["power_up"], stuck["power_up"]) == ("ready", "never finds home")
    assert stuck["runs_at"] == []
    drawing = ElementTree.fromstring((folder / "m.svg").read_text(encoding="utf-8"))
    texts = [one.text for one in drawing.iter("{http://www.w3.org/2000/svg}text")]
    assert {"asked for", "healthy", "Q2 c short to e"} <= set(texts)


def test_a_recording_is_compared(call: Call, board: str, folder: Path) -> None:
    """Clicks at 100 a second: like the healthy unit, unlike a stuck phase."""
    since = np.arange(8000) / 8000.0 % 0.01
    sound = np.exp(-since * 400.0) * np.sin(2.0 * np.pi * 700.0 * since)
    with wave.open(str(folder / "s.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes((20000 * sound).astype("<i2").tobytes())
    said = call("motion", board, "--fault", "Q2 c short to e", "--sound", "s.wav",
                "--steps", "12", "--json").data  # fmt: skip
    assert said["recorded"]["repeats_hertz"] == pytest.approx(100.0, rel=0.01)
    healthy, stuck = said["motion"]
    assert healthy["likeness"] > 0.8 > 0.2 > stuck["likeness"]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["--fault", "Q2 c shrt"], "did you mean"),
        (["--motor", "L9"], "winding of a stepping motor"),
        (["--rate", "0"], "0.5 to 5000"),
        (["--svg", "x.svg"], "--fault with --svg"),
        (["--sound", "none.wav"], "cannot be read"),
        (["--mechanism", "none.toml"], "cannot be read"),
    ],
)
def test_what_cannot_be_done_is_said(
    call: Call, board: str, words: list[str], expected: str
) -> None:
    said = call("motion", board, *words)
    assert said.code != 0
    assert expected in said.err


def test_a_board_without_a_motor(call: Call, folder: Path) -> None:
    assert "stepping motor" in call("motion", "divider.board").err
