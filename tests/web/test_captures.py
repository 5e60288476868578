"""Captures on the page: taken in, kept beside the case, drawn, measured, read as steps."""

from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from starlette.testclient import TestClient
from tests.capture.drivers import DRIVERS
from tests.web.conftest import People
from tests.web.test_flows import violations

SIZES = [(1280, 800), (390, 844)]
PICTURE = b"\x89PNG\r\n\x1a\n" + bytes(500)
OCTETS = {"content-type": "application/octet-stream"}
# Two-phase full step: each line is high for two steps of four (T. Kenjo, Stepping motors and their
# microprocessor controls, 1984, from memory).
FULL_STEP = ("1100", "0110", "0011", "1001")
STEPS, EACH = 200, 2000
"""Steps, and microseconds of each."""


def phases() -> str:
    """The four phases as VCD (IEEE 1364-2005, clause 18)."""
    lines = ["$timescale 1us $end"]
    lines += [f"$var wire 1 {code} {name} $end" for code, name in zip("abcd", NAMES, strict=True)]
    lines.append("$enddefinitions $end")
    before = ""
    for step in range(STEPS):
        now = FULL_STEP[step % 4]
        lines.append(f"#{step * EACH}")
        lines += [
            f"{bit}{'abcd'[at]}" for at, bit in enumerate(now) if not before or before[at] != bit
        ]
        before = now
    return "\n".join([*lines, f"#{STEPS * EACH}", ""])


NAMES = ("BASE", "LK", "PC", "PD")


def kept(client: TestClient, data: bytes | str, name: str = "seek.vcd") -> str:
    answer = client.post("/api/captures", params={"file": name}, content=data, headers=OCTETS)
    assert answer.status_code == 201, answer.text
    return str(answer.json()["name"])


def test_a_capture_is_kept_beside_the_case_and_listed(client: TestClient, case: Path) -> None:
    assert kept(client, phases()) == "seek"
    assert kept(client, phases()) == "seek 2", "none is written over"
    assert (case.with_suffix(".captures") / "seek" / "kept.json").exists()
    assert not [one for one in case.with_suffix(".captures").iterdir() if one.name[0] == "."]
    listed = client.get("/api/captures").json()["captures"]
    assert [one["name"] for one in listed] == ["seek", "seek 2"]
    assert listed[0]["end"] == pytest.approx(STEPS * EACH * 1e-6)
    nets = {channel["name"]: channel["net"] for channel in listed[0]["channels"]}
    assert nets == {"BASE": "BASE", "LK": "LK", "PC": "", "PD": ""}


def test_columns_are_what_numpy_finds_in_the_samples(client: TestClient) -> None:
    samples = np.random.default_rng(7).normal(size=5000).astype(np.float32)
    rows = "\n".join(f"{at * 1e-3:.3f},{value:.9g}" for at, value in enumerate(samples))
    name = kept(client, f"time,volts\n{rows}\n", "noise.csv")
    window: dict[str, str | float] = {"begin": 1.0, "end": 2.0, "count": 10, "channel": "volts"}
    answer = client.get(f"/api/captures/{name}/columns", params=window)
    low, high = np.frombuffer(answer.content, dtype="<f4").reshape(2, 10)
    for at, (least, most) in enumerate(zip(low, high, strict=True)):
        begin = 1000 + 100 * at  # the ends of a column are right to an eighth of its width
        inner, outer = samples[begin + 13 : begin + 87], samples[begin - 13 : begin + 113]
        assert outer.min() - 1e-6 <= least <= inner.min() + 1e-6
        assert inner.max() - 1e-6 <= most <= outer.max() + 1e-6


def test_levels_come_as_bits_filled_up_to_four(client: TestClient) -> None:
    name = kept(client, phases())
    window: dict[str, str | float] = {"begin": 0, "end": 4 * EACH * 1e-6, "count": 5}
    answer = client.get(f"/api/captures/{name}/columns", params={**window, "channel": "BASE"})
    seen = np.frombuffer(answer.content, dtype=np.uint8)
    assert seen.size == 8
    levels = [int(bits) & 3 for bits in seen[:5]]
    assert levels == [2, 3, 1, 3, 2], "of 1.6 ms each: falls at 2 ms, rises at 6 ms"


