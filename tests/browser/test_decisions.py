"""From options to a decision and from the felled stem to the calibration, in Chromium, wide and narrow, by keyboard."""

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Browser
from pytest_django.live_server_helper import LiveServer

from assessments import services
from assessments.models import Decision, DissectionCut
from inventory.history import SERVICE
from inventory.services import remove_tree
from tests.browser.test_pages import Watched, sign_in, window
from tests.support import calibrations as make
from tests.support import opened_lime as lime
from tests.support.pages import Town, today

pytestmark = pytest.mark.browser


def test_options_are_proposed_stated_and_decided(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    inspection = lime.inspected(lime.tree(today()), today() - timedelta(days=20))
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        page = watched.page
        page.goto(f"{live_server.url}/inspections/{inspection.uid}/options")
        page.get_by_role("button", name="Propose options").click()
        page.get_by_text("None is chosen").wait_for()
        watched.check_at_each_width("options")
        page.get_by_role("link", name=re.compile(r"State your own figures.*Restrict the target")).click()
        page.get_by_label("Your cost now").fill("900")
        page.get_by_role("button", name="Save").click()
        page.get_by_text("say why own_cost differs").wait_for()
        watched.check_at_each_width("an option, refused", refused=True)
        page.get_by_label("Why your figures or words differ").fill("The fence stands already")
        page.get_by_role("button", name="Save").click()
        page.get_by_role("link", name="Add another option").click()
        watched.check_at_each_width("another option")
        page.go_back()
        watched.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
        page.get_by_role("link", name=re.compile(r"Record a decision.*Restrict the target")).click()
        watched.check_at_each_width("a decision")
        _decide(watched)
        assert Decision.objects.count() == 1
        watched.check_at_each_width("the tree with its decision")


def _decide(watched: Watched) -> None:
    """Fill the form in from the keyboard: refused first, then taken."""
    page = watched.page
    page.get_by_label("Who decided").focus()
    page.keyboard.type("Maren Holt")
    page.keyboard.press("Tab")
    page.keyboard.type("Head of parks")
    page.get_by_label("Why", exact=True).first.fill("It costs least of what helps")
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Record the decision").press("Enter")
    page.get_by_text("say in words what is accepted").wait_for()
    watched.check_at_each_width("a decision, refused", refused=True)
    page.get_by_label("Which risk is accepted").fill("Moderate risk to parked cars")
    page.get_by_label("Holds until").fill(str(today() + timedelta(days=365)))
    page.get_by_role("button", name="Record the decision").press("Enter")
    page.get_by_text("The decision is recorded").wait_for()


def test_a_stem_is_opened_cut_by_cut_and_shown(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    tree = lime.tree(today())
    lime.inspected(tree, today() - timedelta(days=20))
    remove_tree(SERVICE, tree, on=today() - timedelta(days=1), reason="hollow", stump_ground=False)
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["inspector"].email)
        watched.visit("/dissections")
        page = watched.page
        page.get_by_role("link", name=re.compile(rf"Open it.*{tree}")).click()
        watched.check_at_each_width("a dissection")
        page.get_by_role("button", name="Record and go on to the cuts").click()
        for number in range(3):
            page.get_by_label("Diameter over bark").fill(f"{74 - number}")
            page.get_by_label("Cavity (% of the face)").fill(f"{40 - 5 * number}")
            page.keyboard.press("Enter")
            page.get_by_role("heading", name=f"Cut {number + 2}", exact=True).wait_for()
        watched.check_at_each_width("a cut")
        page.get_by_role("main").get_by_role("button", name="Save: it was the last one").click()
        page.get_by_role("alert").or_(page.locator(".wrong")).first.wait_for()
        watched.check_at_each_width("a cut, refused", refused=True)
        page.get_by_role("link", name="To the opened stem").click()
        page.get_by_role("heading", name="Judgement and truth").wait_for()
        watched.check_at_each_width("an opened stem")
    assert DissectionCut.objects.count() == 3


def test_what_was_learnt_is_clean(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    make.opened_row(6)
    make.standing(40)
    services.calibrate()
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        for address in (
            "/calibration",
            "/calibration/outcomes",
            "/calibration/review",
            f"/assessors/{place.people['forester'].pk}/record",
        ):
            watched.visit(address)


def test_a_refused_rate_card_is_clean(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        page = watched.page
        page.goto(f"{live_server.url}/rate-card/new")
        page.get_by_label("Why it is changed").fill("new prices")
        page.get_by_label("Or the card as JSON").fill('{"currency": "EUR"}')
        page.get_by_role("button", name="Adopt the card").click()
        page.get_by_text("Nothing was adopted").wait_for()
        watched.check_at_each_width("a rate card, refused", refused=True)
