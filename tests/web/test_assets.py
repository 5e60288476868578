"""Scripts and styles: asked for once, and all at once."""

import re

import pytest
from starlette.testclient import TestClient
from tests.web.test_flows import PAGES


@pytest.mark.parametrize("name", PAGES)
def test_a_page_names_every_file_that_it_needs_and_a_browser_keeps_them(
    client: TestClient, name: str
) -> None:
    page = client.get(f"/{name}").text
    named = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page))
    needed = set()
    for address in named:
        answer = client.get(address)
        # RFC 8246: an immutable answer is not asked for again while it is fresh.
        assert "immutable" in answer.headers["cache-control"], address
        if address.endswith(".js"):
            folder = address.rpartition("/")[0]
            imports = re.findall(r'from\s+"\./([^"]+)"', answer.text)
            needed |= {f"{folder}/{imported}" for imported in imports}
    assert len(named) > 4
    assert needed <= named


def test_what_changes_is_asked_for_every_time(client: TestClient) -> None:
    for address in ("/", "/api/state", "/api/choices"):
        assert client.get(address).headers["cache-control"] == "no-cache"
    assert client.get("/static/0123456789ab/base.css").status_code == 404


def test_the_state_comes_with_the_page(client: TestClient) -> None:
    page = client.get("/tools").text
    state = re.search(r'<script type="application/json" id="state">(.*?)</script>', page)
    assert state
    assert '"last_event"' in state[1]
