"""Dialogues with instruments that PyVISA-sim plays, over the buses that VISA has."""

import math
from pathlib import Path

import pytest
from tests.instruments.conftest import PATIENT, QUICK

from halfsplit.errors import AnswerError, RefusedError, SilenceError
from halfsplit.instruments.kind import INSTRUMENTS, introduce
from halfsplit.instruments.kinds.meter import measure, require_dead
from halfsplit.instruments.kinds.supply import set_supply, standing
from halfsplit.instruments.link import Link
from halfsplit.instruments.wire import found

BENCH = Path(__file__).parent / "bench.yaml"
LONG = 9_000
METER = "USB0::0x1111::0x2222::SN0042::0::INSTR"
SERIAL = "ASRL1::INSTR"
FUNCTIONS = "USB0::0x1111::0x2222::SN0007::0::INSTR"
SCOPE, SERIAL_SCOPE = "USB0::0x1111::0x2222::SN0003::0::INSTR", "ASRL2::INSTR"
SUPPLY = "TCPIP0::192.0.2.9::inst0::INSTR"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The instruments, with a block that is too long to be written down."""
    path = tmp_path_factory.mktemp("bench") / "bench.yaml"
    path.write_text(BENCH.read_text(encoding="utf-8").replace("LONG", LONG * "x"), "utf-8")
    return path


@pytest.fixture(autouse=True)
def simulated(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """PyVISA's own variable chooses the library."""
    monkeypatch.setenv("PYVISA_LIBRARY", f"{bench}@sim")


def link_to(address: str, seconds: float = PATIENT) -> Link:
    return Link(address, errors_by="SYST:ERR?", seconds=seconds)


def test_what_is_there() -> None:
    assert found() == tuple(sorted((METER, SERIAL, FUNCTIONS, SCOPE, SERIAL_SCOPE, SUPPLY)))


@pytest.mark.parametrize("address", [METER, SERIAL])
@pytest.mark.parametrize(
    ("function", "value"),
    [
        ("dc volts", 1.2e-3), ("ac volts", 6.3), ("ohms", 4703.12), ("ohms 4-wire", 0.1002),
        ("dc amps", -0.025), ("ac amps", 0.0), ("diode", math.inf), ("capacitance", 1.0031e-7),
    ],
)  # fmt: skip
def test_every_function_of_a_meter(address: str, function: str, value: float) -> None:
    with link_to(address) as link:
        assert measure(link, function, "measure") == value


def test_a_meter_that_has_no_reading() -> None:
    with link_to(METER) as link, pytest.raises(AnswerError, match="unresolved"):
        measure(link, "frequency", "measure")


def test_a_meter_without_the_function() -> None:
    with link_to(FUNCTIONS) as link:
        assert measure(link, "dc volts", "function") == 5.021
        with pytest.raises(RefusedError, match="-113 Undefined header"):
            measure(link, "capacitance", "function")


def test_no_ohms_while_volts_are_there() -> None:
    with link_to(METER) as link:
        require_dead(link, "measure")
    with link_to(FUNCTIONS) as link, pytest.raises(AnswerError, match=r"got 5\.02 V; take the pow"):
        require_dead(link, "function")


@pytest.mark.parametrize(
    ("address", "kind", "way", "in_vain"),
    [
        (METER, "meter", "measure", ""), (SERIAL, "meter", "measure", ""),
        (FUNCTIONS, "meter", "function", "MEAS:VOLT:DC?, CONF?"),
        (SUPPLY, "supply", "level", "SOUR:CURR:LIM?"),
    ],
)  # fmt: skip
def test_ways_are_found_by_asking(address: str, kind: str, way: str, in_vain: str) -> None:
    with Link(address, seconds=QUICK) as link:
        found = introduce(link, INSTRUMENTS.get(kind))
    assert found == {"errors": "SYST:ERR?", "talk": way, "in vain": in_vain}


def test_a_supply_is_not_taken_for_a_scope() -> None:
    with link_to(SUPPLY, QUICK) as link, pytest.raises(AnswerError, match="Invented 2"):
        introduce(link, INSTRUMENTS.get("scope"))


def test_a_supply_is_set_and_read_back() -> None:
    with link_to(SUPPLY) as link:
        before = standing(link, "level")
        assert (before.volts, before.limit, before.on) == (0.0, 3.0, False)
        after = set_supply(link, "level", volts=5.0, limit=0.33)
        assert (after.volts, after.limit, after.on) == (5.0, 0.33, False)


@pytest.mark.parametrize("address", [SCOPE, SERIAL_SCOPE])
def test_blocks_over_a_bus_that_marks_messages_and_one_that_does_not(address: str) -> None:
    with link_to(address) as link:
        assert link.block("CURV?", most=5) == b"trace"
        assert link.errors() == ()
        assert link.block("CURV? 4", most=LONG) == LONG * b"x"
    with link_to(address, QUICK) as link, pytest.raises(SilenceError, match="expected"):
        link.block("CURV? 2", most=9)
    with link_to(address, QUICK) as link, pytest.raises(AnswerError, match="a block"):
        link.block("CURV? 3", most=9)
