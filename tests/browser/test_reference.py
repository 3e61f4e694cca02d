"""The reading page of the interface in Chromium: it shows the document under the strict content policy."""

import pytest
from playwright.sync_api import Browser, expect
from pytest_django.live_server_helper import LiveServer

from api.rest.schema import document

pytestmark = pytest.mark.browser


@pytest.mark.django_db(transaction=True)
def test_the_reading_page_shows_every_operation_without_a_foreign_request(
    chromium: Browser, live_server: LiveServer, city: object
) -> None:
    said: list[str] = []
    asked: list[str] = []
    # The page draws what lies in view; a window as tall as the document has all of it in view.
    page = chromium.new_page(viewport={"width": 1366, "height": 20_000})
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{live_server.url}/api/v1/docs")
    operations = sum(len(methods) for methods in document()["paths"].values())
    expect(page.locator(".opblock")).to_have_count(operations, timeout=30_000)
    page.locator("#operations-trees-trees_add .opblock-summary").click()
    page.wait_for_selector("text=Idempotency-Key")
    page.close()
    assert said == []
    assert [url for url in asked if not url.startswith((live_server.url, "data:"))] == []
