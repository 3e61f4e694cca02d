"""Orders through HTTP, from the draft to the last verdict, with the contractor's own token."""

import csv
import io
import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from assessments.works import states
from assessments.works.models import ItemReport, WorkOrder
from inventory import calendar
from inventory.history import SERVICE
from inventory.models import Event, Site, Tree
from inventory.people import roles
from tests.support import build, orders
from tests.support.http import V1, as_role, caller, key, pointers, problem

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


@pytest.fixture
def desk() -> APIClient:
    return as_role("forester")


@pytest.fixture
def crew() -> orders.Crew:
    return orders.crew()


@pytest.fixture
def phone(crew: orders.Crew) -> APIClient:
    return caller(crew.user)


def due_on() -> str:
    return (calendar.today() + timedelta(days=20)).isoformat()


def body(*trees: Tree, action: str = "remove", **fields: Any) -> dict[str, Any]:
    return {"due_on": due_on(), "items": [{"tree": str(tree.uid), "action": action} for tree in trees]} | fields


def post(client: APIClient, path: str, content: Any, match: str | None = None, **headers: str) -> HttpResponse:
    headers |= {"If-Match": match} if match else {}
    answer: HttpResponse = client.post(f"{V1}/{path}", content, format="json", headers=headers)
    return answer


def made(desk: APIClient, *trees: Tree, crew: orders.Crew | None = None, **fields: Any) -> HttpResponse:
    contractor: dict[str, Any] = {"contractor": crew.organisation.pk} if crew else {}
    answer = post(desk, "orders", body(*trees, **contractor, **fields), **key())
    assert answer.status_code == 201, answer.content
    return answer


def issued(desk: APIClient, crew: orders.Crew, *trees: Tree, **fields: Any) -> dict[str, Any]:
    draft = made(desk, *trees, crew=crew, **fields)
    answer = post(desk, f"orders/{draft.json()['uid']}/issue", {}, match=draft["ETag"])  # type: ignore[attr-defined]
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()  # type: ignore[attr-defined]
    return found


def report(**fields: Any) -> dict[str, Any]:
    said = {"uid": str(uuid.uuid4()), "outcome": "done", "worked_at": timezone.now().isoformat()}
    return said | fields


def test_an_order_goes_from_draft_to_closed(desk: APIClient, phone: APIClient, crew: orders.Crew) -> None:
    tree, other = build.tree(), build.tree(20)
    draft = made(desk, tree, other, crew=crew, instructions="Mornings only.")
    order = draft.json()  # type: ignore[attr-defined]
    where = f"orders/{order['uid']}"
    assert draft["Location"] == f"{V1}/{where}"
    assert (order["state"], order["contractor"]["id"], order["item_count"]) == ("draft", crew.organisation.pk, 2)
    assert order["caution"] == states.CAUTION
    assert phone.get(f"{V1}/{where}").status_code == 404  # a draft is nobody's but the city's

    sent = post(desk, f"{where}/issue", {}, match=draft["ETag"])
    assert sent.status_code == 200
    seen = phone.get(f"{V1}/{where}")
    assert seen.json()["state"] == "issued"
    taken = post(phone, f"{where}/accept", {}, match=seen["ETag"])
    assert taken.json()["state"] == "accepted"  # type: ignore[attr-defined]

    first, second = taken.json()["items"]  # type: ignore[attr-defined]
    told = post(phone, f"order-items/{first['uid']}/reports", report(stump_ground=False))
    assert (told.status_code, told.json()["state_after"]) == (201, "done")  # type: ignore[attr-defined]
    tree.refresh_from_db()
    assert (tree.state, tree.site.state) == ("stump", "vacant")
    failed = report(outcome="not_possible", reason="nest in the crown")
    assert post(phone, f"order-items/{second['uid']}/reports", failed).status_code == 201

    for item, verdict in ((first, "accepted"), (second, "not_done")):
        decided = {"uid": str(uuid.uuid4()), "verdict": verdict, "note": "seen"}
        answer = post(desk, f"order-items/{item['uid']}/verifications", decided)
        assert answer.status_code == 201, answer.content
    end = desk.get(f"{V1}/{where}").json()
    assert (end["state"], end["settled_count"], end["to_verify_count"]) == ("closed", 2, 0)
    assert [item["state"] for item in end["items"]] == ["verified", "not_done"]
    assert end["items"][0]["effect"] == "tree removed, stump left"
    assert end["items"][1]["reports"][0]["reason"] == "nest in the crown"
    kinds = Event.objects.filter(kind__startswith="order.").order_by("id").values_list("kind", flat=True)
    assert list(kinds) == ["order.drafted", "order.issued", "order.accepted", "order.closed"]


