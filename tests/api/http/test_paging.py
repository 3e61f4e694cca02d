"""Keyset paging: no gap and no duplicate while rows change."""

import base64

import pytest

from inventory.history import SERVICE
from inventory.models import Tree
from tests.support import build
from tests.support.http import V1, as_role, caller, problem

pytestmark = pytest.mark.django_db


def test_next_links_are_followed_to_the_end_while_rows_change(city: object) -> None:
    trees = [build.tree(place, dbh_cm=None) for place in range(7)]
    client = as_role("forester")
    answer = client.get(f"{V1}/trees", {"limit": "2", "state": "alive"})
    seen = [item["uid"] for item in answer.json()["items"]]
    with SERVICE.acting("meanwhile"):  # a row already shown goes away, one to come too, and a new one arrives
        Tree.objects.filter(pk=trees[0].pk).delete()
        Tree.objects.filter(pk=trees[4].pk).delete()
    late = build.tree(99, dbh_cm=None)
    while link := answer.json()["next"]:
        assert answer["Link"] == f'<{link}>; rel="next"; type="application/json"'
        assert "state=alive" in link
        answer = client.get(link)
        seen += [item["uid"] for item in answer.json()["items"]]
    assert "Link" not in answer
    assert seen == [str(tree.uid) for tree in [*trees[:4], *trees[5:], late]]


def test_an_empty_list_has_no_next(city: object) -> None:
    assert caller().get(f"{V1}/trees").json() == {"items": [], "next": None}


def test_a_page_that_ends_with_the_last_row_is_the_last(city: object) -> None:
    for place in range(2):
        build.tree(place, dbh_cm=None)
    assert caller().get(f"{V1}/trees", {"limit": "2"}).json()["next"] is None


def test_a_cursor_nested_without_end_is_refused(city: object) -> None:
    cursor = base64.urlsafe_b64encode(b"[" * 3000).decode()
    problem(caller().get(f"{V1}/trees", {"after": cursor}), 400, "invalid")
