"""The pages of storms and failures: recorded on a form, refused at the field, shown with the tree."""

import uuid
from datetime import timedelta
from typing import Any

import pytest

from assessments.models import Failure, RequiredCheck, Storm
from tests.support import build
from tests.support import opened_lime as lime
from tests.support import storms as make
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


def storm(**fields: Any) -> dict[str, Any]:
    day = str(today() - timedelta(days=3))
    return {"uid": str(uuid.uuid4()), "name": "Gale Ada", "began_on": day, "ended_on": day} | fields


def failure(**fields: Any) -> dict[str, Any]:
    day = str(today() - timedelta(days=3))
    told = {"uid": str(uuid.uuid4()), "part": "limb", "happened_from": day, "struck": "vehicles", "damage": "minor"}
    return told | {"seen_by": "street crew"} | fields


def test_a_forester_records_a_storm_once_and_asks_for_trees_only_where_ticked(place: Town) -> None:
    build.zone("ZZ")
    lime.inspected(lime.tree(today()), today() - timedelta(days=30))
    client = visitor(place.people["forester"])
    sent = storm(gust_m_s="27.5", gust_source="harbour mast", gusts="ZZ 31,5")
    for _ in range(2):
        assert client.post("/storms", sent).status_code == 302
    page = text(client.get("/storms"))
    assert "Gale Ada" in page
    assert "ZZ 31.5 m/s" in page
    assert not RequiredCheck.objects.filter(kind="storm").exists()
    asked = storm(name="Gale Bea", ask="on", due_on=str(today() + timedelta(days=7)), least_risk="moderate")
    answer = client.post("/storms", asked, follow=True)
    assert "asked to be seen" in text(answer)
    assert RequiredCheck.objects.filter(kind="storm").exists()
    assert Storm.objects.count() == 2


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"gusts": "nonsense"}, "is no code and gust: nonsense"),
        ({"gusts": "Nowhere 30", "gust_source": "mast"}, "there is no such zone"),
        ({"gust_m_s": "30"}, "say where the gusts are from"),
        ({"ask": "on"}, "say by when they must be seen"),
        ({"ask": "on", "due_on": "2001-01-01", "least_risk": "high"}, "lies before the storm"),
    ],
)
def test_a_wrong_storm_is_told_at_its_field_and_nothing_is_recorded(
    place: Town, fields: dict[str, Any], said: str
) -> None:
    answer = visitor(place.people["forester"]).post("/storms", storm(**fields))
    assert answer.status_code == 400
    assert said in text(answer)
    assert not Storm.objects.exists()


def test_who_may_not_record_a_storm_sees_the_list_without_the_form(place: Town) -> None:
    client = visitor(place.people["inspector"])
    assert "Record the storm" not in text(client.get("/storms"))
    assert client.post("/storms", storm()).status_code == 403
    assert visitor(place.people["contractor"]).get("/storms").status_code == 403


def test_a_failure_is_recorded_and_shown_with_its_tree(place: Town) -> None:
    tree = lime.tree(today())
    look = lime.inspected(tree, today() - timedelta(days=30))
    blew = make.storm(today() - timedelta(days=3), name="Gale Ada")
    client = visitor(place.people["inspector"])
    page = text(client.get(f"/trees/{tree.uid}/failures/new"))
    assert "Gale Ada" in page
    found = look.findings.get(kind="cavity")
    sent = failure(storm=str(blew.uid), finding=str(found.uid))
    for _ in range(2):
        assert client.post(f"/trees/{tree.uid}/failures/new", sent).status_code == 302
    (made,) = Failure.objects.all()
    assert (made.storm, made.finding, made.happened_to) == (blew, found, made.happened_from)
    shown = text(client.get(f"/trees/{tree.uid}"))
    assert "It struck: vehicles, minor. Seen by street crew." in shown
    assert "Record a failure" in shown
    assert "Record a failure" not in text(visitor(place.people["auditor"]).get(f"/trees/{tree.uid}"))


def test_a_wrong_failure_is_told_at_its_field(place: Town) -> None:
    tree = lime.tree(today())
    client = visitor(place.people["inspector"])
    late = failure(happened_to=str(today() + timedelta(days=3)))
    answer = client.post(f"/trees/{tree.uid}/failures/new", late)
    assert answer.status_code == 400
    assert "lies in the future" in text(answer)
    assert "it struck nothing" in text(client.post(f"/trees/{tree.uid}/failures/new", failure(struck="nothing")))
    assert not Failure.objects.exists()