def test_a_draft_sent_twice_with_its_key_is_one_order(desk: APIClient) -> None:
    content, header = body(build.tree()), key()
    first, again = (post(desk, "orders", content, **header) for _ in range(2))
    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    assert WorkOrder.objects.count() == 1
    problem(post(desk, "orders", content | {"instructions": "other"}, **header), 422, "key-reused")


def test_a_report_sent_again_gets_the_same_answer_and_other_content_is_refused(
    desk: APIClient, phone: APIClient, crew: orders.Crew
) -> None:
    order = issued(desk, crew, build.tree(), action="raise_crown")
    where = f"order-items/{order['items'][0]['uid']}/reports"
    said = report(note="from the north side")
    first, again = post(phone, where, said), post(phone, where, said)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.content == again.content
    problem(post(phone, where, said | {"note": "from the south side"}), 409, "conflict")
    assert ItemReport.objects.count() == 1


def test_another_contractors_order_is_not_found_and_nothing_changes(desk: APIClient, crew: orders.Crew) -> None:
    tree = build.tree()
    order = issued(desk, crew, tree)
    stranger = caller(orders.crew().user)
    where, item = f"{V1}/orders/{order['uid']}", order["items"][0]["uid"]
    for path in (where, f"{where}/export.csv", f"{where}/export.geojson"):
        problem(stranger.get(path), 404, "not-found")
    assert stranger.get(f"{V1}/orders").json()["items"] == []
    problem(post(stranger, f"orders/{order['uid']}/accept", {}, match="*"), 404, "not-found")
    problem(post(stranger, f"order-items/{item}/reports", report()), 404, "not-found")
    tree.refresh_from_db()
    assert tree.state == "alive"
    assert WorkOrder.objects.get().state == "issued"
    assert not ItemReport.objects.exists()


def test_a_stale_version_is_refused_and_a_missing_one_asked_for(
    desk: APIClient, phone: APIClient, crew: orders.Crew
) -> None:
    order = issued(desk, crew, build.tree(), build.tree(20), action="raise_crown")
    where = f"orders/{order['uid']}"
    read = desk.get(f"{V1}/{where}")["ETag"]
    post(phone, f"order-items/{order['items'][0]['uid']}/reports", report())
    problem(post(desk, f"{where}/cancel", {"reason": "no money"}, match=read), 412, "stale")
    problem(post(desk, f"{where}/cancel", {"reason": "no money"}), 428, "precondition-required")
    assert WorkOrder.objects.get().state == "issued"
    fresh = desk.get(f"{V1}/{where}")["ETag"]
    assert fresh != read
    assert post(desk, f"{where}/cancel", {"reason": "no money"}, match=fresh).status_code == 200


def test_an_order_that_was_not_changed_is_not_sent_again(desk: APIClient) -> None:
    draft = made(desk, build.tree())
    where = draft["Location"]
    assert desk.get(where, headers={"If-None-Match": draft["ETag"]}).status_code == 304


