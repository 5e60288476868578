"""The commands that talk to instruments, with small ones behind real sockets."""

import io
import json
import socket
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from tests.capture.drivers import DRIVERS
from tests.cli.conftest import Call
from tests.cli.test_capture import SCHEDULE
from tests.cli.test_loop import talk
from tests.instruments.scpi_server import NAME, Reply, ScpiServer, Slow, block

from halfsplit.bench import Bench
from halfsplit.instruments.book import book_path
from halfsplit.recordings import Recordings

Start = Callable[..., ScpiServer]


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Start]:
    """Start an instrument; the book of instruments is empty."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    servers: list[ScpiServer] = []

    def begin(replies: dict[str, Reply] | None = None, **more: object) -> ScpiServer:
        servers.append(ScpiServer(dict(replies or {}), **more))  # type: ignore[arg-type]  # as given
        return servers[-1]

    yield begin
    for server in servers:
        server.stop()


def says(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    """What the person will answer."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def remember(call: Call, server: ScpiServer, kind: str = "meter", *, seconds: str = "10") -> None:
    """By asking it; ``seconds`` are short where an answer is not to come."""
    words = ("--remember", f"bench-{kind}", f"127.0.0.1:{server.port}", "--kind", kind)
    assert call("instruments", *words, "--seconds", seconds).code == 0


METER: dict[str, Reply] = {"MEAS:VOLT:DC?": "+2.48000000E+00", "MEAS:RES?": "+9.9E37"}


def test_an_instrument_is_remembered_listed_asked_and_forgotten(call: Call, start: Start) -> None:
    server = start(METER)
    remember(call, server)
    (one,) = call("instruments", "--ask", "--json").data["instruments"]
    assert one["identity"] == NAME
    assert one["ways"] == {"errors": "SYST:ERR?", "talk": "measure", "in vain": ""}
    assert one["answers"] == ""
    assert "talked to by: measure" in call("instruments").out
    server.stop()
    said = call("instruments", "--ask")
    assert said.code == 0
    assert "cable" in said.out
    assert call("instruments", "--forget", "bench-meter").code == 0
    assert call("instruments", "--json").data["instruments"] == []


def test_what_does_not_answer_is_only_remembered_unasked(call: Call, start: Start) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = ("instruments", "--remember", "m", f"127.0.0.1:{port}", "--seconds", "0.3")
    refused = call(*words, "--json")
    assert refused.code == 2
    error = refused.data["error"]
    assert (error["type"], error["at"]) == ("LinkError", f"TCPIP::127.0.0.1::{port}::SOCKET")
    assert all(error[part] in error["message"] for part in ("expected", "got", "do"))
    assert not book_path().exists()
    assert call(*words, "--unasked").code == 0
    assert "never asked" in call("instruments").out


def test_a_damaged_book_is_told(call: Call, start: Start) -> None:
    book_path().parent.mkdir(parents=True)
    book_path().write_text('{"schema": "halfsplit-instruments/1", "instruments": {"m": {}}}')
    said = call("instruments")
    assert said.code == 2
    assert "instruments.json" in said.err