def test_between_two_cursors(client: TestClient) -> None:
    name = kept(client, phases())
    window = {"begin": 0.001, "end": 0.001 + 40 * EACH * 1e-6}
    found = client.get(f"/api/captures/{name}/measured", params=window).json()
    assert {one["name"]: one["edges"] for one in found} == dict.fromkeys(NAMES, 20)
    assert found[0]["hertz"] == pytest.approx(1e6 / (4 * EACH)), "one period in four steps"


def test_steps_are_counted(client: TestClient) -> None:
    name = kept(client, phases())
    asked: dict[str, float | list[str]] = {"begin": 0, "end": STEPS * EACH * 1e-6}
    found = client.get(f"/api/captures/{name}/steps", params={**asked, "line": list(NAMES)}).json()
    assert sum(move["steps"] for move in found["moves"]) == STEPS - 1
    assert found["marks"] == []
    assert len(found["ticks"]) == STEPS - 1


def test_a_net_is_given_to_a_channel_and_stays(client: TestClient) -> None:
    name = kept(client, phases())
    told = client.post(f"/api/captures/{name}/nets", json={"channel": "PC", "net": "LA"}).json()
    assert told["channels"][2]["net"] == "LA"
    assert client.get("/api/captures").json()["captures"][0]["channels"][2]["net"] == "LA"
    for wrong in ({"channel": "PC", "net": "XX"}, {"channel": "XX", "net": "LA"}):
        assert client.post(f"/api/captures/{name}/nets", json=wrong).status_code == 422


@pytest.mark.parametrize(
    "data", [b"", b"\x89PNG\r\n\x1a\n" + bytes(500), b"$timescale 1us $end\n#"]
)
def test_what_cannot_be_read_is_told_and_leaves_nothing(
    client: TestClient, case: Path, data: bytes
) -> None:
    answer = client.post("/api/captures", params={"file": "x.vcd"}, content=data, headers=OCTETS)
    assert answer.status_code == 422
    assert "x.vcd" in answer.json()["error"]["message"]
    assert "upload" not in answer.json()["error"]["message"]
    assert list(case.with_suffix(".captures").iterdir()) == []


@pytest.mark.parametrize(
    "name", ["../../evil.vcd", "..\\evil.vcd", ".vcd", "/etc/evil.vcd", "\0.vcd"]
)
def test_a_name_leads_nowhere_else(client: TestClient, case: Path, name: str) -> None:
    made = kept(client, phases(), name)
    assert (case.with_suffix(".captures") / made / "kept.json").exists()
    assert {one.name for one in case.parent.iterdir()} >= {case.name}
    assert client.get("/api/captures/..%2f..%2fetc/columns").status_code in (400, 404, 422)


def test_questions_of_another_form_are_refused(client: TestClient) -> None:
    name = kept(client, phases())
    for more in ("begin=0&end=1", "begin=1&end=0&count=9", "begin=0&end=1&count=99999",
                 "begin=nan&end=1&count=9"):  # fmt: skip
        assert client.get(f"/api/captures/{name}/columns?{more}&channel=PC").status_code == 400
    unknown = client.get(f"/api/captures/{name}/columns?begin=0&end=1&count=9&channel=XX")
    assert unknown.status_code == 422
    assert client.post("/api/captures", params={"file": "x"}, content=b"x").status_code == 415


PLAYED = "off 20ms, on/off x4 20ms, off 20ms"


def lamp(base: tuple[float, float] = (0.2, 0.7)) -> str:
    """Volts of the lamp switch, 1 ms apart: the lamp's cathode stays up though the base is driven,
    as with an open collector. The exercise begins 10 ms into the record."""
    rows = ["time,BASE,LK"]
    for k in range(140):
        on = 30 <= k < 110 and (k - 30) // 20 % 2 == 0
        rows.append(f"{k * 1e-3:g},{base[on]:g},{4.2:g}")
    return "\n".join(rows) + "\n"


