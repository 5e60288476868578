"""The repair record: what it says, and that nothing typed into a case can act in it."""

import base64
import hashlib
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from tests.store.test_attachments import PNG

from halfsplit.bench import Bench
from halfsplit.checks.kind import Reading
from halfsplit.report import html
from halfsplit.report.pdf import pdf
from halfsplit.report.wording import reading_words, state_by_state

BOARD = """\
board "Divider <i>" rev A
note Taken from a shed.
rail +5 5V
R1 10k +5 MID
R2 10k MID GND
testpoint TP1 MID
state on
output "middle" volts MID above 2V
"""
NASTY = '<script>alert(1)</script><img src="http://example.org/x">#read("/etc/passwd")'


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with Bench.create(tmp_path / "shed.hsplit", BOARD) as made:
        yield made


def test_an_owner_reads_what_was_wrong_and_what_was_done(bench: Bench) -> None:
    # Voltage divider of two equal resistors: half of 5 V at its middle; with R2 open all of it.
    bench.write("symptom middle @on", "right")
    bench.write("volts TP1 @on", "5.0")
    bench.write("volts R1.1 @on", "5.0")
    record = bench.record()
    assert [line.odd for line in record.readings] == [False, True, False]
    assert record.readings[1].expected.startswith("2.")
    assert "2 measurements were taken, 1 of them not as on a good board." in record.short
    assert record.reasons[0].suspect == "R2"
    assert any("volts TP1" in sentence for sentence in record.reasons[0].why)
    assert not record.repairs
    bench.write("swap R2", "cured")
    record = bench.record()
    assert "What was put right: swap R2." in record.short
    assert record.proof == ""


def test_a_repair_is_proved_by_the_acceptance_run_alone(bench: Bench) -> None:
    bench.write("volts TP1 @on", "5.0")
    bench.repaired("R2")
    record = bench.record()
    assert [line.asked for line in record.repairs] == ["Repaired: R2"]
    assert record.missing
    assert record.short[-1] == "The acceptance run is not complete: the repair is not proved yet."
    for check in needed(bench):
        bench.write(
            check,
            {"symptom": "right", "soak": "steady", "passes": "299"}.get(check.split()[0], "failed"),
        )
    record = bench.record()
    assert record.missing == ()
    assert record.short[-1] == "The acceptance run is complete: the repair is proved."


def needed(bench: Bench) -> tuple[str, ...]:
    run = bench.acceptance()
    assert run is not None
    return run.checks


def test_the_course_of_belief_adds_up(bench: Bench) -> None:
    bench.write("volts TP1 @on", "5.0")
    record = bench.record()
    assert len(record.course) == 2
    for row in record.course:
        assert 0.0 <= sum(row) <= 1.0 + 1e-9
    # Bayes: what the last row says is what the bench says now.
    now = {one.id: one.probability for one in bench.suspects()}
    assert record.course[-1] == pytest.approx([now[name] for name in record.leaders])


def test_what_was_taken_back_is_not_in_it(bench: Bench) -> None:
    bench.write("volts TP1 @on", "5.0")
    bench.take_back()
    assert bench.record().readings == ()


