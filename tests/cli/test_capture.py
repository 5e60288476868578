"""A capture entered into a case, and laid over what a good board shows."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.capture.drivers import DRIVERS
from tests.cli.conftest import Call

SCHEDULE = "rest 10ms, a/b/c x6 10ms, rest 10ms"


@pytest.fixture
def capture(folder: Path) -> Path:
    """Volts as an instrument writes them, 1 ms apart: OB stays high when IB asks it to be low."""
    (folder / "three.board").write_text(DRIVERS, encoding="utf-8")
    rows = ["time,IA,IB,IC,OA,OB,OC"]
    for k in range(80):
        turn = (k // 10 - 1) % 3 if 10 <= k < 70 else -1
        high = [3.4 if line == turn else 0.2 for line in range(3)]
        low = [0.1 if line == turn and line != 1 else 5.0 for line in range(3)]
        rows.append(",".join(f"{x:g}" for x in (k * 1e-3, *high, *low)))
    path = folder / "three.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_a_capture_moves_belief_and_is_kept(call: Call, folder: Path, capture: Path) -> None:
    assert call("new", "--board", "three.board").code == 0
    said = call("capture", capture.name, "--played", SCHEDULE, "--json")
    assert said.code == 0, said.err
    assert [one["reading"] for one in said.data["stages"]] == ["right", "OB stuck off"]
    assert said.data["first_bad"] == ["OA", "OB", "OC"]
    assert len(said.data["entered"]) == 2
    leading = said.data["next"]["suspects"][0]
    assert "U1" in leading["id"]
    assert (folder / "three.captures" / "three" / "kept.json").is_file()
    again = call("capture", "three.hsplit", capture.name, "--played", SCHEDULE, "--look")
    assert "The first bad stage is OA OB OC." in again.out
    assert len(list((folder / "three.captures").iterdir())) == 1
    assert "OB stuck off" in call("log").out
    for name in ("three.html", "three.pdf"):
        assert call("report", "--to", name).code == 0
    page = (folder / "three.html").read_text(encoding="utf-8")
    assert "The first bad stage is OA OB OC." in page
    assert 'class="capture" src="data:image/svg+xml;base64,' in page
    assert (folder / "three.pdf").read_bytes().startswith(b"%PDF")
    assert call("capture", capture.name, "--nets", "IA").code == 2
    assert call("capture", capture.name, "--played", "rest 1ms, z 2ms").code == 2


def test_overlay_draws_both(call: Call, folder: Path, capture: Path) -> None:
    said = call(
        "overlay", capture.name, "three.board", SCHEDULE, "--svg", "o.svg", "--png", "o.png",
        "--fault", "R2 short", "--json",
    )  # fmt: skip
    assert said.code == 0, said.err
    differs = {one["net"]: one["differs"] for one in said.data["lines"]}
    assert differs["OA"] == differs["IC"] == 0.0
    assert differs["OB"] == pytest.approx(2 / 8, abs=0.05)
    faulty = {one["net"]: one["differs_faulty"] for one in said.data["lines"]}
    assert faulty["OB"] < differs["OB"], "shorted to +5 it stays high, as was recorded"
    assert faulty["OA"] == 0.0
    assert "<svg" in (folder / "o.svg").read_text()
    assert (folder / "o.png").read_bytes().startswith(b"\x89PNG")
    assert "differs" in call("overlay", capture.name, "three.board", SCHEDULE).out