def test_a_capture_is_laid_over_the_good_board_and_a_fault(client: TestClient) -> None:
    name = kept(client, lamp(), "lamp.csv")
    asked = {"played": PLAYED, "fault": "Q1.c joint open"}
    found = client.get(f"/api/captures/{name}/overlay", params=asked)
    assert found.status_code == 200, found.text
    data = found.json()
    assert data["begin"] == pytest.approx(0.010, abs=0.002)
    assert data["end"] == pytest.approx(0.130, abs=0.004)
    lines = {one["channel"]: one for one in data["lines"]}
    assert lines["BASE"]["differs"] < 0.05 < 0.2 < lines["LK"]["differs"]
    assert lines["LK"]["differs_faulty"] < 0.05
    assert len(lines["LK"]["predicted"]) == len(lines["LK"]["faulty"])
    # A saturated 2N2222 is below 0.4 V (its data sheets), an open collector pulls nothing.
    assert min(lines["LK"]["predicted"]) < 0.4 < 3.0 < min(lines["LK"]["faulty"])
    assert data["first_bad"] == ["LK"]
    for wrong in ("", "nowhere 5ms"):
        answer = client.get(f"/api/captures/{name}/overlay", params={"played": wrong})
        assert answer.status_code == 422
    unknown = {"played": PLAYED, "fault": "Q9 open"}
    assert client.get(f"/api/captures/{name}/overlay", params=unknown).status_code == 422


def test_a_capture_is_entered_and_stands_in_the_record(client: TestClient) -> None:
    name = kept(client, lamp(), "lamp.csv")
    done = client.post(f"/api/captures/{name}/enter", json={"played": PLAYED})
    assert done.status_code == 201, done.text
    assert done.json()["first_bad"] == ["LK"]
    assert len(done.json()["entered"]) == 2
    record = client.get("/record").text
    assert "The first bad stage is LK." in record
    number = int(record.partition("/api/findings/")[2].partition(".svg")[0])
    picture = client.get(f"/api/findings/{number}.svg")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert "script" not in picture.headers["content-security-policy"]
    assert picture.text.startswith("<svg")
    assert client.get("/api/findings/1.svg").status_code == 404
    assert client.post(f"/api/captures/{name}/enter", json={"played": "x 1ms"}).status_code == 422


def test_removed_is_gone(client: TestClient, case: Path) -> None:
    name = kept(client, phases())
    assert client.post(f"/api/captures/{name}/remove", json={}).status_code == 200
    assert client.get("/api/captures").json()["captures"] == []
    assert list(case.with_suffix(".captures").iterdir()) == []


def span(page: Page) -> str:
    return page.locator("#window").inner_text()


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_capture_is_looked_at(people: People, tmp_path: Path, width: int, height: int) -> None:
    file = tmp_path / "seek.vcd"
    file.write_text(phases(), encoding="ascii")
    page = people.sits_down(width, height)
    page.goto(people.server.address + "captures")
    expect(page.locator("#said")).to_contain_text("No capture yet")
    page.locator("#file").set_input_files(file)
    expect(page.locator('html[data-shown="seek"]')).to_be_attached()
    expect(page.locator("#window")).to_contain_text("400 ms long")
    assert page.locator("#canvas").evaluate(DRAWN), "something is drawn"
    canvas = page.locator("#canvas")
    canvas.focus()
    page.keyboard.press("+")
    expect(page.locator("#window")).to_contain_text("320 ms long")
    page.keyboard.press("a")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("b")
    expect(page.locator("#measured")).to_contain_text("A to B 32 ms")
    expect(page.locator("#measured")).to_contain_text("BASE 8 edges")
    page.get_by_role("button", name="whole").click()
    expect(page.locator("#window")).to_contain_text("400 ms long")
    for name in NAMES:
        page.get_by_role("checkbox", name=name).check()
    page.get_by_role("button", name="Read as steps").click()
    expect(page.locator("#found table")).to_contain_text(f"{STEPS - 1}")
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_prediction_is_laid_under_it_by_keyboard(
    people: People, tmp_path: Path, width: int, height: int
) -> None:
    file = tmp_path / "lamp.csv"
    file.write_text(lamp(), encoding="ascii")
    page = people.sits_down(width, height)
    page.goto(people.server.address + "captures")
    page.locator("#file").set_input_files(file)
    expect(page.locator('html[data-shown="lamp"]')).to_be_attached()
    page.locator("#played").focus()
    page.keyboard.type(PLAYED)
    page.keyboard.press("Tab")
    page.keyboard.type("Q1.c joint open")
    page.keyboard.press("Enter")
    expect(page.locator("#laid .lead")).to_contain_text("The first bad stage is LK.")
    before = page.locator("#canvas").evaluate(COLOURS)
    page.get_by_role("button", name="LK").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("o")
    expect(page.locator("#window")).not_to_contain_text("140 ms long")
    page.wait_for_function(
        f"before => ({COLOURS})(document.querySelector('#canvas')) < before", arg=before
    )
    page.get_by_role("button", name="Enter as readings").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#laid")).to_contain_text("Entered as 2 readings")
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


