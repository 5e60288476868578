"""The drawing on the bench page: found, moved, asked, marked; the case of the part beside it."""

import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient
from tests.web.conftest import People


def test_the_case_of_a_part_is_told_with_both_sides(client: TestClient) -> None:
    found = client.get("/api/package", params={"place": "D1.k"}).json()
    assert found["name"] == "LED"
    assert set(found["sides"]) == {"parts side", "solder side"}
    assert found["sides"]["parts side"] != found["sides"]["solder side"]
    for place in ("R1.1", "Q1.b", "TP1", "net BASE", "X9.1", ""):
        assert client.get("/api/package", params={"place": place}).json() == {}, place


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_a_part_is_found_and_says_what_it_should_read(
    people: People, width: int, height: int
) -> None:
    page = people.sits_down(width, height)
    page.keyboard.press("Escape")
    page.keyboard.press("f")
    expect(page.locator("#find")).to_be_focused()
    page.keyboard.type("base")
    page.keyboard.press("Enter")
    net = page.locator('.net[data-net="BASE"]')
    expect(net).to_be_focused()
    expect(net).to_be_in_viewport()
    expect(page.locator("#peek")).to_contain_text("good board")
    before = float(page.locator("#sheet svg").get_attribute("width") or 0)
    page.keyboard.press("+")
    assert float(page.locator("#sheet svg").get_attribute("width") or 0) > before
    page.locator("#find").fill("R77")
    page.locator("#find").press("Enter")
    expect(page.locator("#find-trouble")).to_contain_text("R77")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.browser
def test_what_was_read_is_marked_where_it_was_read(people: People) -> None:
    page = people.sits_down()
    page.locator('.pin[data-place="Q1.b"]').click()
    page.locator("#place-state").select_option("off")
    page.locator("#place-reading").fill("0.05")
    page.locator("#place-reading").press("Enter")
    sign = page.locator('.part[data-part="Q1"] .taken')
    expect(sign).to_have_text("✓")
    page.locator("#place-state").select_option("on")
    page.locator("#place-reading").fill("4.9")
    page.locator("#place-reading").press("Enter")
    expect(sign).to_have_text("✗")
