"""The pages of opened stems: asked for, recorded cut by cut or as JSON, held against the judgement, photographed."""

import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from assessments.models import Dissection, DissectionCut, Inspection
from inventory.history import SERVICE
from inventory.models import Attachment, Tree
from inventory.services import remove_tree
from tests.support import opened_lime as lime
from tests.support.pages import Town, text, today, visitor
from tests.support.reports import picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def felled(place: Town) -> Tree:
    """A lime that was judged to be weak, felled yesterday."""
    tree = lime.tree(today())
    lime.inspected(tree, today() - timedelta(days=20))
    remove_tree(SERVICE, tree, on=today() - timedelta(days=1), reason="hollow", stump_ground=False)
    return tree


def whole(**fields: Any) -> dict[str, Any]:
    day = today()
    return {
        "uid": str(uuid.uuid4()),
        "felled_on": str(day - timedelta(days=1)),
        "dissected_on": str(day),
        "reason": "predicted_weakness",
    } | fields


def cut(**fields: Any) -> dict[str, Any]:
    return {"uid": str(uuid.uuid4()), "above_last_cm": "15", "diameter_cm": "74", "bark_cm": "2"} | fields


def begun(client: Client, tree: Tree, **fields: Any) -> str:
    """Record a dissection; the address of its page."""
    answer = client.post(f"/trees/{tree.uid}/dissections/new", whole(**fields))
    assert answer.status_code == 302, text(answer)
    return str(answer["Location"]).removesuffix("/cuts/new")


def test_the_city_asks_for_a_weak_stem_until_it_is_opened(place: Town, felled: Tree) -> None:
    client = visitor(place.people["inspector"])
    page = text(client.get("/dissections"))
    assert f"/trees/{felled.uid}/dissections/new?reason=predicted_weakness" in page
    assert "It was judged to be weak" in page
    begun(client, felled)
    assert f"/trees/{felled.uid}/dissections/new" not in text(client.get("/dissections"))


def test_cuts_are_typed_one_after_the_other_each_counted_from_the_last(place: Town, felled: Tree) -> None:
    client = visitor(place.people["inspector"])
    address = begun(client, felled, stump_height_m="0.1")
    assert "Counted from the stump, 0.10 m" in text(client.get(f"{address}/cuts/new"))
    first = cut(cavities_share_percent="30", cavities_azimuth_deg="170", cavities_offset_cm="5", roots_inside="on")
    first |= {"crack0_azimuth_deg": "172", "crack0_gap_to_edge_cm": "1", "crack0_run_cm": "6"}
    assert client.post(f"{address}/cuts/new", first)["Location"] == f"{address}/cuts/new"
    again = client.post(f"{address}/cuts/new", first | {"above_last_cm": "", "height_m": "0.25"})
    assert again.status_code == 302
    assert client.post(f"{address}/cuts/new", cut(last="1"))["Location"] == address
    cuts = list(DissectionCut.objects.order_by("height_m"))
    assert [one.height_m for one in cuts] == [0.25, 0.4]
    assert cuts[0].measured["cavities"] == [{"share_percent": 30.0, "azimuth_deg": 170.0, "offset_cm": 5.0}]
    assert cuts[0].measured["cracks"] == [{"azimuth_deg": 172.0, "gap_to_edge_cm": 1.0, "run_cm": 6.0}]
    assert cuts[0].measured["roots_inside"] is True


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"above_last_cm": ""}, "above_last_cm"),
        ({"diameter_cm": "-3"}, "diameter_cm"),
        ({"cavities_share_percent": "130"}, "cavities_share_percent"),
        ({"decay_diameter_cm": "-1"}, "decay_diameter_cm"),
        ({"crack1_azimuth_deg": "10", "crack1_run_cm": "-4", "crack1_gap_to_edge_cm": "0"}, "crack1_run_cm"),
    ],
)
def test_what_is_wrong_with_a_cut_is_said_at_its_field(
    place: Town, felled: Tree, fields: dict[str, str], field: str
) -> None:
    client = visitor(place.people["inspector"])
    address = begun(client, felled)
    answer = client.post(f"{address}/cuts/new", cut(**fields))
    assert answer.status_code == 400
    assert f'id="id_{field}_errors"' in text(answer)
    assert not DissectionCut.objects.exists()