COLOURS = """(canvas) => {
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  return new Set(new Uint32Array(data.buffer)).size;
}"""
DRAWN = """(canvas) => {
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  return new Set(new Uint32Array(data.buffer)).size > 5;
}"""


def test_answers_of_lines_recorded_together_need_a_line(client: TestClient) -> None:
    client.post("/api/cases", json={"name": "three", "text": DRIVERS})
    found = client.get("/case/three/api/check", params={"id": "capture U1.2"}).json()
    assert found["lines"]["nets"] == ["OA", "OB", "OC"]
    assert set(found["lines"]["one"] + found["lines"]["two"]) < set(found["answers"])
    alone = client.get("/case/three/api/check", params={"id": "symptom a @a"}).json()
    assert alone["lines"] == {}
    single = client.get("/api/check", params={"id": "capture Q1.b"}).json()
    assert single["lines"] == {}
    assert "stuck on" in single["answers"]
    assert "swapped" not in single["answers"]
    for word in found["lines"]["one"]:
        answer = client.post(
            "/case/three/api/readings", json={"check": "capture U1.2", "text": f"OA {word}"}
        )
        assert answer.status_code == 201, answer.text


@pytest.mark.browser
def test_a_button_asks_which_line(people: People) -> None:
    page = people.sits_down()
    page.evaluate(
        """async () => {
          const page = document.querySelector("script[type=module]").src;
          const { showSuggestions } = await import(new URL("card.js", page));
          const lines = { nets: ["BASE", "LK"], one: ["stuck on"], two: ["swapped"] };
          showSuggestions([{ id: "x", kind: "check", reads: "capture Q1.b", sentence: "Record.",
            places: [], cautions: [], meanings: [], why: "", minutes: 1, setup_minutes: 0,
            unit: "", lines, answers: ["right", "stuck on", "swapped"] }], { sentence: "" });
        }"""
    )
    page.get_by_role("button", name="stuck on").click()
    expect(page.locator("#reading-trouble")).to_contain_text("Tick the line that is stuck on")
    page.get_by_role("checkbox", name="BASE").check()
    page.get_by_role("button", name="swapped").click()
    expect(page.locator("#reading-trouble")).to_contain_text("Tick the two lines")
    with page.expect_request("**/api/readings") as asked:
        page.get_by_role("button", name="stuck on").click()
    assert (asked.value.post_data_json or {})["text"] == "BASE stuck on"


@pytest.mark.browser
def test_a_file_that_is_no_capture_says_why(people: People, tmp_path: Path) -> None:
    file = tmp_path / "holiday.png"
    file.write_bytes(PICTURE)
    page = people.sits_down()
    page.goto(people.server.address + "captures")
    page.locator("#file").set_input_files(file)
    expect(page.locator("#said")).to_contain_text("holiday.png")
    expect(page.locator("#view")).to_be_hidden()
