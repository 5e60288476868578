"""Traces: what the preamble says, what is nonsense in it, and what a half-sent one leaves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.instruments.conftest import PATIENT, QUICK, Serve
from tests.instruments.scpi_server import Cut, Half, Reply, ScpiServer, block

from halfsplit.errors import AnswerError, InstrumentError, LinkError, RefusedError, SilenceError
from halfsplit.instruments.kind import INSTRUMENTS, introduce
from halfsplit.instruments.kinds.scope import fetch, record_of
from halfsplit.instruments.link import Link

STEP, BEGIN, SCALE = 1e-6, -2.5e-4, 0.04
TIMES = BEGIN + STEP * np.arange(1000)
WAVE = 2.0 + 1.5 * np.sin(2.0 * np.pi * 1e3 * TIMES)
"""A sine of 1 kHz, 1.5 V about 2 V, of which the trigger is a quarter of a period late."""


def waveform(**changed: str) -> dict[str, Reply]:
    """A scope that holds that wave in 8 bits; the preamble's fields can be changed by name."""
    fields = {
        "format": "0", "type": "0", "points": "1000", "count": "1", "step": f"{STEP:.6E}",
        "begin": f"{BEGIN:.6E}", "first": "0", "scale": f"{SCALE:.6E}", "origin": "0",
        "reference": "128",
    } | changed  # fmt: skip
    raw = np.clip(np.rint(WAVE / SCALE) + 128, 0, 255).astype(np.uint8)
    return {"WAV:PRE?": ",".join(fields.values()), "WAV:DATA?": block(raw.tobytes())}


def start(serve: Serve, replies: dict[str, Reply], **more: object) -> ScpiServer:
    chosen = {"WAV:SOUR": "", "WAV:FORM": "", "DAT:SOU": "", "DAT:ENC": "", "WFMO:BYT_N": ""}
    return serve(replies, settings=chosen, **more)


def link_to(server: ScpiServer, seconds: float = PATIENT) -> Link:
    return Link(server.address, errors_by="SYST:ERR?", seconds=seconds)


def test_a_trace_has_the_volts_and_times_of_the_wave(serve: Serve) -> None:
    server = start(serve, waveform())
    with link_to(server) as link:
        (trace,) = fetch(link, [1], "waveform")
    assert server.settings["WAV:SOUR"] == "CHAN1"
    assert "STOP" not in server.heard
    record = record_of([trace], {1: "A1"}, "bench scope")
    (channel,) = record.analog
    assert (channel.name, channel.unit, record.begin) == ("A1", "V", BEGIN)
    assert record.end == pytest.approx(BEGIN + 1000 * STEP)
    np.testing.assert_allclose(channel.seconds, TIMES, atol=1e-12)
    # Half a step of the converter is all that may be lost.
    np.testing.assert_allclose(channel.samples, WAVE, atol=0.501 * SCALE)
    assert record.remarks == ()


def test_the_sample_of_the_trigger_stands_at_its_time(serve: Serve) -> None:
    server = start(serve, waveform(begin="0", first="250"))
    with link_to(server) as link:
        (trace,) = fetch(link, [1], "waveform")
    assert trace.preamble.begin == pytest.approx(BEGIN)


def test_two_channels_are_of_one_sweep(serve: Serve) -> None:
    server = start(serve, waveform())
    server.settings["STOP"] = ""
    with link_to(server) as link:
        traces = fetch(link, [1, 2], "waveform")
    assert record_of(traces, {}, "scope").names == ("CH1", "CH2")
    assert server.heard.index("STOP") < server.heard.index("WAV:SOUR CHAN1")


def test_the_other_dialect(serve: Serve) -> None:
    raw = np.rint((WAVE - 0.5) / SCALE + 10).astype(np.int8)
    told = {"NR_P": 1000, "XIN": STEP, "XZE": 0.0, "PT_O": 250, "YMU": SCALE, "YOF": 10, "YZE": 0.5}
    questions: dict[str, Reply] = {f"WFMO:{name}?": f"{value}" for name, value in told.items()}
    server = start(serve, questions | {"CURV?": block(raw.tobytes())})
    with Link(server.address, seconds=QUICK) as link:
        way = introduce(link, INSTRUMENTS.get("scope"))["talk"]
        assert way == "curve"
        (trace,) = fetch(link, [2], way)
    np.testing.assert_allclose(trace.volts, WAVE, atol=0.501 * SCALE)
    assert trace.preamble.begin == pytest.approx(BEGIN)
    assert server.settings["DAT:SOU"] == "CH2"


