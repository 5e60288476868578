"""Phone and laptop apart and at once, and the demo from its first step to a closed case."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tests.web.conftest import LONG, People, Server

from halfsplit.bench import DEMO_VARIABLE, Bench

pytestmark = pytest.mark.browser
STEPS = 25


def test_a_phone_without_network_loses_nothing_while_the_laptop_goes_on(people: People) -> None:
    laptop, phone = people.sits_down(), people.sits_down(390, 844)
    phone.locator("#note").fill("half a note")
    phone.context.set_offline(True)
    expect(phone.locator("#link")).to_contain_text("no connection")
    phone.locator("#reading").fill("off")
    phone.keyboard.press("Enter")
    expect(phone.locator("#reading-trouble")).to_contain_text("kept here")
    laptop.keyboard.type("wrong")
    laptop.keyboard.press("Enter")
    people.ready(laptop, 2)
    phone.context.set_offline(False)
    for page in (laptop, phone):
        people.ready(page, 3)
        expect(page.locator("#entry-3")).to_contain_text("off")
    phone.reload()
    people.ready(phone, 3)
    expect(phone.locator("#note")).to_have_value("half a note")
    expect(phone.locator("#reading")).to_have_value("")
    with Bench.open(people.server.case) as bench:
        assert [one.reading.text for one in bench.told.readings] == ["wrong", "off"]


def test_two_who_enter_at_once_are_both_heard_and_see_the_same(people: People) -> None:
    laptop, phone = people.sits_down(), people.sits_down(390, 844)
    laptop.locator("#reading").fill("wrong")
    phone.locator("#note").fill("heat sink was loose")
    phone.locator("#note").press("Enter", no_wait_after=True)
    laptop.locator("#reading").press("Enter", no_wait_after=True)
    for page in (laptop, phone):
        people.ready(page, 3)
    assert laptop.locator("#events").inner_text() == phone.locator("#events").inner_text()
    with Bench.open(people.server.case) as bench:
        kinds = sorted(entry.kind for entry in bench.log())
    assert kinds == ["board", "note", "reading"]


def test_the_demo_leads_from_the_complaint_to_a_closed_case(
    browser: Browser, case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fault = "R2 open"
    with Bench.open(case) as bench:
        bench.complain(fault)
    monkeypatch.setenv(DEMO_VARIABLE, fault)
    monkeypatch.setenv("XDG_DATA_HOME", str(case.parent / "own"))
    server = Server(case)
    people = People(browser, server)
    try:
        page = people.sits_down(390, 844)
        guide = page.locator("#guide-step")
        expect(guide).to_contain_text("1. A fault is hidden")
        seen = set()
        cured = page.get_by_role("button", name="cured", exact=True)
        for _ in range(STEPS):
            event = int(page.locator("html").get_attribute("data-event") or 0)
            seen.add((guide.text_content() or "")[:1])
            if "4" in seen and cured.count():
                break
            page.locator("#ask-demo").click()
            expect(page.locator("#reading")).not_to_have_value("")
            page.locator("#reading").press("Enter")
            people.ready(page, event + 1)
        assert seen >= {"1", "4"}
        expect(page.locator("#next")).to_contain_text("R2")
        cured.click()
        people.ready(page, event + 1)
        expect(guide).to_contain_text("5. It works")
        page.locator("#done").click()
        expect(guide).to_contain_text("6. Now prove it", timeout=LONG)
        for _ in range(STEPS):
            if page.get_by_role("button", name="Close the case", exact=True).count():
                break
            event = int(page.locator("html").get_attribute("data-event") or 0)
            taken_out = (page.locator("#next").get_attribute("data-check") or "")[:4] == "part"
            page.locator("#reading").fill("failed" if taken_out else "right")
            page.locator("#reading").press("Enter")
            people.ready(page, event + 1)
        page.get_by_role("button", name="Close the case", exact=True).click()
        expect(page.locator("#banners")).to_contain_text("This case is closed", timeout=LONG)
        expect(guide).to_contain_text("7. Closed")
        page.get_by_role("link", name="Record").click()
        people.ready(page)
        expect(page.locator(".record")).to_contain_text("What was put right: swap R2; R2.")
        expect(page.locator(".record")).to_contain_text("the repair is proved")
    finally:
        server.kill()
        people.gets_up()
