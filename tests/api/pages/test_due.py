"""The start page, the due list and the queue of trees to be seen."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.support import build
from tests.support import inspections as inspecting
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


def listed(client: Client, address: str) -> list[str]:
    page = client.get(address)
    assert page.status_code == 200
    return [item.tag for item in page.context["items"]]


def test_the_due_list_puts_the_worst_class_first_and_leaves_the_unrated_out(place: Town) -> None:
    assert listed(visitor(place.people["inspector"]), "/due") == ["H3", "H1", "H2"]


def test_the_due_list_is_narrowed_by_kind_zone_risk_and_date(place: Town) -> None:
    client = visitor(place.people["auditor"])
    assert listed(client, "/due?risk=high") == ["H1"]
    assert listed(client, "/due?zone=N") == ["H3", "H1", "H2"]
    assert "H2" not in listed(client, "/due?kind=act")
    long_ago = (today() - timedelta(days=5000)).isoformat()
    assert listed(client, f"/due?before={long_ago}") == []


def test_a_wrong_date_or_cursor_is_told(place: Town) -> None:
    client = visitor(place.people["auditor"])
    assert "Enter a valid date" in text(client.get("/due?before=soon"))
    assert client.get("/due?after=nonsense").status_code == 400
    assert client.get("/to-be-seen?after=nonsense").status_code == 400


def test_trees_never_rated_wait_to_be_seen_and_are_not_called_low(place: Town) -> None:
    page = visitor(place.people["inspector"]).get("/to-be-seen")
    waiting = {item.tag: item.risk for item in page.context["items"]}
    assert waiting["H5"] == ""
    assert "H6" not in waiting  # felled
    assert "Not rated" in text(page)


def test_only_who_makes_orders_may_choose_trees(place: Town) -> None:
    assert 'name="tree"' in text(visitor(place.people["forester"]).get("/due"))
    assert 'name="tree"' not in text(visitor(place.people["inspector"]).get("/due"))


@pytest.mark.parametrize(
    ("role", "shown", "hidden"),
    [
        ("forester", ["Open emergencies", "Trees to be seen", "Open orders", "Items to verify"], []),
        ("inspector", ["Open emergencies", "Inspections overdue", "Items to verify"], ["Orders to accept"]),
        ("contractor", ["Orders to accept", "Orders in work"], ["Open emergencies", "First in line"]),
    ],
)
def test_the_start_page_shows_what_waits_for_the_role(
    place: Town, role: str, shown: list[str], hidden: list[str]
) -> None:
    page = text(visitor(place.people[role]).get("/"))
    assert all(words in page for words in shown)
    assert not any(words in page for words in hidden)


def test_the_figures_of_the_start_page_are_those_of_the_lists(place: Town) -> None:
    client = visitor(place.people["forester"])
    tallies = {one.label: one for one in client.get("/").context["tallies"]}
    for label in ("Work overdue", "Inspections overdue", "Trees to be seen"):
        one = tallies[label]
        items = listed(client, f"{'/to-be-seen' if one.address == 'unseen' else '/due'}?{one.query}")
        assert len(items) == one.number, label
    assert tallies["Items to verify"].number == 1


def test_the_due_list_takes_as_many_queries_for_many_trees_as_for_few() -> None:
    build.municipality()
    client = visitor(build.user("forester"))

    def add(first: int, last: int) -> None:
        for n in range(first, last):
            inspecting.inspected(build.tree(n * 5.0, 0), inspecting.rated("moderate"))

    def asked() -> int:
        client.get("/due")
        with CaptureQueriesContext(connection) as caught:
            client.get("/due")
        return len(caught)

    add(0, 3)
    few = asked()
    add(3, 20)
    assert asked() == few
