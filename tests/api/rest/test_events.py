"""Events by REST: read by position, in order."""

import pytest

from inventory import events
from tests.support import build
from tests.support.http import V1, as_role

pytestmark = pytest.mark.django_db


def test_changes_since_a_position_are_read_in_order(city: object) -> None:
    trees = [build.tree(place) for place in range(3)]
    events.stamp()
    late = build.tree(9)  # not stamped yet: nobody reads it too early
    client = as_role("forester")
    page = client.get(f"{V1}/events", {"limit": "4"}).json()
    assert [item["position"] for item in page["items"]] == [1, 2, 3, 4]
    assert page["position"] == 4
    rest = client.get(page["next"]).json()
    assert [item["position"] for item in rest["items"]] == [5, 6]
    assert rest["next"] is None
    added = {item["subject_uid"] for item in page["items"] + rest["items"] if item["kind"] == "tree.added"}
    assert added == {str(tree.uid) for tree in trees}
    events.stamp()
    news = client.get(f"{V1}/events", {"after": str(rest["position"])}).json()
    assert str(late.uid) in {item["subject_uid"] for item in news["items"]}
    nothing = client.get(f"{V1}/events", {"after": str(news["position"])}).json()
    assert nothing == {"items": [], "next": None, "position": news["position"]}