def test_the_origin_in_volts_or_in_steps(serve: Serve) -> None:
    raw = np.rint((WAVE - 1.0) / SCALE) + 128
    data: dict[str, Reply] = {"WAV:DATA?": block(raw.astype(np.uint8).tobytes())}
    volts = start(serve, waveform(origin="1.0") | data | {"CHAN1:OFFS?": "1.0"})
    with link_to(volts) as link:
        np.testing.assert_allclose(fetch(link, [1], "waveform")[0].volts, WAVE, atol=0.03)
    steps = start(serve, waveform(origin="-25") | data | {"CHAN1:OFFS?": "-1.0"})
    with link_to(steps) as link:
        np.testing.assert_allclose(fetch(link, [1], "waveform")[0].volts, WAVE, atol=0.03)
    silent = start(serve, waveform(origin="1.0") | data)
    with link_to(silent, QUICK) as link:
        (trace,) = fetch(link, [1], "waveform")
    assert any("the zero line is not sure" in remark for remark in trace.remarks)


def test_what_was_cut_off_at_the_edge_of_the_screen_is_told(serve: Serve) -> None:
    raw = np.clip(np.rint(2.5 * WAVE / SCALE) + 128, 0, 255).astype(np.uint8)
    server = start(serve, waveform() | {"WAV:DATA?": block(raw.tobytes())})
    with link_to(server) as link:
        (trace,) = fetch(link, [1], "waveform")
    assert f"{np.count_nonzero(raw == 255)} of 1000 samples" in trace.remarks[0]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"points": "0"}, "points"),
        ({"points": "1e30"}, "points"),
        ({"points": "12.5"}, "a whole number of points, got 12.5"),
        ({"step": "0"}, "a step above 0"),
        ({"step": "-1e-6"}, "a step above 0"),
        ({"step": "9.91E37"}, "a step above 0"),
        ({"begin": "9.9E37"}, "a beginning within a day"),
        ({"scale": "0"}, "a scale other than 0"),
        ({"scale": "fish"}, "'fish'"),
        ({"format": "1"}, "samples as bytes"),
        ({"reference": "1e9"}, "a zero line"),
        ({"points": "999"}, "a block of 999 bytes at most"),
        ({"points": "1001"}, "1001 samples, as its preamble says, got 1000"),
    ],
)
def test_a_preamble_that_cannot_be(serve: Serve, changed: dict[str, str], says: str) -> None:
    server = start(serve, waveform(**changed))
    with link_to(server) as link, pytest.raises(AnswerError) as raised:
        fetch(link, [1], "waveform")
    assert says in str(raised.value)
    assert str(raised.value).startswith(server.address)


def test_a_preamble_that_is_too_short(serve: Serve) -> None:
    server = start(serve, waveform() | {"WAV:PRE?": "0,0,1000"})
    with link_to(server) as link, pytest.raises(AnswerError, match="10 numbers"):
        fetch(link, [1], "waveform")


@pytest.mark.parametrize(
    ("reply", "error"),
    [
        (Half(block(bytes(1000))[:500]), SilenceError),
        (Cut(block(bytes(1000))[:500]), LinkError),
        (b"fish\n", AnswerError),
    ],
)
def test_a_trace_that_stops_in_the_middle(
    serve: Serve, reply: Reply, error: type[InstrumentError]
) -> None:
    server = start(serve, waveform() | {"WAV:DATA?": reply})
    with link_to(server, QUICK) as link, pytest.raises(error, match=server.address):
        fetch(link, [1], "waveform")


def test_a_channel_it_does_not_have(serve: Serve) -> None:
    server = start(serve, waveform(), refuses={"WAV:SOUR": '-224,"Illegal parameter value"'})
    with link_to(server, QUICK) as link, pytest.raises(RefusedError, match="WAV:SOUR CHAN7"):
        fetch(link, [7], "waveform")


class Told:
    """A link that answers by a table, for preambles by the hundred."""

    address = "nowhere"

    def __init__(self, preamble: str, data: bytes) -> None:
        self.preamble, self.data = preamble, data

    def tell(self, *commands: str) -> None:
        assert commands

    def accepted(self, command: str) -> None:
        assert command

    def ask(self, question: str) -> str:
        return self.preamble

    def knows(self, question: str) -> str:
        return self.preamble

    def block(self, question: str, *, most: int) -> bytes:
        return self.data


FIELD = st.one_of(
    st.integers(-300, 300).map(str), st.floats().map(str), st.text(max_size=8),
    st.sampled_from(["9.9E37", "9.91E37", "0", "4"]),
)  # fmt: skip


@settings(max_examples=200)
@given(st.lists(FIELD, max_size=12), st.binary(max_size=8))
def test_any_preamble_is_a_trace_or_our_own_error(fields: list[str], data: bytes) -> None:
    try:
        traces = fetch(Told(",".join(fields), data), [1], "waveform")  # type: ignore[arg-type]  # only what fetch uses
    except AnswerError:
        return
    record = record_of(traces, {}, "x")
    assert len(record.analog[0].samples) == len(data)
    assert record.end > record.begin
