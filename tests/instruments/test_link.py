"""A conversation over a real socket, with everything that can go wrong in it."""

import socket
import time
from collections.abc import Callable
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.instruments.conftest import PATIENT, QUICK, Serve
from tests.instruments.scpi_server import NAME, Cut, Half, Held, Reply, ScpiServer, Slow, block

from halfsplit.errors import (
    AnswerError,
    InstrumentError,
    LinkError,
    RefusedError,
    SilenceError,
)
from halfsplit.instruments.kind import INSTRUMENTS, introduce
from halfsplit.instruments.kinds.meter import measure
from halfsplit.instruments.link import Link

VOLTS = "MEAS:VOLT:DC?"
GOOD = "+6.82130000E-01"


def open_link(
    server: ScpiServer,
    *,
    known: str = "",
    errors_by: str = "SYST:ERR?",
    seconds: float = PATIENT,
) -> Link:
    return Link(server.address, known=known, errors_by=errors_by, seconds=seconds)


def test_a_question_is_answered(serve: Serve) -> None:
    server = serve({VOLTS: GOOD})
    with open_link(server) as link:
        assert link.name == NAME
        assert link.number(VOLTS, "volts") == 0.68213
        assert link.errors() == ()
    assert server.heard == ["*CLS", "*IDN?", VOLTS, "SYST:ERR?"]
    assert "*RST" not in server.heard


@pytest.mark.parametrize(
    ("reply", "error", "says"),
    [
        (Slow(1.5 * QUICK, b"1.0\n"), SilenceError, "too late"),
        (Half(b"+6.82"), SilenceError, "'+6.82' and then no more"),
        (Half(b""), SilenceError, "got nothing"),
        (Cut(b"+6.82"), LinkError, "'+6.82', and it closed the connection"),
        (Cut(), LinkError, "a closed connection"),
        ("\x00\xff fish", AnswerError, "such as"),
        (b"\xff\xfe\x80\n", AnswerError, r"xff"),
        ("", AnswerError, "an empty answer"),
        ("1.0,2.0", AnswerError, "'1.0,2.0'"),
        (b"1" * 20_000, AnswerError, "without an end"),
    ],
)
def test_what_goes_wrong_is_told_and_closes_the_link(
    serve: Serve, reply: Reply, error: type[InstrumentError], says: str
) -> None:
    server = serve({VOLTS: reply})
    with open_link(server, seconds=QUICK) as link:
        begun = time.monotonic()
        with pytest.raises(error) as raised:
            link.number(VOLTS, "volts")
        assert time.monotonic() - begun < 4.0 * QUICK
        said = str(raised.value)
        assert said.startswith(f"{server.address}: expected ")
        assert says in said
        assert raised.value.do
        with pytest.raises(LinkError, match="closed after trouble"):
            link.ask(VOLTS)
    assert server.heard.count(VOLTS) == 1, "nothing is asked a second time"


def test_a_late_answer_is_not_taken_for_the_next_one(serve: Serve) -> None:
    # The first answer comes when the second question has been asked already.
    server = serve({VOLTS: Slow(1.5 * QUICK, b"1.0\n"), "MEAS:RES?": "2.0"})
    with open_link(server, seconds=QUICK) as link, pytest.raises(SilenceError, match="is not used"):
        link.number(VOLTS, "volts")
    with open_link(server) as link:
        assert link.number("MEAS:RES?", "ohms") == 2.0


@pytest.mark.parametrize("at_once", [True, False])
def test_a_late_answer_through_a_bridge_is_passed_over(serve: Serve, at_once: bool) -> None:
    # A bridge from network to serial hands the old answer to whoever connects next.
    server = serve({VOLTS: Held(b"1.0\n", at_once), "MEAS:RES?": "2.0"}, has_queue=False)
    link = open_link(server, seconds=QUICK, errors_by="*ESR?")
    with link, pytest.raises(SilenceError):
        link.number(VOLTS, "volts")
    with open_link(server) as link:
        assert link.name == NAME
        assert link.number("MEAS:RES?", "ohms") == 2.0


def test_what_nobody_asked_for_is_thrown_away(serve: Serve) -> None:
    server = serve({VOLTS: b"1.0\n9.0\n", "MEAS:RES?": "2.0"})
    with open_link(server) as link:
        assert link.number(VOLTS, "volts") == 1.0
        time.sleep(0.1)  # until the second line, which came unasked, is there
        assert link.number("MEAS:RES?", "ohms") == 2.0


