"""The page in a browser, as people use it."""

import pytest
from playwright.sync_api import Page, Route, expect
from tests.web.conftest import BOARD, People
from tests.web.oracle import Oracle

from halfsplit.bench import Bench

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (390, 844)]


def last_event(page: Page) -> int:
    return int(page.locator("html").get_attribute("data-event") or 0)


def type_in(people: People, page: Page, text: str) -> None:
    """Type a reading at the keyboard and wait until the page shows what follows."""
    before = last_event(page)
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    people.ready(page, before + 1)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_case_is_solved_at_the_keyboard(people: People, width: int, height: int) -> None:
    page = people.sits_down(width, height)
    person = Oracle(BOARD, "R2 open")
    expect(page.locator("#reading")).to_be_focused()
    for _ in range(20):
        if page.locator("#verdict").count():
            break
        check = page.locator("#next").get_attribute("data-check") or ""
        type_in(people, page, person.reads(check))
        expect(page.locator("#reading")).to_have_value("")
    verdict = page.locator("#verdict")
    expect(verdict).to_contain_text("R2")
    expect(page.locator("#ranked li").first).to_contain_text("%")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_what_is_not_understood_stays_in_the_box(people: People) -> None:
    page = people.sits_down()
    page.keyboard.type("a fish")
    page.keyboard.press("Enter")
    expect(page.locator("#reading-trouble")).to_contain_text("a fish")
    expect(page.locator("#reading")).to_have_value("a fish")
    expect(page.locator("#reading")).to_be_focused()
    page.keyboard.press("Control+a")
    type_in(people, page, "right")
    expect(page.locator("#reading-trouble")).to_be_empty()


def test_undo_by_key_and_by_button(people: People) -> None:
    page = people.sits_down(390, 844)
    type_in(people, page, "wrong")
    row = page.locator("#entry-2")
    expect(row).to_contain_text("wrong")
    page.keyboard.press("Control+z")
    people.ready(page, 3)
    expect(row).to_have_class("taken")
    row.get_by_role("button", name="bring back entry 2").click()
    people.ready(page, 4)
    expect(row).not_to_have_class("taken")
    page.keyboard.press("Escape")
    page.keyboard.press("u")
    people.ready(page, 5)
    expect(row).to_have_class("taken")


def test_keys_outside_the_box(people: People) -> None:
    page = people.sits_down()
    first = page.locator("#sentence").inner_text()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#sentence")).not_to_have_text(first)
    page.keyboard.press("ArrowUp")
    expect(page.locator("#sentence")).to_have_text(first)
    page.keyboard.press("Escape")
    page.keyboard.press("n")
    expect(page.locator("#next-count")).to_contain_text("2 of")
    page.keyboard.press("/")
    expect(page.locator("#reading")).to_be_focused()
    page.keyboard.type("nu/o")
    expect(page.locator("#reading")).to_have_value("nu/o")


def test_two_persons_see_each_other(people: People) -> None:
    laptop, phone = people.sits_down(), people.sits_down(390, 844)
    phone.get_by_role("heading", name="What the outputs do").click()
    laptop.get_by_role("heading", name="What the outputs do").click()
    phone.get_by_role("group", name="state", exact=True).get_by_role("button", name="on").click()
    phone.get_by_role("button", name="lamp lit in state on: wrong").click()
    for page in (laptop, phone):
        people.ready(page, 2)
        expect(page.locator("#entry-2")).to_contain_text("lamp lit @on: wrong")
        pressed = page.get_by_role("button", name="lamp lit in state on: wrong")
        expect(pressed).to_have_attribute("aria-pressed", "true")


def test_a_check_being_answered_stays_when_another_person_moves_on(people: People) -> None:
    laptop, phone = people.sits_down(), people.sits_down(390, 844)
    sentence = laptop.locator("#sentence").inner_text()
    laptop.keyboard.type("wro")
    asked = phone.locator("#sentence").inner_text()
    assert asked == sentence
    type_in(people, phone, "wrong")
    people.ready(laptop, 2)
    expect(laptop.locator("#sentence")).to_have_text(sentence)
    expect(laptop.locator("#reading")).to_have_value("wro")
    expect(laptop.locator("#pinned")).to_be_visible()