def test_a_whole_dissection_comes_as_json_and_a_wrong_cut_is_named(place: Town, felled: Tree) -> None:
    client = visitor(place.people["inspector"])
    address = f"/trees/{felled.uid}/dissections/new"
    for cuts, said in (
        ("[{", "is not JSON"),
        ("{}", "must be a list of cuts"),
        ('[{"height_m": 0.3, "diameter_cm": 60}, {"height_m": 0.5, "diameter_cm": -1}]', "cut 2, diameter_cm"),
    ):
        answer = client.post(address, whole(cuts=cuts))
        assert answer.status_code == 400
        assert said in text(answer)
    assert not Dissection.objects.exists()
    sent = whole(cuts=json.dumps([dict(lime.cut(place).measured) for place in range(3)]))
    for _ in range(2):
        assert client.post(address, sent).status_code == 302
    assert Dissection.objects.get().cuts.count() == 3


def test_the_page_shows_predicted_and_found_the_stem_and_its_cracks(place: Town, felled: Tree) -> None:
    made = lime.opened(felled, today() - timedelta(days=1))
    page = text(visitor(place.people["auditor"]).get(f"/dissections/{made.uid}"))
    assert "It was said to be below the threshold, and it was." in page
    assert page.count('role="img"') == 2 + made.cuts.count()
    assert "Crack depth along the height" in page
    assert "Foretold and found" in page
    told = made.results.get(method="truth_against_judgement").result
    assert f"{told['heights'][0]['t_over_r']['found']:.2f}" in page
    held = sum(one["t_over_r"]["held80"] for one in told["heights"])
    assert page.count('<td data-label="Interval">held</td>') >= held > 0
    assert f'/dissections/{made.uid}"' in text(visitor(place.people["auditor"]).get(f"/trees/{felled.uid}"))


def test_a_stem_that_nobody_had_judged_is_shown_without_a_verdict(place: Town) -> None:
    tree = lime.tree(today(), "L9")
    remove_tree(SERVICE, tree, on=today(), reason="building", stump_ground=False)
    assert not Inspection.objects.filter(tree=tree).exists()
    made = lime.opened(tree, today())
    page = text(visitor(place.people["inspector"]).get(f"/dissections/{made.uid}"))
    assert "The stem rebuilt" in page
    assert "It was said" not in page


def test_the_photo_of_a_cut_is_kept_with_it_and_a_bad_one_costs_no_cut(place: Town, felled: Tree) -> None:
    client = visitor(place.people["inspector"])
    address = begun(client, felled)
    good = SimpleUploadedFile("a.jpg", picture(), "image/jpeg")
    bad = SimpleUploadedFile("a.jpg", b"no picture", "image/jpeg")
    client.post(f"{address}/cuts/new", cut(photo=good))
    client.post(f"{address}/cuts/new", cut(photo=bad))
    first, second = DissectionCut.objects.order_by("height_m")
    assert Attachment.objects.get().about_uid == first.uid
    page = text(client.get(address))
    assert "The photo was not taken" in page
    assert "Cut at 0.15 m" in page
    assert f"dissection:{second.uid}" in text(client.get(f"/trees/{felled.uid}/photos/new"))


@pytest.mark.parametrize(
    ("role", "see", "record"),
    [
        ("forester", 200, 200),
        ("inspector", 200, 200),
        ("public_works", 200, 403),
        ("auditor", 200, 403),
        ("contractor", 403, 403),
    ],
)
def test_each_role_gets_what_the_interface_gives_it(
    place: Town, felled: Tree, role: str, see: int, record: int
) -> None:
    made, client = lime.opened(felled, today() - timedelta(days=1)), visitor(place.people[role])
    assert {client.get("/dissections").status_code, client.get(f"/dissections/{made.uid}").status_code} == {see}
    forms = (f"/dissections/{made.uid}/cuts/new", f"/trees/{felled.uid}/dissections/new")
    assert {client.get(one).status_code for one in forms} == {record}


def test_the_pages_take_as_many_queries_for_many_cuts_as_for_few(place: Town, felled: Tree) -> None:
    client = visitor(place.people["forester"])
    other = lime.tree(today(), "L8", 350.0)
    lime.inspected(other, today() - timedelta(days=20))
    remove_tree(SERVICE, other, on=today() - timedelta(days=1), reason="hollow", stump_ground=False)
    counts = []
    for tree, cuts in ((felled, 2), (other, 8)):
        made = lime.opened(tree, today() - timedelta(days=1), cuts=cuts)
        with CaptureQueriesContext(connection) as caught:
            for address in (f"/dissections/{made.uid}", "/dissections", f"/trees/{tree.uid}"):
                assert client.get(address).status_code == 200
        counts.append(len(caught))
    assert counts[0] == counts[1]
