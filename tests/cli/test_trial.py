"""The trial command, with the independent simulator playing the board."""

import pytest
from tests.cli.conftest import Call

pytestmark = pytest.mark.spice


def test_trial_finds_open_resistors_of_a_divider(call: Call, ngspice: str) -> None:
    words = ("trial", "divider.board", "--faults", "R1 open", "R2 open", "--seed", "3")
    data = call(*words, "--json").data
    assert (data["faults"], data["visible"], data["could_not_be_played"]) == (2, 2, 0)
    assert data["right_share"] == 1.0
    assert [one["fault"] for one in data["outcomes"]] == ["R1 open", "R2 open"]
    assert all(one["checks"] >= 1 for one in data["outcomes"])
    assert "right share" in call(*words).out
