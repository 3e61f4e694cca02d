"""The intake in Chromium: a file from its upload to a merge, clean at each width, by keyboard, and without scripts."""

from pathlib import Path
from unittest import mock

import pytest
from playwright.sync_api import Browser, Page
from pytest_django.live_server_helper import LiveServer

from inventory.models import IntakeMapping, Tree
from tests.browser.test_pages import sign_in, window
from tests.support import build
from tests.support.jobs import worked
from tests.support.pages import Town

pytestmark = pytest.mark.browser
SPECIES = ("Tilia cordata", "Acer campestre", "Nothing known of it")
HEALTH = ("gut", "mittel", "schlecht", "Stufe 9")
FILE = "Nummer,Art,Umfang cm,Zustand,lat,lon,xyz\n" + "".join(
    f"K{n},{SPECIES[n % 3]},{60 + n % 50},{HEALTH[n % 4]},{'' if n == 7 else f'{45.01 + n / 9000:.6f}'},"
    f"{-29.49 - n / 8000:.6f},{n % 2}\n"
    for n in range(120)
)
LATER = FILE.replace("K3,Tilia cordata,63", "K3,Tilia cordata,71").replace("K119,", "L119,")


@pytest.fixture(autouse=True)
def _no_broker() -> "object":
    """Jobs are rows; the tests run them themselves."""
    with mock.patch("workers.wake.send"):
        yield


def uploaded(page: Page, base: str, path: Path, content: str) -> None:
    """Upload a file and wait for its survey."""
    path.write_text(content, encoding="utf-8")
    page.goto(f"{base}/loads")
    page.get_by_label("Tree file").set_input_files(path)
    page.get_by_role("button", name="Upload and survey").click()
    follow(page)


def follow(page: Page) -> None:
    """Run the job that the page waits for, and look at what came of it."""
    page.wait_for_url("**/jobs/*")
    assert worked(page.url).state == "done"
    page.goto(page.url)


def test_a_file_goes_from_its_survey_to_a_merge_and_every_page_is_clean(
    chromium: Browser, place: Town, live_server: LiveServer, tmp_path: Path
) -> None:
    build.species("Acer campestre")
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        page = watched.page
        uploaded(page, live_server.url, tmp_path / "trees.csv", FILE)
        watched.check_at_each_width("a survey")
        page.get_by_label("Save as").fill("Street trees")
        page.get_by_role("button", name="Save the mapping").click()
        page.get_by_text("The mapping is saved as Street trees").wait_for()
        page.get_by_role("button", name="Check every row", exact=True).click()
        follow(page)
        watched.check_at_each_width("a check")
        page.get_by_label("Verdict").select_option("refused")
        page.get_by_role("button", name="Show", exact=True).click()
        watched.check_at_each_width("the rows of a check")
        with page.expect_download() as download:
            page.get_by_role("link", name="Download these rows as CSV").click()
        assert "K7" in Path(download.value.path()).read_text()
        page.get_by_role("button", name="Load the accepted rows").click()
        follow(page)
        watched.check_at_each_width("a load")
        assert Tree.objects.filter(external_key__startswith="K").count() == 119
        uploaded(page, live_server.url, tmp_path / "later.csv", LATER)
        page.get_by_role("link", name="Fill in from it").first.click()
        watched.check_at_each_width("a survey filled in from a saved mapping")
        page.get_by_role("button", name="Check every row", exact=True).click()
        follow(page)
        page.get_by_role("button", name="Compare with the inventory").click()
        follow(page)
        watched.check_at_each_width("a comparison")
        page.get_by_role("group", name="Trees not in the file any more").get_by_label("Take the file").check()
        page.get_by_role("button", name="Merge as decided").click()
        follow(page)
        watched.check_at_each_width("a merge")
        assert not Tree.objects.filter(external_key="K119", state="alive").exists()
        page.get_by_role("button", name="Undo this merge").click()
        follow(page)
        page.goto(f"{live_server.url}/loads")
        watched.check_at_each_width("the loads")
        assert Tree.objects.get(external_key="K119").state == "alive"


def test_a_wrong_mapping_is_clean_and_leads_from_the_problem_to_its_field(
    chromium: Browser, place: Town, live_server: LiveServer, tmp_path: Path
) -> None:
    with window(chromium, live_server) as watched:
        sign_in(watched, place.people["forester"].email)
        page = watched.page
        uploaded(page, live_server.url, tmp_path / "trees.csv", FILE)
        column = page.get_by_role("group", name="xyz")
        # The unit is offered where the role has one.
        assert not column.get_by_label("Unit").is_visible()
        column.get_by_label("Taken for").select_option("height")
        assert column.get_by_label("Unit").is_visible()
        page.get_by_role("group", name="Zustand").get_by_label("Taken for").select_option("condition")
        page.get_by_role("button", name="Show with these choices").click()
        watched.check_at_each_width("a survey with the words of a condition")
        page.get_by_role("button", name="Check every row", exact=True).click()
        page.get_by_text("The mapping cannot be used yet").wait_for()
        watched.check_at_each_width("a mapping that is wrong", refused=True)
        page.get_by_role("link", name="xyz").click()
        assert page.url.endswith("#c6")
        assert page.get_by_role("group", name="xyz").get_by_label("Unit").get_attribute("aria-invalid") == "true"


def test_the_mapping_is_corrected_and_checked_from_the_keyboard_without_scripts(
    chromium: Browser, place: Town, live_server: LiveServer, tmp_path: Path
) -> None:
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 1366, "height": 844})
    try:
        page = context.new_page()
        page.goto(live_server.url + "/sign-in")
        page.keyboard.press("Tab")
        page.get_by_label("E-mail address").fill(place.people["forester"].email)
        page.get_by_label("Password").fill(build.PASSWORD)
        page.keyboard.press("Enter")
        page.wait_for_url("**/")
        uploaded(page, live_server.url, tmp_path / "trees.csv", FILE)
        page.get_by_label("Save as").focus()
        page.keyboard.type("By keys")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.get_by_text("The mapping is saved as By keys").wait_for()
        assert IntakeMapping.objects.get().name == "By keys"
        # A key press on a select changes it; Enter in a field is the first button: the check.
        page.get_by_role("group", name="xyz").get_by_label("Taken for").press("R")
        page.get_by_label("Day that the file describes").press("Enter")
        follow(page)
        assert page.get_by_role("heading", name="By reason").is_visible()
    finally:
        context.close()