@pytest.mark.parametrize(
    ("step", "content"), [("issue", {}), ("accept", {}), ("cancel", {"reason": "again"}), ("items", None)]
)
def test_a_cancelled_order_takes_no_further_step(
    desk: APIClient, phone: APIClient, crew: orders.Crew, step: str, content: dict[str, str] | None
) -> None:
    order = issued(desk, crew, build.tree())
    where = f"orders/{order['uid']}"
    post(desk, f"{where}/cancel", {"reason": "no money"}, match="*")
    more = content if content is not None else {"items": body(build.tree(20))["items"]}
    who = phone if step == "accept" else desk
    problem(post(who, f"{where}/{step}", more, match="*"), 409, "conflict")


def test_wrong_items_are_named_by_pointer_and_nothing_is_made(desk: APIClient) -> None:
    tree = build.tree()
    wrong = body(tree, tree)
    wrong["items"][1]["action"] = "grind_stump"
    wrong["items"].append({"tree": str(uuid.uuid4()), "action": "remove"})
    refused = problem(post(desk, "orders", wrong, **key()), 400, "invalid")
    assert pointers(refused) == {"#/items/1/action", "#/items/2/tree"}
    shape = problem(post(desk, "orders", body(tree) | {"colour": "red"}, **key()), 400, "invalid")
    assert pointers(shape) == {"#/colour"}
    day = problem(post(desk, "orders", body(tree) | {"due_on": "soon"}, **key()), 400, "invalid")
    assert pointers(day) == {"#/due_on"}
    nobody = problem(post(desk, "orders", body(tree, contractor=10**6), **key()), 400, "invalid")
    assert pointers(nobody) == {"#/contractor"}
    assert not WorkOrder.objects.exists()


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"outcome": "half"}, "#/outcome"),
        ({"outcome": "not_possible"}, "#/reason"),
        ({"worked_at": "2199-01-01T00:00:00Z"}, "#/worked_at"),
        ({"worked_at": "yesterday"}, "#/worked_at"),
        ({"support_kind": "cable"}, "#/support_kind"),
        ({"uid": "7"}, "#/uid"),
        ({"photo": "x"}, "#/photo"),
    ],
)
def test_a_wrong_report_names_its_field_and_changes_nothing(
    desk: APIClient, phone: APIClient, crew: orders.Crew, fields: dict[str, str], pointer: str
) -> None:
    tree = build.tree()
    order = issued(desk, crew, tree)
    where = f"order-items/{order['items'][0]['uid']}/reports"
    assert pointers(problem(post(phone, where, report(**fields)), 400, "invalid")) == {pointer}
    tree.refresh_from_db()
    assert tree.state == "alive"
    assert not ItemReport.objects.exists()


ADDRESSES = {
    "orders": ("get", "orders.view"),
    "orders/{order}": ("get", "orders.view"),
    "orders/{order}/export.csv": ("get", "orders.view"),
    "orders/{order}/export.geojson": ("get", "orders.view"),
    "orders ": ("post", "orders.make"),
    "orders/{order}/items": ("post", "orders.make"),
    "orders/{order}/issue": ("post", "orders.make"),
    "orders/{order}/cancel": ("post", "orders.make"),
    "orders/{order}/accept": ("post", "orders.accept"),
    "order-items/{item}/reports": ("post", "orders.report"),
    "order-items/{item}/verifications": ("post", "orders.verify"),
}


@pytest.mark.parametrize("address", ADDRESSES)
@pytest.mark.parametrize("role", [*roles.ROLES, None])
def test_each_address_is_open_to_the_roles_that_may(
    desk: APIClient, crew: orders.Crew, address: str, role: str | None
) -> None:
    order = issued(desk, crew, build.tree())
    method, action = ADDRESSES[address]
    client = as_role(role)
    path = f"{V1}/{address.strip()}".format(order=order["uid"], item=order["items"][0]["uid"])
    answer = client.get(path) if method == "get" else client.post(path, {}, format="json", headers={"If-Match": "*"})
    if role is None:
        problem(answer, 401, "not-signed-in")
    elif role in roles.ALLOWED[action]:
        assert answer.status_code not in (401, 403)
    else:
        problem(answer, 403, "not-allowed")


