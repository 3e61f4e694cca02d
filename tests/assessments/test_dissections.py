"""Dissections: recorded once however late, rebuilt from all cuts there are, and asked for by lot."""

import uuid
from dataclasses import replace
from datetime import timedelta
from math import pi
from typing import Any

import pytest

from assessments import dissections, queries, services, truths
from assessments.dissection_records import CutRecord, DissectionRecord
from assessments.methods import dissection as method
from assessments.models import Dissection, DissectionCut, DissectionResult
from assessments.services.truths import recompute_dissections
from inventory.history import SERVICE, Author
from inventory.models import Event, Tree
from inventory.problems import Conflict, Invalid, Refusal
from inventory.services import remove_tree
from tests.support import build
from tests.support import dissections as make
from tests.support import inspections as looks
from tests.support.inspections import TODAY
from tests.support.work import counting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)


def everything() -> list[int]:
    models: list[Any] = [Dissection, DissectionCut, DissectionResult, Event]
    return [model.objects.count() for model in models]


def refused(tree: Tree, record: DissectionRecord, *pointers: str, kind: type[Refusal] = Invalid) -> Refusal:
    before = everything()
    with pytest.raises(kind) as caught:
        services.record_dissection(SERVICE, tree, record, TODAY)
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == list(pointers)
    return caught.value


def stem(made: Dissection) -> DissectionResult:
    found = queries.dissection(made.uid).results.filter(method=dissections.METHOD).order_by("-pk").first()
    assert found is not None
    return found


def test_a_dissection_is_attributed_and_tells_of_itself() -> None:
    person, tree = build.user("inspector"), build.tree()
    made, created = services.record_dissection(Author(person.pk, "request-3"), tree, make.record(), TODAY)
    event = Event.objects.get(kind="dissection.recorded")
    assert (created, made.recorded_by_id, event.tree_id) == (True, person.pk, tree.pk)
    assert event.data == {"reason": "predicted_weakness", "cuts": 8, "felled_on": make.FELLED.isoformat()}


def test_cuts_stand_at_their_heights_above_ground() -> None:
    made = make.dissected(build.tree(), make.record(measured={"stump_height_m": 0.2}))
    heights = [cut.height_m for cut in made.cuts.order_by("height_m")]
    assert heights == pytest.approx([0.2 + 0.15 * n for n in range(1, 9)])


def test_the_stem_is_rebuilt_with_method_and_version() -> None:
    made = make.dissected(build.tree())
    found = stem(made)
    # A hollow of 40 % of the face in the middle of a circle leaves 60 % of its area: arithmetic, no source needed.
    foot = found.result["cuts"][0]
    assert foot["gross_area_cm2"] == pytest.approx(pi * 38**2, rel=1e-3)
    assert foot["sound_area_cm2"] / foot["gross_area_cm2"] == pytest.approx(0.6, abs=1e-3)
    assert (found.version, "/" in found.rests_on) == (dissections.VERSION, True)
    assert found.result["masses"] is not None, "the wood of a lime is known"


def test_the_same_uid_and_content_is_the_same_dissection_for_ever() -> None:
    tree, record = build.tree(), make.record()
    first, created = services.record_dissection(SERVICE, tree, record, TODAY)
    services.add_cut(SERVICE, first, make.later_cut())
    before = everything()
    again, created_again = services.record_dissection(SERVICE, tree, record, TODAY + 400 * DAY)
    assert (created, created_again, again.pk) == (True, False, first.pk)
    assert everything() == before


def test_the_same_uid_with_other_content_is_refused() -> None:
    tree, record = build.tree(), make.record()
    make.dissected(tree, record)
    refused(tree, replace(record, note="something else"), kind=Conflict)
    refused(build.tree(50), record, kind=Conflict)


def test_a_cut_comes_later_once_and_all_is_computed_anew_with_it() -> None:
    made = make.dissected(build.tree())
    old, cut = stem(made), make.later_cut(3.0)
    added, created = services.add_cut(SERVICE, made, cut)
    again, created_again = services.add_cut(SERVICE, made, cut)
    assert (created, created_again, again.pk) == (True, False, added.pk)
    new = stem(made)
    assert (len(old.result["cuts"]), len(new.result["cuts"])) == (8, 9)
    assert DissectionResult.objects.filter(pk=old.pk).exists(), "what was made of fewer cuts is kept"
    with pytest.raises(Conflict):
        services.add_cut(SERVICE, made, replace(cut, measured=make.face(height_m=3.0, insects=True)))


def test_a_dissection_may_begin_without_cuts() -> None:
    made = make.dissected(build.tree(), make.record(cuts=[]))
    assert not made.results.exists()
    services.add_cut(SERVICE, made, make.later_cut(0.5))
    assert len(stem(made).result["cuts"]) == 1


def test_the_order_in_which_cuts_arrive_does_not_matter() -> None:
    cuts = [make.later_cut(height, share_percent=share) for height, share in ((0.3, 40.0), (0.6, 30.0), (0.9, 20.0))]
    tree, found = build.tree(), []
    for order in ((0, 1, 2), (2, 0, 1)):
        made = make.dissected(tree, make.record(cuts=[]))
        for place in order:
            services.add_cut(SERVICE, made, replace(cuts[place], uid=uuid.uuid4()))
        found.append([{**one, "uid": None} for one in stem(made).result["cuts"]])
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        ("#/reason", {"reason": "boredom"}),
        ("#/dissected_on", {"dissected_on": TODAY + DAY}),
        ("#/dissected_on", {"dissected_on": make.FELLED - DAY}),
        ("#/weighed", {"cuts": (), "measured": {"weighed": [{"from_m": 0, "to_m": 1, "mass_kg": 50}]}}),
        ("#/cuts/1/diameter_cm", {"cuts": (CutRecord(make.face()), CutRecord({"above_last_cm": 15}))}),
        ("#/cuts/0/cracks/0/run_cm", {"cuts": (CutRecord(make.face(cracks=[{"azimuth_deg": 1, "run_cm": 90}])),)}),
        ("#/green_density_kg_m3", {"measured": {"green_density_kg_m3": 1}}),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_changed(pointer: str, changes: dict[str, Any]) -> None:
    refused(build.tree(), replace(make.record(), **changes), pointer)


