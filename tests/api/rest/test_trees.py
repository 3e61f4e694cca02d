"""Trees by REST: what each sees, filters, adding, editing, units."""

import uuid
from typing import Any

import pytest

from assessments.models import Priority
from assessments.works.models import OrderItem, WorkOrder
from inventory import past
from inventory.history import SERVICE
from inventory.models import Event, Site, Tree
from tests.support import build
from tests.support.http import V1, as_role, caller, key, pointers, problem

pytestmark = pytest.mark.django_db
# What DESIGN and the issue let the public see of a tree.
PUBLIC_MEMBERS = {
    "units", "uid", "tag", "species", "location", "zone", "planted_from", "planted_to", "state", "removed_on",
    "dbh_cm", "dbh_low_cm", "dbh_high_cm", "height_m", "crown_m",
}  # fmt: skip


def uids(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.content
    return [item["uid"] for item in answer.json()["items"]]


def priority(tree: Tree, risk: int) -> None:
    Priority.objects.create(
        tree=tree, risk=risk, harm=0.0, rule=0, unseen_weight=0.0, policy_version=1, method_version=1
    )


def test_the_public_sees_the_narrow_tree_and_the_municipality_all(city: object) -> None:
    build.zone()
    tree = build.tree(tag="T1", note="the neighbour complained", external_key="K-9")
    public = caller().get(f"{V1}/trees/{tree.uid}").json()
    assert set(public) == PUBLIC_MEMBERS
    assert public["location"] == {"type": "Point", "coordinates": [build.LON, build.LAT]}
    assert public["zone"] == "Z1"
    staff = as_role("auditor").get(f"{V1}/trees/{tree.uid}").json()
    assert set(staff) - PUBLIC_MEMBERS == {
        "species_text", "external_key", "site", "removal_reason", "note", "source", "version",
    }  # fmt: skip
    assert staff["note"] == "the neighbour complained"
    assert {name: staff[name] for name in PUBLIC_MEMBERS} == public


def test_a_contractor_sees_the_trees_of_its_own_issued_orders_in_full_and_no_others(city: object) -> None:
    contractor, other = build.user("contractor"), build.user("contractor")
    trees = [build.tree(place, note="gate code") for place in range(3)]
    for number, (who, tree, state) in enumerate(
        [(contractor, trees[0], "issued"), (other, trees[1], "issued"), (contractor, trees[2], "draft")]
    ):
        with SERVICE.acting("ordered"):
            order = WorkOrder.objects.create(
                number=str(number),
                contractor_id=min(who.contractor_ids),
                state=state,
                due_on="2026-12-01",
                issued_at="2026-11-01T08:00Z" if state == "issued" else None,
            )
            OrderItem.objects.create(
                order=order, tree=tree, action="remove_dead_wood", reason="dead wood", due_on="2026-12-01"
            )
    client = caller(contractor)
    shown = {item["uid"]: "note" in item for item in client.get(f"{V1}/trees").json()["items"]}
    assert shown == {str(trees[0].uid): True, str(trees[1].uid): False, str(trees[2].uid): False}
    for tree, full in zip(trees, (True, False, False), strict=True):
        assert ("note" in client.get(f"{V1}/trees/{tree.uid}").json()) is full
        answer = client.get(f"{V1}/trees/{tree.uid}/measurements")
        assert answer.status_code == (200 if full else 403)


def test_each_filter_keeps_what_it_says(city: object) -> None:
    build.zone("Z1", half_m=60)
    oak = build.species("Quercus robur", family="Fagaceae", common_en="English oak")
    near = build.tree(0, 0, tag="T1", dbh_cm=20)
    far = build.tree(500, 0, dbh_cm=80, species_id=oak.pk)
    dead = build.tree(0, 50, state="dead", dbh_cm=50)
    with SERVICE.acting("street"):
        Site.objects.filter(pk=far.site_id).update(street="Quay Street")
        Tree.objects.filter(pk=dead.pk).update(dbh_cm=None, dbh_low_cm=33.02, dbh_high_cm=45.72)  # a class, 13-18 in
    for tree, risk in ((near, 1), (far, 4)):
        priority(tree, risk)
    client = as_role("forester")
    box = f"{build.LON - 0.001},{build.LAT - 0.0002},{build.LON + 0.001},{build.LAT + 0.0002}"
    expected: dict[str, list[Tree]] = {
        f"bbox={box}": [near],
        "bbox=170,-10,-170,10": [],
        "zone=Z1": [near, dead],
        "species=quercus robur": [far],
        "genus=Tilia": [near, dead],
        "state=dead": [dead],
        "tag=T1": [near],
        "dbh_min_cm=40": [far, dead],
        "dbh_max_cm=40": [near, dead],
        "dbh_min_cm=46&dbh_max_cm=80": [far],
        "risk=low": [near],
        "risk=extreme": [far],
        "risk=none": [dead],
        "q=quay": [far],
        "q=oak": [far],
        "zone=Z1&state=alive&dbh_min_cm=10": [near],
    }
    for query, trees in expected.items():
        assert uids(client.get(f"{V1}/trees?{query}")) == [str(tree.uid) for tree in trees], query


def test_a_tree_on_the_edge_of_a_box_is_inside(city: object) -> None:
    # OGC API Features, fc-bbox-response: geometries that intersect the box match.
    tree = build.tree()
    edge = f"{build.LON},{build.LAT},{build.LON + 1},{build.LAT + 1}"
    assert uids(caller().get(f"{V1}/trees", {"bbox": edge})) == [str(tree.uid)]
    assert uids(caller().get(f"{V1}/trees", {"bbox": f"-29,{build.LAT - 1},-30,{build.LAT + 1}"})) == []


@pytest.mark.parametrize("role", [None, "contractor"])
def test_risk_is_not_for_everyone(city: object, role: str | None) -> None:
    problem(as_role(role).get(f"{V1}/trees", {"risk": "high"}), 403, "not-allowed")


def test_a_new_tree_stands_on_a_new_site_in_its_zone_with_its_size(city: object) -> None:
    build.zone()
    forester = build.user("forester")
    lime = build.species()
    answer = caller(forester).post(
        f"{V1}/trees?units=us",
        {
            "location": {"type": "Point", "coordinates": [-29.5, 45.0]},
            "tag": "H-1",
            "species_id": lime.pk,
            "planted_from": "2026-03-01",
            "planted_to": "2026-03-31",
            "site": {"street": "Quay Street", "growing_space": "cutout", "strip_width_m": 1.5},
            "size": {"measured_on": "2026-05-01", "method": "tape", "stems_cm": [20, 15, 10]},
        },
        headers=key(),
    )
    assert answer.status_code == 201
    body = answer.json()
    assert answer["Location"] == f"{V1}/trees/{body['uid']}"
    assert body["zone"] == "Z1"
    assert body["site"]["street"] == "Quay Street"
    assert body["dbh_cm"] == pytest.approx((20**2 + 15**2 + 10**2) ** 0.5)  # quadratic sum, as in inventory/rules.py
    assert body["dbh_in"] == pytest.approx(body["dbh_cm"] / 2.54, abs=0.005)  # 1 in = 2.54 cm by definition
    tree = Tree.objects.get()
    assert tree.site is not None
    assert tree.site.state == "planted"
    assert {act.user_id for act in past.of_tree(tree)} == {forester.pk}
    assert list(Event.objects.filter(kind="tree.added").values_list("subject_uid", flat=True)) == [tree.uid]


def test_a_tree_is_planted_on_a_vacant_site_only(city: object) -> None:
    tree = build.tree()
    assert tree.site is not None
    body = {"location": {"type": "Point", "coordinates": [-29.5, 45.0]}, "site_uid": str(tree.site.uid)}
    client = as_role("inspector")
    problem(client.post(f"{V1}/trees", body, headers=key()), 409, "conflict")
    missing = problem(client.post(f"{V1}/trees", body | {"site_uid": str(uuid.uuid4())}, headers=key()), 400, "invalid")
    assert pointers(missing) == {"#/site_uid"}
    assert Tree.objects.count() == 1


def test_an_edit_is_kept_with_its_reason(city: object) -> None:
    tree = build.tree()
    inspector = build.user("inspector")
    client = caller(inspector)
    address = f"{V1}/trees/{tree.uid}"
    tag = client.get(address)["ETag"]
    changes = {"tag": "N-7", "note": "leans", "state": "dead", "why": "seen on the spot"}
    answer = client.patch(address, changes, headers={"If-Match": tag})
    assert answer.status_code == 200
    assert answer["ETag"] == client.get(address)["ETag"] != tag
    newest = past.of_tree(tree)[0]
    assert (newest.user_id, newest.why) == (inspector.pk, "seen on the spot")
    assert {(one.field, one.before, one.after) for row in newest.rows for one in row.fields} == {
        ("tag", None, "N-7"),
        ("note", "", "leans"),
        ("state", "alive", "dead"),
    }


def test_a_merge_patch_is_read_too_and_null_unsets(city: object) -> None:
    # RFC 7396: a member that is null is removed.
    tree = build.tree(tag="T1")
    client = as_role("forester")
    answer = client.patch(
        f"{V1}/trees/{tree.uid}",
        '{"tag": null}',
        content_type="application/merge-patch+json",
        headers={"If-Match": "*"},
    )
    assert (answer.status_code, answer.json()["tag"]) == (200, None)


def test_a_taken_tag_is_a_conflict_that_names_it(city: object) -> None:
    build.tree(tag="T1")
    tree = build.tree(9)
    answer = as_role("forester").patch(f"{V1}/trees/{tree.uid}", {"tag": "T1"}, headers={"If-Match": "*"})
    assert pointers(problem(answer, 409, "conflict")) == {"#/tag"}
    answer = as_role("forester").post(
        f"{V1}/trees", {"location": {"type": "Point", "coordinates": [-29.5, 45.0]}, "tag": "T1"}, headers=key()
    )
    problem(answer, 409, "conflict")
    assert Tree.objects.filter(tag="T1").count() == 1


def test_the_units_of_the_person_hold_unless_the_request_says_otherwise(city: object) -> None:
    tree = build.tree(dbh_cm=25.4)
    client = caller(build.user("forester", units="us"))
    address = f"{V1}/trees/{tree.uid}"
    shown = client.get(address).json()
    # The international inch and foot: 2.54 cm and 0.3048 m exactly.
    assert (shown["units"], shown["dbh_cm"], shown["dbh_in"], shown["height_ft"]) == ("us", 25.4, 10.0, 39.37)
    assert "dbh_in" not in client.get(address, {"units": "si"}).json()
    assert caller().get(address).json()["units"] == "si"