def test_open_emergencies_stand_before_the_newest_orders_on_every_page(desk: APIClient) -> None:
    tree = build.tree()
    numbers = [made(desk, tree).json()["number"] for _ in range(4)]  # type: ignore[attr-defined]
    with SERVICE.acting("emergency"):
        WorkOrder.objects.filter(number=numbers[1]).update(emergency=True)
    seen, address = [], f"{V1}/orders?limit=2"
    while address:
        page = desk.get(address).json()
        seen += [order["number"] for order in page["items"]]
        address = page["next"]
    assert seen == [numbers[1], numbers[3], numbers[2], numbers[0]]
    only = desk.get(f"{V1}/orders?emergency=true&state=draft").json()["items"]
    assert [order["number"] for order in only] == [numbers[1]]
    assert desk.get(f"{V1}/orders?state=issued").json()["items"] == []


def test_a_list_of_orders_costs_a_fixed_number_of_queries(
    desk: APIClient, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    tree = build.tree()
    for _ in range(5):
        made(desk, tree)
    with django_assert_max_num_queries(6):
        assert len(desk.get(f"{V1}/orders").json()["items"]) == 5


# -- exports


def export(client: APIClient, order: dict[str, Any], kind: str) -> HttpResponse:
    answer: HttpResponse = client.get(f"{V1}/orders/{order['uid']}/export.{kind}")
    assert answer.status_code == 200
    return answer


def test_an_order_is_exported_as_csv(desk: APIClient, phone: APIClient, crew: orders.Crew) -> None:
    tree, other = build.tree(tag="=2+3"), build.tree(20, dbh_cm=None)
    with SERVICE.acting("address"):
        Site.objects.filter(pk=tree.site_id).update(street='Quay "North", 2')
    order = issued(desk, crew, tree, other, action="raise_crown")
    answer = export(phone, order, "csv")
    assert answer["Content-Type"].startswith("text/csv")
    assert answer["Content-Disposition"] == f'attachment; filename="order-{order["number"]}.csv"'
    text = b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert [row["tree"] for row in rows] == [str(tree.uid), str(other.uid)]
    assert (rows[0]["tag"], rows[0]["street"]) == ("'=2+3", 'Quay "North", 2')
    assert (rows[0]["dbh_cm"], rows[1]["dbh_cm"]) == ("40.0", "")
    assert float(rows[0]["longitude"]) == pytest.approx(tree.location.x, abs=1e-7)
    assert float(rows[0]["latitude"]) == pytest.approx(tree.location.y, abs=1e-7)
    assert text.count("\r\n") == 3


def test_an_order_is_exported_as_geojson_by_the_rules_of_rfc_7946(
    desk: APIClient, phone: APIClient, crew: orders.Crew
) -> None:
    tree = build.tree(37.5, -12.25)
    order = issued(desk, crew, tree, action="raise_crown")
    answer = export(phone, order, "geojson")
    assert answer["Content-Type"] == "application/geo+json"
    found = json.loads(b"".join(answer.streaming_content))  # type: ignore[attr-defined]
    assert set(found) == {"type", "features"}  # 4: no crs member
    assert found["type"] == "FeatureCollection"
    [feature] = found["features"]
    assert set(feature) == {"type", "id", "geometry", "properties"}  # 3.2
    assert (feature["type"], feature["id"]) == ("Feature", order["items"][0]["uid"])
    assert feature["geometry"]["type"] == "Point"
    longitude, latitude = feature["geometry"]["coordinates"]  # 3.1.1: longitude first, WGS 84
    assert longitude == pytest.approx(tree.location.x, abs=5.1e-8)
    assert latitude == pytest.approx(tree.location.y, abs=5.1e-8)
    assert longitude == round(longitude, 7)  # 11.2
    assert feature["properties"]["action"] == "raise_crown"
    assert feature["properties"]["order"] == order["number"]
