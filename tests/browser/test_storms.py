"""Storms, a failure and what became of rated trees in Chromium, wide and narrow."""

from datetime import timedelta

import pytest
from playwright.sync_api import Browser
from pytest_django.live_server_helper import LiveServer

from assessments.models import Failure, Storm
from tests.browser.test_pages import sign_in, window
from tests.support import build
from tests.support import opened_lime as lime
from tests.support.pages import Town, today

pytestmark = pytest.mark.browser


def test_a_storm_and_a_failure_are_recorded(chromium: Browser, place: Town, live_server: LiveServer) -> None:
    build.zone("ZZ")
    tree = lime.tree(today())
    lime.inspected(tree, today() - timedelta(days=20))
    day = str(today() - timedelta(days=3))
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        page = watched.page
        page.goto(f"{live_server.url}/storms")
        page.get_by_label("Name").fill("Gale Ada")
        page.get_by_label("Began on").fill(day)
        page.get_by_label("Ended on").fill(day)
        page.get_by_label("Largest gust in the city").fill("27.5")
        page.get_by_role("button", name="Record the storm").click()
        page.get_by_text("say where the gusts are from").wait_for()
        watched.check_at_each_width("a storm, refused", refused=True)
        page.get_by_label("Where the gusts are from").fill("harbour mast")
        page.get_by_label("Gusts by zone").fill("ZZ 31")
        page.get_by_role("button", name="Record the storm").click()
        page.get_by_text("The storm Gale Ada is recorded").wait_for()
        watched.check_at_each_width("storms")
        page.goto(f"{live_server.url}/trees/{tree.uid}/failures/new")
        page.get_by_label("What failed").select_option("stem")
        page.get_by_label("On, or not before").fill(day)
        page.get_by_label("In which storm").select_option(label=f"Gale Ada, {day}")
        page.get_by_label("What it struck").select_option("vehicles")
        page.get_by_label("How badly").select_option("significant")
        page.get_by_label("Who saw it").fill("street crew")
        watched.check_at_each_width("a failure")
        page.get_by_role("button", name="Record the failure").click()
        page.get_by_text("The failure is recorded").wait_for()
        watched.check_at_each_width("the tree with its failure")
        page.goto(f"{live_server.url}/calibration/outcomes")
        watched.check_at_each_width("outcomes")
    assert (Storm.objects.count(), Failure.objects.count()) == (1, 1)