@pytest.mark.parametrize(
    ("pointer", "measured"),
    [
        ("#/height_m", make.face()),
        ("#/height_m", make.face(height_m=0.15)),
        ("#/diameter_cm", make.face(height_m=3.0, diameter_cm=-4)),
        ("#/colour", make.face(height_m=3.0, colour="red")),
    ],
)
def test_a_later_cut_that_is_wrong_is_named_and_nothing_is_changed(pointer: str, measured: dict[str, Any]) -> None:
    made = make.dissected(build.tree())
    before = everything()
    with pytest.raises(Invalid) as caught:
        services.add_cut(SERVICE, made, CutRecord(measured, uuid.uuid4()))
    assert everything() == before
    assert [error.pointer for error in caught.value.errors] == [pointer]


def test_a_tree_inspected_after_it_is_said_to_be_felled_is_refused() -> None:
    tree = build.tree()
    looks.inspected(tree, looks.record(TODAY))
    refused(tree, make.record(), kind=Conflict)


def test_an_older_version_of_the_method_stays_beside_the_new_one(monkeypatch: pytest.MonkeyPatch) -> None:
    made = make.dissected(build.tree())
    assert recompute_dissections().as_dict() == {"results_added": 0, "dissections_refused": 0}
    monkeypatch.setattr(dissections, "VERSION", dissections.VERSION + 1)
    before = made.results.count()
    assert recompute_dissections().results_added >= 1
    assert recompute_dissections().results_added == 0
    versions = set(made.results.filter(method=dissections.METHOD).values_list("version", flat=True))
    assert versions == {dissections.VERSION - 1, dissections.VERSION}
    assert made.results.count() > before


def felled(number: int, risk: str | None = None) -> Tree:
    tree = build.tree(number * 20)
    if risk:
        looks.inspected(tree, looks.rated(risk, TODAY - 100 * DAY))
    return remove_tree(SERVICE, tree, on=TODAY - 5 * DAY, reason="felled", stump_ground=True)


def test_a_felled_tree_that_was_rated_weak_asks_to_be_opened_until_it_was() -> None:
    weak, _ = felled(1, "high"), build.tree(500)
    (asked,) = [one for one in queries.dissection_requests(TODAY) if one.tree == weak]
    assert asked.reason == "predicted_weakness"
    make.dissected(weak, felled_on=TODAY - 5 * DAY)
    assert weak not in [one.tree for one in queries.dissection_requests(TODAY)]
    assert queries.dissection_requests(TODAY + 100 * DAY) == []


def test_only_the_newest_rating_tells_whether_a_tree_was_weak() -> None:
    tree = build.tree()
    looks.inspected(tree, looks.rated("high", TODAY - 300 * DAY))
    looks.inspected(tree, looks.rated("low", TODAY - 100 * DAY))
    remove_tree(SERVICE, tree, on=TODAY - 5 * DAY, reason="building site", stump_ground=True)
    assert {one.reason for one in queries.dissection_requests(TODAY)} <= {"random_sample"}


def test_the_lot_falls_by_the_uid_of_the_tree_alone() -> None:
    for number in range(40):
        felled(number)
    asked = {one.tree.uid for one in queries.dissection_requests(TODAY)}
    assert asked == {tree.uid for tree in Tree.objects.all() if queries.dissections.draw(tree.uid) < 0.075}
    assert asked == {one.tree.uid for one in queries.dissection_requests(TODAY)}


def test_the_share_drawn_is_the_share_asked_for() -> None:
    drawn = [queries.dissections.draw(uuid.UUID(int=number)) for number in range(20_000)]
    share = sum(one < 0.075 for one in drawn) / len(drawn)
    # Five standard deviations of a binomial share: arithmetic.
    assert abs(share - 0.075) < 5 * (0.075 * 0.925 / len(drawn)) ** 0.5


def test_the_number_of_statements_does_not_grow_with_the_cuts(django_assert_max_num_queries: Any) -> None:
    tree = build.tree()
    with django_assert_max_num_queries(25):
        make.dissected(tree, make.record(cuts=make.faces(1)))
    with django_assert_max_num_queries(25):
        make.dissected(tree, make.record(cuts=make.faces(9)))


def test_a_stem_is_rebuilt_once_for_all_that_is_told_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    tree = build.tree()
    looks.inspected(tree, looks.rated("high", TODAY.replace(month=6)))
    calls = counting(monkeypatch, method, "rebuild")
    found = make.dissected(tree)
    assert len(calls) == 1
    assert {row.method for row in found.results.all()} == {dissections.METHOD, truths.METHOD}
    services.add_cut(SERVICE, found, make.later_cut(3.0))
    assert len(calls) == 2
    assert found.results.count() == 4


def test_a_tree_is_not_felled_after_it_was_removed() -> None:
    tree = build.tree()
    remove_tree(SERVICE, tree, on=make.FELLED, reason="felled", stump_ground=False)
    refused(tree, make.record(make.FELLED + DAY), "#/felled_on")
    assert make.dissected(tree).felled_on == make.FELLED
