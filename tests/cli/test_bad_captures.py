"""Captures that tell nothing: each command that reads them says so plainly, and enters nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from tests.capture.drivers import DRIVERS
from tests.cli.conftest import Call
from tests.cli.test_capture import SCHEDULE
from tests.waves.played import ONE_ON

STEP = 10e-3
NAMES = ("OA", "OB", "OC", "X")


def table(
    level: Callable[[int, float], float],
    *,
    each: float = 1e-3,
    seconds: float = 0.4,
    unit: str = "V",
    turn: bool = False,
) -> str:
    """Text of four channels; ``level`` of a channel at a time."""
    times = np.arange(0.0, seconds, each).tolist()
    if turn:
        times[50:60] = times[59:49:-1]
    head = ",".join(["time (s)", *(f"{name} ({unit})" for name in NAMES)])
    rows = [",".join(f"{x:.6g}" for x in (t, *(level(i, t) for i in range(4)))) for t in times]
    return "\n".join([head, *rows, ""])


def stepping(i: int, t: float, step: float = STEP) -> float:
    return 4.0 * int(ONE_ON[int(t / step) % 4][i]) + 0.2


BAD = {
    "another unit": (table(stepping, unit="W"), "volts"),
    "time goes backwards": (table(stepping, turn=True), "backwards"),
    "nothing changes": (table(lambda i, t: 0.2), "change"),
    "all alike": (table(lambda i, t: stepping(0, t)), "identical"),
    "clock too slow": (
        table(lambda i, t: stepping(i, t, 1.1e-3), each=1e-3, seconds=0.2),
        "too slow",
    ),
    "no rows": ("time (s),OA (V)\n", "row"),
    "only one row": ("time (s),OA (V),OB (V),OC (V),X (V)\n0,1,2,3,4\n", ""),
    "no numbers": ("once,upon\na,time\nthere,was\n", ""),
    "empty": ("", ""),
}


@pytest.mark.parametrize("name", BAD)
def test_steps_and_compare_say_why(call: Call, folder: Path, name: str) -> None:
    text, why = BAD[name]
    (folder / "bad.csv").write_text(text, encoding="utf-8")
    for command in ("steps", "compare"):
        said = call(command, "bad.csv")
        assert said.code == 2, said.out
        assert why in said.err
        assert "Traceback" not in said.err


@pytest.mark.parametrize("name", BAD)
def test_nothing_of_it_is_entered(call: Call, folder: Path, name: str) -> None:
    (folder / "three.board").write_text(DRIVERS, encoding="utf-8")
    (folder / "bad.csv").write_text(BAD[name][0], encoding="utf-8")
    assert call("new", "--board", "three.board").code == 0
    before = call("log", "--json").data["events"]
    said = call("capture", "bad.csv", "--json")
    assert "Traceback" not in said.err
    if said.code == 0:  # levels that never change are a finding about every line
        assert name == "nothing changes"
        assert [one["reading"] for one in said.data["stages"]] == ["all stuck on"]
        return
    assert said.code == 2
    assert call("log", "--json").data["events"] == before
    assert not list((folder / "three.captures").glob("[!.]*"))


def test_currents_are_no_levels_of_nets(call: Call, folder: Path) -> None:
    (folder / "three.board").write_text(DRIVERS, encoding="utf-8")
    (folder / "amperes.csv").write_text(table(stepping, unit="A"), encoding="utf-8")
    assert call("new", "--board", "three.board").code == 0
    said = call("capture", "amperes.csv")
    assert said.code == 2
    assert "expected volts, got A" in said.err


@pytest.mark.parametrize("name", ["time goes backwards", "no rows", "no numbers", "empty"])
def test_stages_and_overlay_say_why(call: Call, folder: Path, name: str) -> None:
    text, why = BAD[name]
    (folder / "three.board").write_text(DRIVERS, encoding="utf-8")
    (folder / "bad.csv").write_text(text, encoding="utf-8")
    for words in (
        ("stages", "bad.csv", "--stage", "OA>OB=inverter"),
        ("overlay", "bad.csv", "three.board", SCHEDULE),
    ):
        said = call(*words)
        assert said.code == 2
        assert why in said.err
