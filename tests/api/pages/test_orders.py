"""Orders on the pages: from chosen trees to a draft, its steps, reports and verdicts, and who may see and do what."""

import re
import uuid
from typing import Any

import pytest
from django.test import Client

from assessments.works.models import OrderItem, WorkOrder
from inventory.models import Tree
from tests.support import build
from tests.support.pages import Town, text, today, visitor

pytestmark = pytest.mark.django_db


def step(client: Client, order: WorkOrder, name: str, **fields: Any) -> Any:
    order.refresh_from_db()
    return client.post(f"/orders/{order.uid}", {"step": name, "version": order.version, **fields})


def chosen(place: Town, *names: str) -> dict[str, Any]:
    return {"tree": [str(place.trees[name].uid) for name in names]}


def row(tree: Tree, **fields: str) -> dict[str, str]:
    return {f"tree{tree.pk}-{name}": value for name, value in {"tree": str(tree.uid), **fields}.items()}


def test_chosen_trees_become_a_draft_with_reasons(place: Town) -> None:
    client = visitor(place.people["forester"])
    asked = client.post("/orders/new", chosen(place, "H1", "H3"))
    assert asked.status_code == 200
    assert "New order for 2 trees" in text(asked)
    head = {"make": "1", "due_on": str(today()), "contractor": str(place.firm.pk), "action": "clean_crown"}
    rows = row(place.trees["H1"]) | row(place.trees["H3"], action="make_safe", reason="leans over the gate")
    made = client.post("/orders/new", chosen(place, "H1", "H3") | head | rows)
    assert made.status_code == 302
    order = WorkOrder.objects.get(uid=made["Location"].rsplit("/", 1)[1])
    assert order.state == "draft"
    items = {item.tree.tag: item for item in order.items.select_related("tree")}
    assert (items["H1"].action, items["H3"].action) == ("clean_crown", "make_safe")
    assert items["H3"].reason == "leans over the gate"
    assert items["H1"].reason  # worked out where none was given


def test_a_refused_wish_is_told_at_its_row_and_makes_nothing(place: Town) -> None:
    client = visitor(place.people["forester"])
    before = WorkOrder.objects.count()
    head = {"make": "1", "due_on": str(today())}
    missing = client.post("/orders/new", chosen(place, "H1") | head | row(place.trees["H1"]))
    assert (missing.status_code, "choose what is to be done" in text(missing)) == (400, True)
    wrong = client.post("/orders/new", chosen(place, "H1") | head | row(place.trees["H1"], action="grind_stump"))
    assert wrong.status_code == 400
    assert "needs a tree that is stump" in wrong.context["rows"][0].errors["action"][0]
    late = head | {"due_on": "2020-01-01"}
    past = client.post("/orders/new", chosen(place, "H1") | late | row(place.trees["H1"], action="remove"))
    assert "lies in the past" in str(past.context["form"].errors)
    assert WorkOrder.objects.count() == before


def test_no_tree_or_a_wrong_key_is_refused(place: Town) -> None:
    client = visitor(place.people["forester"])
    assert client.post("/orders/new", {}).status_code == 400
    assert client.post("/orders/new", {"tree": "x"}).status_code == 400
    assert client.get("/orders/new").status_code == 405


def test_a_draft_is_issued_accepted_and_cancelled_by_those_who_may(place: Town) -> None:
    desk, crew = visitor(place.people["forester"]), visitor(place.people["contractor"])
    assert crew.get(f"/orders/{place.draft.uid}").status_code == 404  # not issued yet
    assert step(desk, place.draft, "issue", contractor=place.firm.pk).status_code == 302
    assert step(desk, place.draft, "accept").status_code == 403
    assert step(crew, place.draft, "accept").status_code == 302
    assert step(crew, place.draft, "cancel", reason="no").status_code == 403
    without = step(desk, place.draft, "cancel", reason="")
    assert (without.status_code, "This field is required" in text(without)) == (400, True)
    assert step(desk, place.draft, "cancel", reason="budget").status_code == 302
    place.draft.refresh_from_db()
    assert (place.draft.state, place.draft.cancel_reason) == ("cancelled", "budget")