def test_an_unknown_question_is_told_by_the_error_queue(serve: Serve) -> None:
    server = serve({VOLTS: GOOD})
    with open_link(server, seconds=QUICK) as link:
        with pytest.raises(RefusedError, match="-113 Undefined header"):
            link.ask("MEAS:CAP?")
        assert link.number(VOLTS, "volts") == 0.68213, "the link is whole"


def test_errors_are_read_to_the_end(serve: Serve) -> None:
    server = serve({VOLTS: GOOD})
    with open_link(server) as link:
        server.queue += ['-222,"Data out of range"', '-350,"Queue overflow"']
        assert link.errors() == ("-222 Data out of range", "-350 Queue overflow")
        assert link.errors() == ()


def test_a_queue_that_never_ends(serve: Serve) -> None:
    server = serve({"SYST:ERR?": '-100,"Command error"'})
    with open_link(server) as link:
        assert len(link.errors()) == 20


def test_the_standard_register_where_there_is_no_queue(serve: Serve) -> None:
    # IEEE 488.2-1992, 11.5.1: bit 5 is a command error, bit 4 an execution error.
    server = serve({"*ESR?": "48"}, has_queue=False)
    with open_link(server, errors_by="*ESR?") as link:
        assert link.errors() == ("command error", "execution error")


def test_another_instrument_is_not_taken_for_the_known_one(serve: Serve) -> None:
    server = serve({"*IDN?": "Other Works,Thing,7,2"})
    with pytest.raises(AnswerError, match="another one is plugged in") as raised:
        open_link(server, known=NAME)
    assert NAME in str(raised.value)
    assert "Other Works" in str(raised.value)


def test_something_that_is_no_instrument(serve: Serve) -> None:
    server = serve({"*IDN?": "HTTP/1.1 400 Bad Request"})
    with pytest.raises(AnswerError, match="its name"):
        open_link(server, seconds=QUICK)


def test_unplugged() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    begun = time.monotonic()
    with pytest.raises(LinkError, match="cable"):
        Link(f"TCPIP::127.0.0.1::{port}::SOCKET", seconds=QUICK)
    assert time.monotonic() - begun < 4.0 * QUICK


def test_unplugged_in_the_middle(serve: Serve) -> None:
    server = serve({VOLTS: GOOD})
    with open_link(server) as link:
        assert link.number(VOLTS, "volts") == 0.68213
        server.stop()
        with pytest.raises(LinkError):
            link.number(VOLTS, "volts")


def test_nothing_at_all_is_there() -> None:
    with pytest.raises(LinkError, match="expected an instrument"):
        Link("USB0::0x1234::0x5678::NONE::INSTR", seconds=QUICK)


def test_one_at_a_time(serve: Serve) -> None:
    server = serve({VOLTS: GOOD})
    with open_link(server), pytest.raises(LinkError, match="another page or command"):
        open_link(server, seconds=QUICK)
    with open_link(server) as link:
        assert link.number(VOLTS, "volts") == 0.68213


DATA = bytes(range(256)) * 20
"""Line ends among them: a block is not read by lines."""


def test_a_block_comes_whole(serve: Serve) -> None:
    server = serve({"CURV?": block(DATA), VOLTS: GOOD})
    with open_link(server) as link:
        assert link.block("CURV?", most=len(DATA)) == DATA
        assert link.number(VOLTS, "volts") == 0.68213


@pytest.mark.parametrize(
    ("reply", "error", "says"),
    [
        (Half(block(DATA)[:2000]), SilenceError, "bytes and then no more"),
        (Cut(block(DATA)[:2000]), LinkError, "closed the connection"),
        (Half(b"#"), SilenceError, "1 bytes and then no more"),
        (block(DATA, length=len(DATA) + 9), SilenceError, "and then no more"),
        (block(DATA, length=len(DATA) - 9), AnswerError, "its length does not fit"),
        (block(DATA, length=9 * len(DATA)), AnswerError, "at most"),
        (b"1.0,2.0,3.0\n", AnswerError, "a block"),
        (b"#0abc\n", AnswerError, "a block"),
        (b"#2xx\n", AnswerError, "a block"),
    ],
)
def test_a_block_that_is_none(
    serve: Serve, reply: Reply, error: type[InstrumentError], says: str
) -> None:
    server = serve({"CURV?": reply})
    with open_link(server, seconds=QUICK) as link:
        with pytest.raises(error) as raised:
            link.block("CURV?", most=len(DATA) + 10)
        assert says in str(raised.value)
        with pytest.raises(LinkError):
            link.ask("*IDN?")


