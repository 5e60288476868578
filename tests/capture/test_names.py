"""Channels and nets by their names: cases a person would match at a glance."""

from __future__ import annotations

import pytest

from halfsplit.capture.names import match_names

NETS = ("PHA", "PHB", "RESET", "STEP", "+24", "BUS3", "BUS13", "COIL_A", "D7")


@pytest.mark.parametrize(
    ("channel", "net"),
    [
        ("PHA", "PHA"), ("pha", "PHA"), ("PH A", "PHA"), ("top.drv.PHB", "PHB"),
        ("/RESET", "RESET"), ("reset_n", "RESET"), ("RESET#", "RESET"), ("bus[3]", "BUS3"),
        ("BUS_13", "BUS13"), ("coil-a", "COIL_A"), ("D0", None), ("CH1", None),
        ("channel 3", None), ("D7", "D7"), ("d7", "D7"), ("+24", "+24"), ("VCC", None),
    ],
)  # fmt: skip
def test_same_name_written_otherwise(channel: str, net: str | None) -> None:
    (match,) = match_names([channel], NETS)
    assert match.net == net


def test_near_names_are_suggested_and_no_more() -> None:
    reset, phase, none, zero = match_names(["RESTE", "PHAS", "XYZZY", "D0"], NETS)
    assert reset.net is None
    assert reset.suggestions[0] == "RESET"
    assert set(phase.suggestions) >= {"PHA"}
    assert none.suggestions == ()
    assert zero.suggestions == ()


def test_a_net_is_given_once_and_to_the_one_that_writes_it_right() -> None:
    first, second = match_names(["reset", "RESET"], NETS)
    assert (first.net, second.net) == (None, "RESET")


def test_nets_that_differ_in_marks_only_are_not_guessed() -> None:
    loose, exact = match_names(["q", "/Q"], ("Q", "/Q"))
    assert loose.net is None
    assert exact.net == "/Q"
    assert loose.suggestions == ("Q",)
