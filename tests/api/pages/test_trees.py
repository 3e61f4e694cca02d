"""The list of trees and the page of one tree: filters, who sees what, and no query a row."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory import services
from inventory.history import SERVICE, Author
from tests.support import build
from tests.support import inspections as inspecting
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


def tags(client: Client, query: str) -> set[str]:
    page = client.get(f"/trees?{query}")
    assert page.status_code == 200
    return {tree.tag for tree in page.context["page"].rows if tree.tag}


def test_each_filter_narrows_the_list(place: Town) -> None:
    client = visitor(place.people["forester"])
    oak = build.tree(0, 40, tag="OAK", species_id=build.species("Quercus robur", common_en="English oak").pk)
    assert tags(client, "genus=Quercus") == {"OAK"}
    assert tags(client, "species=english+oak") == {"OAK"}
    assert tags(client, "state=stump") == {"H6"}
    assert tags(client, "risk=3") == {"H1"}
    assert "OAK" in tags(client, "risk=0")
    assert tags(client, "stem_from=33.5&stem_to=36.5") == {"H5", "H6"}
    assert tags(client, "text=h1") == {"H1"}
    assert tags(client, f"zone={oak.zone.code if oak.zone else ''}&text=OAK") == {"OAK"}


def test_a_size_class_is_found_by_the_sizes_it_may_have(place: Town) -> None:
    size = services.Size(measured_on=today(), method="size_class", dbh_low_cm=60.0, dbh_high_cm=75.0)
    services.measure(SERVICE, place.trees["H4"], size)
    client = visitor()
    assert tags(client, "stem_from=70") == {"H4"}
    assert tags(client, "stem_from=76") == set()


def test_a_wrong_filter_is_told_at_its_field_and_lists_nothing(place: Town) -> None:
    page = visitor().get("/trees?stem_from=60&stem_to=20")
    assert "must not be below the size before it" in text(page)
    assert not page.context["page"].rows
    assert visitor().get("/trees?after=x").status_code == 400


def test_the_list_goes_on_by_key_without_missing_or_repeating_a_tree() -> None:
    build.municipality()
    wanted = {build.tree(n, 0, tag=f"T{n}").tag for n in range(105)}
    seen: list[str] = []
    after = ""
    while True:
        page = visitor().get(f"/trees?after={after}").context["page"]
        seen += [tree.tag for tree in page.rows]
        if page.after is None:
            break
        after = str(page.after)
    assert len(seen) == len(wanted)
    assert set(seen) == wanted


def test_the_public_sees_what_stands_there_and_nothing_of_people_or_judgement(place: Town) -> None:
    tree = place.trees["H1"]
    page = text(visitor().get(f"/trees/{tree.uid}"))
    assert "Tilia cordata" in page
    for hidden in ("Bus stop", place.people["inspector"].name, "Risk and dates", "History", "Orders", "Inspections"):
        assert hidden not in page
    listed = text(visitor().get("/trees"))
    assert "Risk" not in listed


@pytest.mark.parametrize("role", ["forester", "inspector", "auditor"])
def test_the_municipality_sees_risk_reasons_defects_and_history(place: Town, role: str) -> None:
    page = text(visitor(place.people[role]).get(f"/trees/{place.trees['H1'].uid}"))
    assert 'class="risk risk-3"' in page
    assert "The worst rating is high" in page
    assert "Defects through the years" in page
    assert page.count("Hollow sound") + page.count("hollow sound") >= 2  # one defect, two sightings
    assert "Inspection recorded" in page
    assert place.people["inspector"].name in page


def test_public_works_sees_risk_but_no_history(place: Town) -> None:
    page = text(visitor(place.people["public_works"]).get(f"/trees/{place.trees['H1'].uid}"))
    assert "Risk and dates" in page
    assert 'id="history"' not in page


def test_an_open_emergency_shows_the_number_to_call_first(place: Town) -> None:
    page = text(visitor(place.people["inspector"]).get(f"/trees/{place.trees['H3'].uid}"))
    assert 'href="tel:112"' in page
    assert "Emergency recorded" in page


def test_the_history_tells_who_changed_what_from_what_to_what(place: Town) -> None:
    who = place.people["forester"]
    tree = place.trees["H5"]
    tree.refresh_from_db()
    services.edit_tree(Author(who.pk, "r-7"), tree, {"state": "dead"}, version=tree.version, why="no leaves in June")
    acts = visitor(who).get(f"/trees/{tree.uid}").context["acts"]
    newest = acts[0]
    assert (newest.who, newest.why, newest.request) == (who.name, "no leaves in June", "r-7")
    (change,) = newest.rows[0].changes
    assert (change.label, change.before, change.after) == ("state", "alive", "standing dead")


def test_a_tree_that_is_not_there_is_a_page_for_404() -> None:
    build.municipality()
    answer = visitor().get("/trees/00000000-0000-0000-0000-000000000000")
    assert answer.status_code == 404
    assert "there is no tree" in text(answer).lower()


def queries_of(client: Client, address: str) -> int:
    client.get(address)  # the session, the municipality and the role are read once
    with CaptureQueriesContext(connection) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


def test_the_list_takes_as_many_queries_for_forty_trees_as_for_four() -> None:
    build.municipality()
    client = visitor(build.user("forester"))
    for n in range(4):
        build.tree(n * 5, 0, tag=f"T{n}")
    few = queries_of(client, "/trees")
    for n in range(4, 40):
        build.tree(n * 5, 0, tag=f"T{n}")
    assert queries_of(client, "/trees") == few


def test_a_tree_with_many_inspections_takes_as_many_queries_as_one_with_two() -> None:
    build.municipality()
    client = visitor(build.user("forester"))
    tree = build.tree(tag="T1")
    for years in (1, 2):
        inspecting.inspected(tree, inspecting.rated("low", on=inspecting.TODAY.replace(year=2026 - years)))
    few = queries_of(client, f"/trees/{tree.uid}")
    for years in (3, 4, 5, 6):
        inspecting.inspected(tree, inspecting.rated("moderate", on=inspecting.TODAY.replace(year=2026 - years)))
        build.tree(years * 2.0, 3.0)
    assert queries_of(client, f"/trees/{tree.uid}") == few