def test_a_reading_that_comes_with_an_error_does_not_count(serve: Serve) -> None:
    server = serve()

    def odd(line: str) -> str:
        server.queue.append('-230,"Data corrupt or stale"')
        return GOOD

    server.replies[VOLTS] = odd
    with open_link(server) as link, pytest.raises(RefusedError, match="-230 Data corrupt"):
        measure(link, "dc volts", "measure")


def test_a_meter_that_is_configured_and_then_read(serve: Serve) -> None:
    readings = iter(["+1.5E+00", "+2.2E+03"])
    server = serve(
        {"CONF?": '"VOLT"', "READ?": lambda line: next(readings)},
        settings={"CONF:VOLT:DC": "", "CONF:RES": ""},
    )
    with Link(server.address, seconds=QUICK) as link:
        assert introduce(link, INSTRUMENTS.get("meter"))["talk"] == "configure"
        assert measure(link, "dc volts", "configure") == 1.5
        assert measure(link, "ohms", "configure") == 2200.0
        with pytest.raises(RefusedError, match="CONF:CAP"):
            measure(link, "capacitance", "configure")
    assert server.heard.count("READ?") == 2, "nothing is read after a function it does not have"


def test_an_instrument_without_any_way_to_tell_errors(serve: Serve) -> None:
    server = serve({VOLTS: GOOD}, has_queue=False)
    del server.replies["*ESR?"]
    with Link(server.address, seconds=QUICK) as link:
        found = introduce(link, INSTRUMENTS.get("meter"))
    assert found == {"errors": "", "talk": "measure", "in vain": ""}
    with open_link(server, errors_by="", seconds=QUICK) as link:
        assert measure(link, "dc volts", "measure") == 0.68213
        with pytest.raises(SilenceError):
            measure(link, "capacitance", "measure")


class Fed:
    """A wire that says these bytes and then no more."""

    def __init__(self, bytes_: bytes) -> None:
        self.left = bytes_

    def send(self, text: str) -> None:
        assert text.isascii()

    def forget(self) -> bytes:
        return b""

    clear = close = forget

    def line(self) -> bytes:
        line, end, self.left = self.left.partition(b"\n")
        if not end:
            raise SilenceError("fed", expected="a line", got=repr(line), do="feed it more")
        return line

    rest = line

    def exactly(self, count: int) -> bytes:
        taken, self.left = self.left[:count], self.left[count:]
        if len(taken) < count:
            raise SilenceError("fed", expected=f"{count} bytes", got=repr(taken), do="more")
        return taken


PIECES = st.lists(
    st.one_of(
        st.binary(max_size=12),
        st.sampled_from([b"\n", b"1.5\n", b"#15", b"#210", b"abcde\n", b'0,"No error"\n',
                         b'-113,"Undefined header"\n', NAME.encode() + b"\n"]),
    ),
    max_size=12,
)  # fmt: skip


@given(PIECES, st.sampled_from(["SYST:ERR?", "*ESR?", ""]))
def test_any_bytes_are_an_answer_or_our_own_error(pieces: list[bytes], errors_by: str) -> None:
    fed = Fed(NAME.encode() + b"\n" + b"".join(pieces))
    with patch("halfsplit.instruments.link.open_wire", lambda *a, **k: fed):
        with Link("fed", errors_by=errors_by, seconds=0.1) as link:
            got = [tried(lambda: link.number(VOLTS, "volts")), tried(link.errors)]
        fed.left = NAME.encode() + b"\n" + fed.left
        with Link("fed", errors_by=errors_by, seconds=0.1) as link:
            got.append(tried(lambda: link.block("CURV?", most=20)))
    assert all(isinstance(one, float | tuple | bytes | InstrumentError) for one in got)


def tried(job: Callable[[], object]) -> object:
    """What came of it; any error but our own goes on."""
    try:
        return job()
    except InstrumentError as error:
        return error