class Tags(HTMLParser):
    """Names of tags, and what attributes point to."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.targets: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.targets += [value or "" for name, value in attrs if name in ("src", "href")]


def test_the_page_needs_nothing_else_and_nothing_typed_acts_in_it(bench: Bench) -> None:
    bench.note(NASTY)
    number = bench.add_photo(PNG, side="solder side", words=NASTY)
    bench.mark_photo(number, "R2", 0.25, 0.5)
    page = html.whole(bench.record(), bench.attachment)
    tags = Tags(page)
    assert not tags.names & {"script", "link", "iframe", "object", "i"}
    drawn, photo = tags.targets
    assert drawn.startswith("data:image/svg+xml;base64,")
    assert photo.startswith("data:image/png;base64,")
    assert hashlib.sha256(base64.b64decode(photo.partition(",")[2])).hexdigest() in {
        one.sha256 for one in bench.photos()
    }
    assert 'cx="25.0%"' in page
    # W3C CSP level 3, 6.7.3.3: the hash is of the text between the tags of the style element.
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in page
    assert "default-src 'none'" in page


def test_the_pdf_takes_text_as_text(bench: Bench) -> None:
    bench.note(NASTY)
    bench.write("volts TP1 @on", "5.0")
    number = bench.add_photo(PNG, side="parts side")
    bench.mark_photo(number, "R1", 1.0, 0.0)
    made = pdf(bench.record(), bench.attachment)
    # ISO 32000-1, 7.5.2 and 7.5.5: the header and the end of the file.
    assert made.startswith(b"%PDF-1.")
    assert made.rstrip().endswith(b"%%EOF")


def test_markers_name_what_is_on_the_board(bench: Bench) -> None:
    number = bench.add_photo(PNG, side="parts side")
    with pytest.raises(Exception, match="R9"):
        bench.mark_photo(number, "R9", 0.5, 0.5)
    with pytest.raises(Exception, match="a spot on the photo"):
        bench.mark_photo(number, "R1", 1.5, 0.5)
    with pytest.raises(Exception, match="number of a photo"):
        bench.mark_photo(1, "R1", 0.5, 0.5)
    first = bench.mark_photo(number, "R1", 0.1, 0.1)
    bench.mark_photo(number, "R1", 0.2, 0.2)
    (photo,) = bench.photos()
    assert [(m.place, m.x) for m in photo.markers] == [("R1", 0.2)]
    bench.take_back_after(first)
    (photo,) = bench.photos()
    assert [(m.place, m.x) for m in photo.markers] == [("R1", 0.1)]


def test_a_repair_carries_its_reasons_its_power_up_and_its_claim(bench: Bench) -> None:
    assert bench.record().changed == ()
    assert bench.record().power_up == ()
    bench.write("volts TP1 @on", "5.0")
    bench.repaired("R2")
    record = bench.record()
    assert any(line.startswith("R2: dissipation") for line in record.changed)
    assert any("what serves in its place" in line for line in record.changed)
    assert record.reasons[0].suspect == "R2"
    assert "minutes to a proven repair" in record.weighed[0]
    assert any("current limit" in line for line in record.power_up)
    shown = html.body(record, lambda photo: "")
    assert "Power-up after the repair" in shown
    for check in needed(bench):
        if check.startswith("passes"):
            bench.write(check, "299")
    assert "299 of 299 passes right" in bench.record().proof


def test_the_board_is_drawn_in_the_record(bench: Bench) -> None:
    # SVG 2: an image is one XML document whose root is svg in this name space.
    page = html.whole(bench.record(), bench.attachment)
    (coded,) = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', page)
    root = ElementTree.fromstring(base64.b64decode(coded))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    parts = {one.get("data-part") for one in root.iter()}
    assert parts == {None, "R1", "R2"}
    assert [one.tag for one in root.iter() if one.tag.endswith("}style")] != []
    assert "board" not in bench.record().to_json()


def test_what_was_seen_after_the_repair_is_told_once(bench: Bench) -> None:
    bench.write("symptom middle @on", "wrong")
    bench.repaired("R2")
    bench.write("symptom middle @on", "right")
    record = bench.record()
    assert [line.read for line in record.complaint] == ["wrong"]
    assert len(record.symptoms) == 2
    page = html.whole(record, bench.attachment)
    assert "1 more was seen after the first repair" in page
    assert record.acceptance == ("middle: seen right in on",)
    assert not any("halfsplit " in one for one in record.weighed), "nothing to type in a record"
    bench.write("symptom middle @on", "wrong")
    assert [line.read for line in bench.record().complaint] == ["wrong", "wrong"]


def test_states_of_one_output_share_a_line() -> None:
    told = (
        "lamp lit in rest: seen right", "motor in rest: seen right",
        "lamp lit in home: seen right", "lamp lit in off: seen right", "R7: tested",
    )  # fmt: skip
    assert state_by_state(told) == (
        "lamp lit: seen right in rest, home and off", "motor: seen right in rest", "R7: tested",
    )  # fmt: skip


def test_volts_are_told_in_volts_until_they_are_millivolts() -> None:
    told = {0.68: "0.68 V", 0.02: "0.02 V", 0.00625: "6.25 mV", -0.003: "-3 mV", 0.0: "0 V"}
    for volts, words in told.items():
        assert reading_words(Reading(text="", value=volts), "V") == words
