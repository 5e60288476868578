"""The pages beside the bench, as people use them: by mouse, keyboard and finger, on both widths."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.store.test_attachments import PNG
from tests.web.conftest import BOARD, LONG, People

from halfsplit.bench import Bench

pytestmark = pytest.mark.browser

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
PAGES = ("", "readings", "photos", "captures", "board", "record", "tools", "cases")


def visit(people: People, page: Page, name: str) -> None:
    page.goto((people.server.root if name == "cases" else people.server.address) + name)
    people.ready(page)


def violations(page: Page) -> list[str]:
    """Rules of WCAG 2.2 A and AA that axe-core finds broken."""
    page.evaluate(AXE)
    found = page.evaluate(
        "axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']})"
    )
    broken = found["violations"]
    return [f"{one['id']}: {node['target']}" for one in broken for node in one["nodes"]]


@pytest.mark.parametrize(("width", "scheme"), [(1280, "dark"), (390, "light")])
def test_no_page_keeps_anybody_out(people: People, width: int, scheme: str) -> None:
    page = people.sits_down(width, 844)
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]  # one of two literals
    with Bench.open(people.server.case) as bench:
        bench.write("volts TP1 @on", "3")
        bench.add_photo(PNG, side="parts side", words="as it came")
    wrong = []
    for name in PAGES:
        visit(people, page, name)
        if name == "readings":
            page.wait_for_selector("#table input")
        page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
        wrong += [f"{name or 'bench'}: {one}" for one in violations(page)]
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert wrong == [], "\n".join(wrong)


def test_readings_are_pasted_from_a_spreadsheet_and_entered_at_once(people: People) -> None:
    laptop, phone = people.sits_down(), people.sits_down(390, 844)
    visit(people, phone, "readings")
    visit(people, laptop, "readings")
    laptop.wait_for_selector("#table input")
    laptop.get_by_text("Paste from a spreadsheet").click()
    laptop.locator("#pasted").fill("net\toff\ton\nBASE\t0,02\t3,9\nTP1\t\t\nLK\tfish\t\nXY\t1\t")
    laptop.get_by_role("button", name="Put into the table").click()
    expect(laptop.locator("#paste-said")).to_contain_text("3 readings put into the table")
    expect(laptop.locator("#paste-said")).to_contain_text("XY")
    laptop.reload()
    laptop.wait_for_selector("#table input")
    box = laptop.locator('[data-check="volts net BASE @on"]')
    expect(box).to_have_value("3.9")
    laptop.get_by_role("button", name="Enter 3 readings").click()
    expect(laptop.locator("#enter-said")).to_contain_text("2 kept. 1 not understood")
    expect(box).to_have_value("")
    expect(laptop.locator('[data-check="volts net LK @off"]')).to_have_value("fish")
    for page in (laptop, phone):
        cell = page.locator('td:has([data-check="volts net BASE @on"])')
        expect(cell).to_contain_text("read: 3.9 V", timeout=LONG)
        expect(cell).to_contain_text("odd")
    with Bench.open(people.server.case) as bench:
        assert [one.reading.value for one in bench.told.readings] == [0.02, 3.9]


def test_a_table_typed_while_the_program_is_gone_is_kept_and_sent(people_alone: People) -> None:
    page = people_alone.sits_down(390, 844)
    visit(people_alone, page, "readings")
    box = page.locator('[data-check="volts net BASE @on"]')
    box.fill("0,7")
    people_alone.server.kill()
    expect(page.locator("#link")).to_have_attribute("data-state", "down", timeout=LONG)
    box.press("Control+Enter")
    expect(page.locator("#enter-said")).to_contain_text("Not sent yet")
    people_alone.server.start()
    expect(page.locator("#enter-said")).to_contain_text("1 kept", timeout=LONG)
    with Bench.open(people_alone.server.case) as bench:
        assert [one.reading.text for one in bench.told.readings] == ["0,7"]


def test_what_waits_for_one_case_never_goes_into_another(people_alone: People) -> None:
    page = people_alone.sits_down()
    people_alone.server.kill()
    expect(page.locator("#link")).to_have_attribute("data-state", "down", timeout=LONG)
    page.keyboard.type("not sure")
    page.keyboard.press("Enter")
    expect(page.locator("#reading-trouble")).to_contain_text("Not sent yet")
    page.goto("about:blank")
    first = people_alone.server.case
    people_alone.server.case = first.with_name("other.hsplit")
    Bench.create(people_alone.server.case, BOARD).close()
    people_alone.server.start()
    visit(people_alone, page, "")
    expect(page.locator("#reading")).to_have_value("")
    expect(page.locator("#link")).to_have_text("up to date")
    with Bench.open(people_alone.server.case) as bench:
        assert bench.told.readings == ()


def test_a_photo_is_taken_marked_and_shows_where(people: People, tmp_path: Path) -> None:
    laptop, phone = people.sits_down(), people.sits_down(390, 844)
    visit(people, phone, "photos")
    file = tmp_path / "board.png"
    file.write_bytes(PNG)
    phone.locator("#file").set_input_files(file)
    expect(phone.locator("#photos img")).to_have_count(1, timeout=LONG)
    phone.locator("#photos img").click()
    phone.locator("#marker-place").fill("Q9")
    phone.keyboard.press("Enter")
    expect(phone.locator("#marker-trouble")).to_contain_text("Q9")
    for part in ("Q1", "R2", "D1", "R1", "R3"):
        phone.locator("#marker-place").fill(part)
        phone.keyboard.press("Enter")
        expect(phone.locator("#photos")).to_contain_text(part, timeout=LONG)
        phone.get_by_role("button", name="mark what is in the middle").click()
    phone.get_by_role("button", name="Cancel").click()
    phone.locator("#point-place").fill("Q1.b")
    phone.keyboard.press("Enter")
    expect(phone.locator("#point-said")).to_contain_text("Q1 is ringed on the parts side")
    people.ready(laptop, 7)
    for _ in range(12):
        if laptop.locator("#where:visible").count():
            break
        laptop.keyboard.press("ArrowDown")
    expect(laptop.locator("#where")).to_contain_text("on the parts side")


def test_a_board_is_mended_in_the_editor(people_alone: People) -> None:
    page = people_alone.sits_down()
    visit(people_alone, page, "board")
    page.wait_for_selector("html[data-checked]", state="attached")
    text = page.locator("#text")
    text.press("Control+End")
    page.keyboard.type("Q2 2N29")
    page.get_by_role("button", name=re.compile("2N2907")).first.click()
    page.keyboard.type("c=GND b=BA")
    expect(page.locator("#offers")).to_contain_text("BASE")
    page.keyboard.press("Alt+1")
    expect(page.locator("#checked")).to_contain_text("to mend", timeout=LONG)
    expect(page.locator("#behind mark.error")).to_have_count(1)
    expect(page.locator("#keep")).to_be_disabled()
    page.keyboard.type(" e=LK")
    expect(page.locator("#checked")).to_contain_text("reads well", timeout=LONG)
    expect(page.locator('#sheet [data-part="Q2"]')).to_have_count(1)
    people_alone.server.kill()
    people_alone.server.start()
    page.reload()
    people_alone.ready(page)
    expect(text).to_have_value(re.compile("Q2 2N2907"))
    expect(page.locator("#keep")).to_be_enabled(timeout=LONG)
    page.locator("#keep").click()
    expect(page.locator("#keep-said")).to_contain_text("the case's board now")
    with Bench.open(people_alone.server.case) as bench:
        assert bench.board.part("Q2") is not None


def test_a_board_is_buzzed_out_with_a_finger(people: People) -> None:
    page = people.sits_down(390, 844)
    visit(people, page, "board")
    page.get_by_text("Buzz it out").click()
    page.locator("#buzz-parts").fill("R8 1k\nR9 2k")
    expect(page.locator("#buzz-question")).to_contain_text("One probe on R8.1", timeout=LONG)
    page.get_by_role("button", name="R9.2").click()
    page.locator("#buzz-net").fill("MID")
    page.get_by_role("button", name="This one beeps").click()
    expect(page.locator("#buzz-count")).to_contain_text("1 sweep, 1 net found, 2 pins to go")
    page.get_by_role("button", name="None beeps").click()
    expect(page.locator("#buzz-count")).to_contain_text("1 pin to go")
    page.get_by_role("button", name="None beeps").click()
    page.get_by_role("button", name="Add to the text").click()
    expect(page.locator("#text")).to_have_value(re.compile(r"R8 1k 1=MID 2=-\nR9 2k 1=- 2=MID"))


def test_what_the_person_cannot_do_is_not_suggested(people: People) -> None:
    page, other = people.sits_down(), people.sits_down(390, 844)
    visit(people, page, "tools")
    page.get_by_label("switched off, part taken out").uncheck()
    expect(page.locator("#limits-said")).to_contain_text("Kept")
    page.get_by_label("Input resistance on volts, MΩ").fill("0,02")
    page.get_by_role("button", name="Use this meter").click()
    expect(page.locator("#meter-said")).to_contain_text("Kept")
    people.ready(other, 3)
    with Bench.open(people.server.case) as bench:
        assert bench.told.limits.without_setups == frozenset({"part out"})
        assert bench.told.meter.input_ohms == pytest.approx(20e3)


def test_a_repair_is_done_and_the_record_says_so(people: People) -> None:
    page = people.sits_down()
    with Bench.open(people.server.case) as bench:
        for check, said in (
            ("symptom lamp lit @on", "wrong"), ("volts Q1.b @on", "0.7"), ("volts D1.a @on", "0"),
            ("volts R2.1 @on", "5"), ("ohms R2.1 : R2.2", "OL"), ("volts R2.2 @on", "0"),
            ("parttest R2", "failed"),
        ):  # fmt: skip
            number = bench.write(check, said)
    people.ready(page, number)
    expect(page.locator("#course path")).not_to_have_count(0)
    page.locator("#done").click()
    people.ready(page, number + 1)
    expect(page.locator("#entry-9")).to_contain_text("repaired: R2")
    page.locator("#why-not-part").fill("R3")
    page.keyboard.press("Enter")
    expect(page.locator("#why-not-answer")).to_contain_text("R3:")
    page.locator("#note").fill("customer rang")
    page.keyboard.press("Enter")
    people.ready(page, number + 2)
    page.get_by_role("link", name="Record").click()
    people.ready(page)
    record = page.locator(".record")
    expect(record).to_contain_text("What was put right: R2.")
    expect(record).to_contain_text("customer rang")
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save as one page").click()
    assert saved.value.suggested_filename == f"{people.server.case.stem}-record.html"


def test_cases_are_begun_duplicated_and_archived(people_alone: People) -> None:
    page = people_alone.sits_down(390, 844)
    visit(people_alone, page, "cases")
    page.get_by_role("button", name="duplicate lamp").click()
    page.locator("#copy-name").fill("twin")
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name=re.compile("twin")).first).to_be_visible()
    page.get_by_role("button", name="archive lamp").click()
    expect(page.locator("#archived-count")).to_have_text("1")
    with page.expect_download() as packed:
        page.get_by_role("link", name="pack into one file: twin").click()
    page.locator("#packed").set_input_files(packed.value.path())
    expect(page.locator("#import-said")).to_contain_text("is there, whole", timeout=LONG)
    page.get_by_role("link", name=re.compile("twin")).first.click()
    people_alone.ready(page)
    expect(page.locator("h1")).to_contain_text("Lamp switch")
    assert "/case/twin/" in page.url
    page.keyboard.type("wrong")
    page.keyboard.press("Enter")
    people_alone.ready(page, 2)
    with Bench.open(people_alone.server.case) as bench:
        assert bench.told.readings == ()
        assert bench.told.board_text == BOARD


def test_words_explain_themselves(people: People) -> None:
    page = people.sits_down(390, 844)
    page.get_by_role("button", name="what does suspect mean?").click()
    expect(page.locator("#word-suspect")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("#word-suspect")).to_be_hidden()


@pytest.mark.slow
def test_twenty_pages_on_one_case_see_the_same(people: People) -> None:
    first = people.sits_down()
    pages = [first, *(first.context.new_page() for _ in range(19))]
    for number, page in enumerate(pages[1:]):
        page.goto(people.server.address + PAGES[number % 6])
    first.keyboard.type("wrong")
    first.keyboard.press("Enter")
    for page in pages:
        people.ready(page, 2)


def test_paths_show_where_the_fault_lies_between(people: People) -> None:
    page = people.sits_down(390, 844)
    with Bench.open(people.server.case) as bench:
        bench.write("volts TP1 @on", "0.68")
        number = bench.write("symptom lamp lit @on", "wrong")
    people.ready(page, number)
    page.get_by_text("Paths and sisters").click()
    expect(page.locator(".step-net.good").first).to_contain_text("✓ BASE")
    assert violations(page) == []