def test_a_step_from_an_old_page_is_refused_as_stale(place: Town) -> None:
    desk = visitor(place.people["forester"])
    old = desk.post(f"/orders/{place.draft.uid}", {"step": "cancel", "version": 0, "reason": "budget"})
    assert old.status_code == 412
    assert "changed since you read it" in text(old)
    assert desk.post(f"/orders/{place.draft.uid}", {"step": "burn", "version": 1}).status_code == 400


def form_of(client: Client, item: OrderItem) -> dict[str, str]:
    """The hidden key and the prefilled time of the item's form, as a browser would send them."""
    page = text(client.get(f"/orders/{item.order.uid}"))
    found = dict(re.findall(rf'name="([rv]{item.pk}-\w+)" value="([^"]*)"', page))
    return {"item": str(item.uid), **found}


def test_a_crew_reports_a_felling_once_and_the_site_becomes_vacant(place: Town) -> None:
    crew = visitor(place.people["contractor"])
    item = place.order.items.get(action="remove")
    sent = form_of(crew, item) | {f"r{item.pk}-outcome": "done"}
    assert uuid.UUID(sent[f"r{item.pk}-uid"])
    for _ in range(2):  # a second click changes nothing
        assert step(crew, place.order, "report", **sent).status_code == 302
    assert item.reports.count() == 1
    tree = Tree.objects.select_related("site").get(pk=item.tree_id)
    assert (tree.state, tree.site.state if tree.site else "") == ("stump", "vacant")


def test_not_possible_needs_a_reason_told_at_the_field(place: Town) -> None:
    crew = visitor(place.people["contractor"])
    item = place.order.items.get(action="remove")
    sent = form_of(crew, item) | {f"r{item.pk}-outcome": "not_possible"}
    answer = step(crew, place.order, "report", **sent)
    assert answer.status_code == 400
    assert "say why it was not possible" in text(answer)
    assert not item.reports.exists()


def test_reported_work_is_verified_by_the_municipality_only(place: Town) -> None:
    desk, crew = visitor(place.people["forester"]), visitor(place.people["contractor"])
    item = place.order.items.get(action="remove_dead_wood")
    page = text(crew.get(f"/orders/{place.order.uid}"))
    assert "Verify this item" not in page
    assert step(crew, place.order, "verify", item=str(item.uid)).status_code == 403
    sent = form_of(desk, item) | {f"v{item.pk}-verdict": "returned", f"v{item.pk}-note": ""}
    refused = step(desk, place.order, "verify", **sent)
    assert (refused.status_code, "say why" in text(refused)) == (400, True)
    sent |= {f"v{item.pk}-verdict": "accepted"}
    assert step(desk, place.order, "verify", **sent).status_code == 302
    item.refresh_from_db()
    assert item.state == "verified"


def test_the_downloads_that_an_order_offers_are_there(place: Town) -> None:
    crew = visitor(place.people["contractor"])
    links = re.findall(r'href="(/api/v1/orders/[^"]+)"', text(crew.get(f"/orders/{place.order.uid}")))
    assert len(links) == 2
    assert [crew.get(link).status_code for link in links] == [200, 200]


def test_another_contractor_sees_nothing_of_an_order(place: Town) -> None:
    other = visitor(build.user("contractor"))
    assert other.get(f"/orders/{place.order.uid}").status_code == 404
    assert place.order.number not in text(other.get("/orders"))
    item = place.order.items.get(action="remove")
    assert step(other, place.order, "report", item=str(item.uid)).status_code == 404


def test_an_order_is_nothing_for_public_works_or_the_public(place: Town) -> None:
    address = f"/orders/{place.order.uid}"
    assert visitor(place.people["public_works"]).get(address).status_code == 403
    assert visitor().get(address)["Location"] == f"/sign-in?next={address}"


def test_the_list_is_narrowed_by_state_and_contractor(place: Town) -> None:
    client = visitor(place.people["forester"])

    def numbers(query: str) -> set[str]:
        return {order.number for order in client.get(f"/orders?{query}").context["page"].rows}

    assert place.draft.number in numbers("state=draft")
    assert place.order.number not in numbers("state=draft")
    assert numbers(f"contractor={place.firm.pk}") == {place.order.number}
