"""Each page in Chromium, wide and narrow: no console error, no accessibility violation, nothing wider than the screen.

Accessibility: the rules of axe-core for WCAG 2.0, 2.1 and 2.2, levels A and AA, and its best practices.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ConsoleMessage, Page
from pytest_django.live_server_helper import LiveServer

from tests.api.pages.test_near import line
from tests.support import build
from tests.support.pages import Town

pytestmark = pytest.mark.browser

WIDTHS = (1366, 390)
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
EVERYONE = ("/trees", "/trees?stem_from=9&stem_to=1", "/trees/{tree}", "/problems/stale")
ADDRESSES = {
    "": ("/sign-in", *EVERYONE),
    "forester": (
        "/",
        *EVERYONE,
        "/trees/{emergency}",
        "/trees/{felled}",
        "/due",
        "/to-be-seen",
        "/orders",
        "/orders/{order}",
        "/orders/{draft}",
        "/near-works",
        "/calculate",
        "/calculate/stem-load?example",
        "/species-to-settle",
        "/species-to-settle/text?key=unheard+of",
        "/species-to-settle/text?key=unheard+of&find=linden",
        "/loads",
        "/loads/{load}",
        "/decisions",
        "/rate-card",
        "/rate-card/new",
    ),
    "inspector": ("/", "/trees/{tree}", "/due", "/near-works"),
    "public_works": ("/", "/trees/{tree}", "/near-works"),
    "auditor": ("/", "/trees/{tree}", "/orders/{order}", "/loads/{load}"),
    "contractor": ("/", "/orders", "/orders/{order}", "/trees/{tree}"),
}


class Watched:
    """A page of the browser whose console is watched."""

    def __init__(self, page: Page, base: str) -> None:
        self.page = page
        self.base = base
        self.said: list[str] = []
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.said.append(str(error)))

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.said.append(message.text)

    def check(self, where: str, refused: bool = False) -> None:
        """Assert that what is shown is clean; an answer that refuses may tell the console its status."""
        overflow = self.page.evaluate(OVERFLOW)
        assert overflow == 0, f"{where} is {overflow} px wider than the screen"
        # Every part is looked at, folded away or not.
        self.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
        found = Axe().run(self.page).response["violations"]
        told = [(one["id"], [node["target"] for node in one["nodes"]][:3]) for one in found]
        assert not told, f"{where}: {json.dumps(told)}"
        assert self.page.evaluate(OVERFLOW) == 0, f"{where}, unfolded, is wider than the screen"
        said = [text for text in self.said if not (refused and "status of 4" in text)]
        assert not said, f"{where}: {said}"
        self.said.clear()

    def check_at_each_width(self, where: str, refused: bool = False) -> None:
        """The same on a desk and on a phone."""
        for width in WIDTHS:
            self.page.set_viewport_size({"width": width, "height": 844})
            self.check(f"{where} at {width} px", refused)

    def visit(self, address: str) -> None:
        """Go to an address and check it at each width."""
        answer = self.page.goto(self.base + address)
        assert answer is not None
        assert answer.status == 200, address
        self.check_at_each_width(address)


@contextmanager
def window(chromium: Browser, server: LiveServer, width: int = WIDTHS[0]) -> Iterator[Watched]:
    """A fresh window."""
    context = chromium.new_context(viewport={"width": width, "height": 844})
    try:
        yield Watched(context.new_page(), server.url)
    finally:
        context.close()


def sign_in(watched: Watched, email: str) -> None:
    """Sign in as a person would."""
    watched.page.goto(watched.base + "/sign-in")
    watched.page.get_by_label("E-mail address").fill(email)
    watched.page.get_by_label("Password").fill(build.PASSWORD)
    watched.page.get_by_role("main").get_by_role("button", name="Sign in").click()
    watched.page.wait_for_url("**/")


def filled(address: str, place: Town) -> str:
    return address.format(
        tree=place.trees["H1"].uid,
        emergency=place.trees["H3"].uid,
        felled=place.trees["H6"].uid,
        order=place.order.uid,
        draft=place.draft.uid,
        load=place.load,
    )


@pytest.mark.parametrize("role", ADDRESSES)
def test_every_page_is_clean(chromium: Browser, place: Town, live_server: LiveServer, role: str) -> None:
    with window(chromium, live_server) as watched:
        if role:
            sign_in(watched, place.people[role].email)
        for address in ADDRESSES[role]:
            watched.visit(filled(address, place))


def test_a_problem_page_is_clean(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    with window(chromium, live_server) as watched:
        watched.page.goto(live_server.url + "/nowhere")
        watched.check_at_each_width("/nowhere", refused=True)


def test_choosing_trees_and_making_an_order_is_clean(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        page = watched.page
        page.goto(live_server.url + "/due")
        page.get_by_label("Choose H1").check()
        page.get_by_role("button", name="Order work on the chosen trees").click()
        watched.check_at_each_width("a new order")
        page.get_by_role("button", name="Make the draft").click()
        watched.check_at_each_width("a new order, refused", refused=True)
        page.get_by_label("The same action for every tree").select_option("clean_crown")
        page.get_by_role("button", name="Make the draft").click()
        page.wait_for_url("**/orders/*-*")
        watched.check_at_each_width("the order made")


def test_the_answer_near_works_is_clean(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["public_works"].email)
        page = watched.page
        page.goto(live_server.url + "/near-works")
        page.get_by_label("The works as GeoJSON").fill(line(0, 30, 3.0))
        page.get_by_label("Distance from the works").fill("5")
        page.get_by_role("button", name="Find the trees").click()
        page.get_by_role("heading", name="3 trees within").wait_for()
        watched.check_at_each_width("near works, answered")
        with page.expect_download() as download:
            page.get_by_role("button", name="Download CSV").click()
        assert download.value.suggested_filename == "trees-near-works.csv"
        page.get_by_label("The works as GeoJSON").fill("nonsense")
        page.get_by_role("button", name="Find the trees").click()
        page.get_by_text("is not JSON").wait_for()
        watched.check_at_each_width("near works, refused", refused=True)


@pytest.mark.parametrize("kind", ["section", "root-zone", "decay-growth"])
def test_the_answer_of_a_calculation_is_clean(
    chromium: Browser, place: Town, live_server: LiveServer, kind: str
) -> None:
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["inspector"].email)
        page = watched.page
        page.goto(f"{live_server.url}/calculate/{kind}?example")
        page.get_by_role("button", name="Calculate").click()
        page.get_by_role("heading", name="The answer").wait_for()
        watched.check_at_each_width(f"{kind}, answered")
        first = page.locator("form.stack input[inputmode=decimal]").first
        first.fill("-1")
        page.get_by_role("button", name="Calculate").click()
        page.get_by_text("Nothing was computed").wait_for()
        watched.check_at_each_width(f"{kind}, refused", refused=True)


def test_the_whole_work_can_be_done_from_the_keyboard(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    with window(chromium, live_server) as watched:
        page = watched.page
        page.goto(live_server.url + "/trees")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "content"
        page.goto(live_server.url + "/sign-in")
        assert page.evaluate("document.activeElement.name") == "username"
        page.keyboard.type(place.people["contractor"].email)
        page.keyboard.press("Tab")
        page.keyboard.type(build.PASSWORD)
        page.keyboard.press("Enter")
        page.wait_for_url("**/")
        assert page.get_by_text("Orders in work").is_visible()


def test_what_has_the_focus_is_seen_to_have_it(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    with window(chromium, live_server) as watched:
        page = watched.page
        page.goto(live_server.url + "/trees")
        for _ in range(12):
            page.keyboard.press("Tab")
            width = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
            assert width == "3px", page.evaluate("document.activeElement.outerHTML")


def test_an_order_on_paper_shows_the_order_and_no_buttons(
    chromium: Browser, place: Town, live_server: LiveServer
) -> None:
    with window(chromium, live_server, 794) as watched:
        sign_in(watched, place.people["contractor"].email)
        page = watched.page
        page.goto(f"{live_server.url}/orders/{place.order.uid}")
        page.emulate_media(media="print")
        assert page.get_by_text(f"Order {place.order.number}").is_visible()
        assert page.get_by_text("For the contractor: name, date, signature").is_visible()
        assert not page.get_by_role("navigation", name="Main").is_visible()
        assert not page.get_by_text("Report this item").first.is_visible()