def test_the_meter_fills_the_suggested_check(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = start(METER)
    remember(call, server)
    says(monkeypatch, "yes")
    said = call("read", "volts TP1 @on")
    assert said.code == 0
    assert "reads 2.48 V (dc volts). Enter it?" in said.err
    event = call("log", "--json").data["events"][-1]
    assert (event["check"], event["reading"]["text"]) == ("volts TP1 @on", "2.48 V")
    assert event["reading"]["value"] == 2.48
    assert event["source"] == "meter bench-meter"
    assert "volts TP1 @on: 2.48 V, read by meter bench-meter" in call("log").out
    call("enter", "volts TP1 @on", "2.48")
    assert call("log", "--json").data["events"][-1]["source"] == ""
    read, typed = call("report", "--json").data["record"]["readings"]
    assert (read["source"], typed["source"]) == ("meter bench-meter", "")


@pytest.mark.parametrize("answer", ["no", "", "perhaps"])
def test_nothing_is_entered_without_a_yes(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch, answer: str
) -> None:
    remember(call, start(METER))
    says(monkeypatch, *([answer] if answer else []))
    assert "Nothing was entered." in call("read", "volts TP1 @on").out
    assert [one["kind"] for one in call("log", "--json").data["events"]] == ["board"]


def test_read_again_until_it_is_steady(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    falling = iter(["+3.0", "+2.7", "+2.5"])
    remember(call, start({"MEAS:VOLT:DC?": lambda line: next(falling)}))
    says(monkeypatch, "again", "y")
    shown = call("read", "volts TP1 @on", "--json").data
    assert (shown["text"], shown["value"]) == ("2.5 V", 2.5)
    assert shown["entered"]["event"]["reading"]["value"] == 2.5


def test_without_a_check_the_probes_are_asked_for_first(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers = {"MEAS:VOLT:DC?": "0.0", "MEAS:RES?": "+1.0E4", "MEAS:DIOD?": "+0.6"}
    server = start(answers)
    remember(call, server)
    before = len(server.heard)
    says(monkeypatch, "no")
    refused = call("read")
    assert refused.code == 2
    assert "Are the probes there?" in refused.err
    assert len(server.heard) == before, "nothing is measured at a place nobody probes"
    says(monkeypatch, "yes", "yes")
    shown = call("read", "--json").data
    suggested = [one["id"] for one in call("next", "--json").data["suggestions"]]
    assert shown["entered"]["event"]["check"] == shown["check"]
    assert shown["check"] not in suggested[:1]


def test_a_rail_below_ground(call: Call, folder: Path, start: Start) -> None:
    board = 'board "Below" rev A\nrail -12 -12V\nR1 1k -12 GND\nstate on\n'
    (folder / "below.board").write_text(board + 'output "x" current R1 above 5mA\n', "utf-8")
    server = supply(start)
    remember(call, server, "supply", seconds="0.4")
    shown = call("supply", "--rail=-12", "--board", "below.board", "--yes", "--json").data
    assert float(server.settings["SOUR:VOLT"]) == 12.0
    assert "plus goes to ground" in shown["done"][0]


def test_an_overload_on_ohms_is_open_on_volts_an_error(call: Call, case: str, start: Start) -> None:
    server = start(METER | {"MEAS:VOLT:DC?": "0.0"})
    remember(call, server)
    shown = call("read", "ohms R1.1 : R1.2", "--yes", "--json").data
    assert (shown["text"], shown["value"]) == ("OL", "open")
    assert shown["entered"]["event"]["reading"]["word"] == "OL"
    server.replies["MEAS:VOLT:DC?"] = "9.9E37"
    refused = call("read", "volts TP1 @on", "--yes", "--json")
    assert refused.data["error"]["type"] == "AnswerError"
    assert "an overload" in refused.err


def test_no_ohms_on_a_live_board(call: Call, case: str, start: Start) -> None:
    server = start(METER)
    remember(call, server)
    refused = call("read", "ohms R1.1 : R1.2", "--yes")
    assert refused.code == 2
    assert "take the power off" in refused.err
    assert "MEAS:RES?" not in server.heard
    assert len(call("log", "--json").data["events"]) == 1


@pytest.mark.parametrize("reply", [Slow(0.6, b"2.5\n"), "fish", b""])
def test_a_bad_meter_never_blocks_typing(call: Call, case: str, start: Start, reply: Reply) -> None:
    server = start(METER)
    remember(call, server, seconds="0.4")
    server.replies["MEAS:VOLT:DC?"] = reply
    refused = call("read", "volts TP1 @on", "--yes", "--json")
    assert refused.code == 2
    assert "by hand" in refused.err
    assert call("enter", "volts TP1 @on", "2.5").code == 0


def test_the_meter_reads_in_the_talk(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = start(METER)
    remember(call, server)
    volts = "volts TP1 @on"
    # The first suggestions are answered until the meter can answer one; then it does.
    with Bench.open(Path(case)) as bench:
        monkeypatch.setattr(
            "halfsplit.cli.loop.check_of_number", lambda number, bench, seen: bench.check(volts)
        )
        says = talk(bench, "r", "no", "r", "yes")
        assert "bench-meter reads 2.48 V (dc volts)" in says
        entered = [one.reading.text for one in bench.log() if one.reading]
        assert entered == ["2.48 V"]
        server.stop()
        says = talk(bench, "r", f"{volts}: 2.5")
    assert "! TCPIP" in says
    assert "#3" in says, "typing goes on"


def test_without_the_extra_typing_is_offered(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    remember(call, start(METER))
    monkeypatch.setitem(sys.modules, "pyvisa", None)  # as import does for what is not there
    refused = call("read", "volts TP1 @on", "--yes")
    assert refused.code == 2
    assert 'pip install "halfsplit[instruments]", or type the reading by hand' in refused.err
    assert call("instruments", "--find").code == 2
    assert call("enter", "volts TP1 @on", "2.5").code == 0


def test_what_is_no_check_of_a_meter(call: Call, case: str, start: Start) -> None:
    remember(call, start(METER))
    assert "type what came of it" in call("read", "look R1", "--look").err
    assert "none is remembered" in call("fetch").err
    shown = call("read", "--what", "dc volts", "--json").data
    assert (shown["check"], shown["text"], shown["entered"]) == (None, "2.48 V", None)
    assert "unknown function of a meter" in call("read", "--what", "amps").err


def test_a_fetched_trace_is_kept_beside_the_case(call: Call, case: str, start: Start) -> None:
    raw = (128 + np.arange(100)).astype(np.uint8)
    scope: dict[str, Reply] = {
        "WAV:PRE?": "0,0,100,1,1E-3,0,0,0.02,0,128", "WAV:DATA?": block(raw.tobytes()),
    }  # fmt: skip
    server = start(scope, settings={"WAV:SOUR": "", "WAV:FORM": ""})
    remember(call, server, "scope")
    looked = call("fetch", "--nets", "CH1=MID", "--look", "--json").data
    assert looked["kept"] is None
    shown = call("fetch", "--nets", "CH1=MID", "--json").data
    assert shown["instrument"] == "bench-scope"
    assert shown["channels"] == [
        {"channel": 1, "points": 100, "begin": 0.0, "step": 1e-3, "volts_a_step": 0.02,
         "low": 0.0, "high": pytest.approx(1.98)}
    ]  # fmt: skip
    assert shown["left_out"], "a divider has no stage that changes"
    kept = Recordings(Path(case)).get(shown["kept"]).record.analog[0]
    np.testing.assert_allclose(kept.samples, 0.02 * np.arange(100), atol=1e-6)
    assert "kept as" in call("fetch").out


def test_fetched_traces_move_belief_as_a_captured_file_does(
    call: Call, folder: Path, start: Start
) -> None:
    (folder / "three.board").write_text(DRIVERS, encoding="utf-8")
    assert call("new", "--board", "three.board").code == 0
    # As in the captured file: OB stays high when IB asks it to be low.
    turn = [(k // 10 - 1) % 3 if 10 <= k < 70 else -1 for k in range(80)]
    volts = {
        f"CHAN{n + 1}": [0.1 if line == n and line != 1 else 5.0 for line in turn] for n in range(3)
    }
    server = start(settings={"WAV:SOUR": "", "WAV:FORM": "", "STOP": ""})

    def data(line: str) -> bytes:
        chosen = volts[server.settings["WAV:SOUR"]]
        return block(bytes(round(one / 0.04) + 25 for one in chosen))

    server.replies |= {"WAV:PRE?": "0,0,80,1,1E-3,0,0,0.04,0,25", "WAV:DATA?": data}
    remember(call, server, "scope")
    nets = "CH1=OA,CH2=OB,CH3=OC"
    words = ("fetch", "--channels", "1,2,3", "--nets", nets, "--played", SCHEDULE)
    said = call(*words, "--json")
    assert said.code == 0, said.err
    assert [one["reading"] for one in said.data["stages"]] == ["OB stuck off"]
    assert "U1" in said.data["next"]["suspects"][0]["id"]
    assert f"OB stuck off, read by capture {said.data['kept']}" in " ".join(call("log").out.split())


def supply(start: Start) -> ScpiServer:
    server = start(settings={"SOUR:VOLT": "0.0", "SOUR:CURR": "3.0", "OUTP": "0"})
    server.replies |= {
        "OUTP?": lambda line: "1" if server.settings["OUTP"] == "ON" else "0",
        "MEAS:VOLT?": "0.0",
        "MEAS:CURR?": "0.0",
    }
    return server


def test_a_supply_is_set_to_the_plan_only_after_a_yes(
    call: Call, case: str, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = supply(start)
    remember(call, server, "supply", seconds="0.4")
    assert "output off" in call("supply").out
    plan = call("powerup", "divider.board", "--json").data["plan"]["supplies"][0]
    says(monkeypatch, "no")
    said = call("supply", "--rail", "+5", "--on")
    assert "not done" in said.out
    assert (server.settings["SOUR:CURR"], server.settings["OUTP"]) == ("3.0", "0")
    says(monkeypatch, "yes", "no")
    assert call("supply", "--rail", "+5", "--on").code == 0
    assert float(server.settings["SOUR:CURR"]) == plan["limit"]
    assert float(server.settings["SOUR:VOLT"]) == 5.0
    assert server.settings["OUTP"] == "0", "the output waits for its own yes"
    says(monkeypatch)
    shown = call("supply", "--on", "--yes", "--json").data
    assert shown["now"]["on"] is True
    assert shown["now"]["limit"] == plan["limit"]
    assert "not people" in shown["cautions"][0]
    assert call("supply", "--off", "--yes").code == 0
    assert server.settings["OUTP"] == "OFF"


def test_the_limit_for_the_load_and_one_of_several_outputs(
    call: Call, case: str, start: Start
) -> None:
    server = supply(start)
    server.settings["INST:NSEL"] = "1"
    remember(call, server, "supply", seconds="0.4")
    plan = call("powerup", "divider.board", "--json").data["plan"]["supplies"][0]
    words = ("--rail", "+5", "--board", "divider.board", "--loaded", "--channel", "2", "--yes")
    shown = call("supply", *words, "--json").data
    assert shown["now"]["limit"] == plan["then"]
    assert shown["channel"] == 2
    assert server.settings["INST:NSEL"] == "2"
    assert shown["done"] == [f"Set 5 V and a current limit of {1000 * plan['then']:.0f} mA: done"]
    assert "unknown rail" in call("supply", "--rail", "+55", "--yes").err


def test_a_supply_that_does_not_take_the_limit_stays_off(
    call: Call, case: str, start: Start
) -> None:
    server = supply(start)
    remember(call, server, "supply", seconds="0.4")
    server.replies["SOUR:CURR?"] = "3.0"
    refused = call("supply", "--volts", "5", "--limit", "330mA", "--on", "--yes", "--json")
    assert refused.data["error"]["type"] == "AnswerError"
    assert server.settings["OUTP"] == "0"


@pytest.mark.parametrize(
    "words",
    [
        ("supply", "--loaded"), ("supply", "--on", "--off"), ("fetch", "--channels", "0"),
        ("fetch", "--channels", "x"), ("read", "1", "--what", "ohms"), ("instruments", "--unasked"),
        ("instruments", "--remember", "a b", "192.0.2.7", "--unasked"),
        ("instruments", "--remember", "a", "192.0.2.7", "--unasked", "--seconds", "1e9"),
        ("instruments", "--remember", "a", "192.0.2.7", "--unasked", "--kind", "toaster"),
        ("instruments", "--remember", "a", "no address", "--unasked"),
        ("instruments", "--forget", "nobody"), ("supply", "--from", "nobody"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_in_words(call: Call, start: Start, words: tuple[str, ...]) -> None:
    said = call(*words, "--json")
    assert said.code == 2
    assert json.loads(said.out)["error"]["message"]
    assert not book_path().exists()
