"""A supply: what is set is read back, and nothing is switched on that does not stand."""

from collections.abc import Callable

import pytest
from tests.instruments.conftest import PATIENT, Serve
from tests.instruments.scpi_server import ScpiServer

from halfsplit.errors import AnswerError, ReadingError, RefusedError
from halfsplit.instruments.kind import INSTRUMENTS, introduce
from halfsplit.instruments.kinds.supply import choose_output, set_supply, standing, switch
from halfsplit.instruments.link import Link

BOTH = "level and limit"


def supply(serve: Serve, **more: str) -> ScpiServer:
    """Off, at 0 V, its limits wide open; on a bench where a board would draw 0.2 A."""
    server = serve(settings={"SOUR:VOLT": "0.0", "SOUR:CURR": "3.0", "OUTP": "0", **more})

    def when_on(value: Callable[[], str], off: str) -> Callable[[str], str]:
        return lambda line: value() if server.settings["OUTP"] == "ON" else off

    server.replies |= {
        "OUTP?": when_on(lambda: "1", "0"),
        "MEAS:VOLT?": when_on(lambda: server.settings["SOUR:VOLT"], "0.0"),
        "MEAS:CURR?": when_on(lambda: "0.2", "0.0"),
    }
    return server


def link_to(server: ScpiServer) -> Link:
    return Link(server.address, errors_by="SYST:ERR?", seconds=PATIENT)


def test_limit_first_then_volts_then_the_output(serve: Serve) -> None:
    server = supply(serve)
    with link_to(server) as link:
        set_supply(link, "level", volts=5.0, limit=0.33)
        assert not standing(link, "level").on
        now = switch(link, "level", on=True)
    assert (now.volts, now.limit, now.on) == (5.0, 0.33, True)
    assert (now.volts_read, now.amps_read) == (5.0, 0.2)
    said = [line for line in server.heard if " " in line]
    assert said == ["SOUR:CURR 0.3300", "SOUR:VOLT 5.0000", "OUTP ON"]


def test_both_limits_where_it_has_both(serve: Serve) -> None:
    server = supply(serve, **{"SOUR:CURR:LIM": "3.0"})
    with Link(server.address, seconds=PATIENT) as link:
        assert introduce(link, INSTRUMENTS.get("supply"))["talk"] == BOTH
    with link_to(server) as link:
        assert set_supply(link, BOTH, limit=0.33).limit == 0.33
        assert set_supply(link, BOTH, limit=0.68).limit == 0.68
    said = [line for line in server.heard if line.startswith("SOUR:CURR") and " " in line]
    down, up = said[:2], said[2:]
    assert down == ["SOUR:CURR 0.3300", "SOUR:CURR:LIM 0.3300"]
    assert up == ["SOUR:CURR:LIM 0.6800", "SOUR:CURR 0.6800"]


def test_a_limit_that_it_does_not_take(serve: Serve) -> None:
    server = supply(serve)
    server.replies["SOUR:CURR?"] = "3.0"
    with link_to(server) as link, pytest.raises(AnswerError, match=r"expected 0\.33 A .* got 3 A"):
        set_supply(link, "level", volts=5.0, limit=0.33)
    assert server.settings["SOUR:VOLT"] == "0.0", "no volts before the limit stands"
    assert server.settings["OUTP"] == "0"


def test_what_it_says_itself_of_a_setting(serve: Serve) -> None:
    server = supply(serve)
    server.refuses["SOUR:VOLT"] = '-222,"Data out of range"'
    with link_to(server) as link, pytest.raises(RefusedError, match="-222 Data out of range"):
        set_supply(link, "level", volts=500.0)


def test_an_output_that_does_not_switch(serve: Serve) -> None:
    server = supply(serve)
    server.replies["OUTP?"] = "1"
    with link_to(server) as link, pytest.raises(AnswerError, match="use its own switch"):
        switch(link, "level", on=False)


def test_an_output_state_that_is_none(serve: Serve) -> None:
    server = supply(serve)
    server.replies["OUTP?"] = "7"
    with link_to(server) as link, pytest.raises(AnswerError, match="0 or 1"):
        standing(link, "level")


@pytest.mark.parametrize("value", [-5.0, float("nan"), float("inf")])
def test_what_no_supply_can_be_set_to(serve: Serve, value: float) -> None:
    server = supply(serve)
    with link_to(server) as link, pytest.raises(ReadingError, match="plus goes to ground"):
        set_supply(link, "level", volts=value)


def test_one_of_several_outputs(serve: Serve) -> None:
    server = supply(serve, **{"INST:NSEL": "1"})
    with link_to(server) as link:
        choose_output(link, 2)
    assert server.settings["INST:NSEL"] == "2"