def test_an_outage_loses_nothing(people_alone: People) -> None:
    page = people_alone.sits_down()
    type_in(people_alone, page, "wrong")
    people_alone.server.kill()
    expect(page.locator("#link")).to_have_attribute("data-state", "down")
    page.keyboard.type("not sure")
    page.keyboard.press("Enter")
    expect(page.locator("#reading-trouble")).to_contain_text("Not sent yet")
    expect(page.locator("#reading")).to_have_value("not sure")
    people_alone.server.start()
    people_alone.ready(page, 3)
    expect(page.locator("#reading")).to_have_value("")
    expect(page.locator("#entry-2")).to_contain_text("wrong")
    expect(page.locator("#entry-3")).to_contain_text("could not tell")
    with Bench.open(people_alone.server.case) as bench:
        assert [one.reading.text for one in bench.told.readings] == ["wrong", "not sure"]


def test_typed_text_survives_a_restart_and_a_reload(people_alone: People) -> None:
    page = people_alone.sits_down()
    page.keyboard.type("0.6")
    people_alone.server.kill()
    expect(page.locator("#link")).to_have_attribute("data-state", "down")
    people_alone.server.start()
    expect(page.locator("#link")).not_to_have_attribute("data-state", "down")
    expect(page.locator("#reading")).to_have_value("0.6")
    page.reload()
    people_alone.ready(page)
    expect(page.locator("#reading")).to_have_value("0.6")


def test_a_reading_whose_answer_was_lost_is_not_entered_twice(people: People) -> None:
    page = people.sits_down()
    lost = []

    def lose(route: Route) -> None:
        route.fetch()
        lost.append(route.request.post_data)
        route.abort()

    page.route("**/api/readings", lose, times=1)
    page.keyboard.type("wrong")
    page.keyboard.press("Enter")
    people.ready(page, 2)
    expect(page.locator("#reading")).to_have_value("")
    assert len(lost) == 1
    with Bench.open(people.server.case) as bench:
        assert [one.reading.text for one in bench.told.readings] == ["wrong"]


def test_what_waited_is_sent_by_the_page_loaded_anew(people_alone: People) -> None:
    page = people_alone.sits_down()
    people_alone.server.kill()
    expect(page.locator("#link")).to_have_attribute("data-state", "down")
    page.keyboard.type("not sure")
    page.keyboard.press("Enter")
    expect(page.locator("#reading-trouble")).to_contain_text("Not sent yet")
    page.goto("about:blank")
    people_alone.server.start()
    page.goto(people_alone.server.address)
    people_alone.ready(page, 2)
    expect(page.locator("#reading")).to_have_value("")
    with Bench.open(people_alone.server.case) as bench:
        assert [one.reading.text for one in bench.told.readings] == ["not sure"]


def test_the_questionnaire_takes_back_what_is_pressed_twice(people: People) -> None:
    page = people.sits_down()
    page.get_by_role("heading", name="What the outputs do").click()
    works = page.get_by_role("button", name="base driven in state off: works")
    works.click()
    people.ready(page, 2)
    expect(page.locator("#outputs-count")).to_have_text("1 of 4 told")
    works.click()
    people.ready(page, 3)
    expect(works).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#outputs-count")).to_have_text("0 of 4 told")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_all_outputs_of_one_state_are_told_at_once(people: People, width: int, height: int) -> None:
    page = people.sits_down(width, height)
    check = page.locator("#next").get_attribute("data-check") or ""
    state = check.partition(" @")[2]
    rows = page.locator("#together-rows [role=radiogroup]")
    expect(rows).to_have_count(2)
    send = page.locator("#together-send")
    send.click()
    expect(page.locator("#together-said")).to_contain_text("at least one")
    if width > 1000:
        rows.first.get_by_role("radio", name="works").focus()
        page.keyboard.press("w")
        page.keyboard.press("r")
        expect(send).to_be_focused()
    else:
        rows.first.get_by_text("wrong").click()
        page.get_by_role("button", name="the rest works").click()
    expect(send).to_have_text("Enter 2 answers")
    page.reload()
    people.ready(page)
    expect(rows.first.get_by_role("radio", name="wrong")).to_be_checked()
    send.focus()
    page.keyboard.press("Enter")
    people.ready(page, 3)
    expect(page.locator("#together-rows")).to_be_hidden()
    with Bench.open(people.server.case) as bench:
        told = {one.check.places[0]: one for one in bench.told.readings}
        assert {name: one.reading.word for name, one in told.items()} == {
            "lamp lit": "wrong", "base driven": "right",
        }  # fmt: skip
        assert {one.check.state for one in told.values()} == {state}


def test_something_else_measured(people: People) -> None:
    page = people.sits_down(390, 844)
    page.keyboard.press("Escape")
    page.keyboard.press("o")
    page.locator("#free-kind").select_option("ohms")
    page.locator("#free-place").fill("R2.1")
    page.locator("#free-black").fill("R2.9")
    page.locator("#free-reading").fill("OL")
    page.locator("#free-reading").press("Enter")
    expect(page.locator("#free-trouble")).to_contain_text("R2.")
    page.locator("#free-black").fill("R2.2")
    page.locator("#free-reading").press("Enter")
    people.ready(page, 2)
    expect(page.locator("#entry-2")).to_contain_text("ohms R2.1 : R2.2: OL")
    expect(page.locator("#ranked li").first).to_contain_text("R2")


def test_a_place_on_the_drawing_says_what_it_should_read(people: People) -> None:
    page = people.sits_down()
    page.locator('.part[data-part="Q1"] .key').focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Q1.b", exact=True).click()
    page.locator("#place-state").select_option("on")
    expect(page.locator("#place-title")).to_have_text("Q1.b, net BASE")
    expect(page.locator("#place-expected")).to_contain_text("Good board: 0.")
    page.locator("#place-reading").fill("0.65")
    page.locator("#place-reading").press("Enter")
    people.ready(page, 2)
    expect(page.locator("#entry-2")).to_contain_text("volts Q1.b @on: 0.65 V")


def test_the_next_place_is_marked_on_the_drawing(people: People) -> None:
    page = people.sits_down()
    type_in(people, page, "wrong")
    for _ in range(12):
        check = page.locator("#next").get_attribute("data-check") or ""
        if check.startswith("volts "):
            break
        page.keyboard.press("ArrowDown")
    place = check.removeprefix("volts ").partition(" @")[0]
    marked = page.locator(f'.drawing .next[data-place="{place}"]')
    expect(marked.first).to_be_visible()
    labels = page.locator(f'.drawing .rail[data-place="{place}"]').count()
    expect(marked).to_have_count(labels or 1)  # a rail at each of its labels


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_what_is_behind_it(people: People, scheme: str) -> None:
    # WCAG 2.2, 1.4.3 (AA): 4.5 to 1 for text; relative luminance as defined there.
    page = people.sits_down()
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]  # one of two literals
    type_in(people, page, "wrong")
    page.locator("#keys summary").click()
    low = page.evaluate(CONTRAST)
    assert low == []


CONTRAST = """() => {
  const parse = (text) => {
    const [r, g, b, a = 1] = text.match(/[\\d.]+/g).map(Number);
    return { r, g, b, a };
  };
  const light = ({ r, g, b }) => {
    const [x, y, z] = [r, g, b].map((v) => v / 255)
      .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const behind = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = parse(getComputedStyle(at).backgroundColor);
      if (colour.a === 1) return colour;
    }
    return { r: 255, g: 255, b: 255 };
  };
  const low = [];
  for (const element of document.querySelectorAll("body *:not(svg *)")) {
    const own = [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (!own || !element.checkVisibility()) continue;
    const [a, b] = [light(parse(getComputedStyle(element).color)), light(behind(element))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) low.push(`${element.textContent.trim().slice(0, 30)}: ${ratio.toFixed(2)}`);
  }
  return low;
}"""
