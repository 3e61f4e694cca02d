"""Calibration: learned from opened stems, applied to later suggestions only, with the uncorrected figure beside it."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from assessments import calibrations, queries, services, truths
from assessments.methods.risk import FAILURE
from assessments.models import Calibration, Rating, ReviewItem, SectionCorrection
from assessments.services.truths import recompute_dissections
from inventory.history import SERVICE, Author
from inventory.models import Event
from inventory.services import remove_tree
from tests.support import build, dissections
from tests.support import calibrations as make
from tests.support import inspections as looks
from tests.support.inspections import TODAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
DAY = timedelta(days=1)


def truth(dissection: Any) -> dict[str, Any]:
    row = dissection.results.filter(method=truths.METHOD).order_by("-pk").first()
    assert row is not None
    return dict(row.result)


# Truth against judgement


def test_the_opened_stem_is_held_against_the_last_look_before_felling() -> None:
    tree = build.tree(dbh_cm=80.0)
    looks.inspected(tree, make.look(20.0, make.SEEN - 300 * DAY))
    last = looks.inspected(tree, make.look(12.0))
    record = replace(dissections.record(make.FELLED, cuts=[]), cuts=(make.hollow_face(0.2),))
    made = dissections.dissected(tree, record)
    row = made.results.get(method=truths.METHOD)
    assert row.inspection == last
    (height,) = row.result["heights"]
    # Read: 12 cm of 38 cm all round; found: a fifth of the radius. Arithmetic.
    assert height["t_over_r"]["predicted"]["best"] == pytest.approx(12 / 38, abs=0.01)
    assert height["t_over_r"]["found"] == pytest.approx(0.2, abs=0.01)
    assert row.result["threshold"]["verdict"] in ("missed", "right_crossed")


def test_a_tree_that_nobody_looked_at_judges_nothing() -> None:
    made = dissections.dissected(build.tree())
    assert not made.results.filter(method=truths.METHOD).exists()


def test_a_look_that_arrives_after_the_dissection_is_held_against_it_at_night() -> None:
    tree = build.tree(dbh_cm=80.0)
    record = replace(dissections.record(make.FELLED, cuts=[]), cuts=(make.hollow_face(0.2),))
    made = dissections.dissected(tree, record)
    looks.inspected(tree, make.look(12.0))
    assert recompute_dissections().results_added == 1
    assert recompute_dissections().results_added == 0
    assert truth(made)["heights"]


# Fitting


def test_nothing_is_fitted_twice_to_the_same_facts() -> None:
    make.opened_row(6)
    first, created = services.calibrate()
    again, created_again = services.calibrate()
    assert (created, created_again, again.pk) == (True, False, first.pk)
    assert (first.trees, len(first.dissections)) == (6, 6)
    assert Event.objects.get(kind="calibration.fitted").data["trees"] == 6


def test_another_opened_stem_makes_a_new_version_and_keeps_the_old_one() -> None:
    make.opened_row(6)
    services.calibrate()
    make.opened(50, 13.0, 0.2)
    second, created = services.calibrate()
    assert (second.version, second.trees, created) == (2, 7, True)
    assert [one.version for one in queries.calibrations()] == [2, 1]


def test_a_stem_whose_tree_stands_teaches_nothing_until_its_removal_is_recorded() -> None:
    tree, _ = make.standing(60, failure="improbable")
    record = replace(dissections.record(make.FELLED, cuts=[]), cuts=(make.hollow_face(0.2),))
    dissections.dissected(tree, record)
    assert services.calibrate()[0].trees == 0
    remove_tree(SERVICE, tree, on=make.FELLED, reason="felled", stump_ground=True)
    assert services.calibrate()[0].trees == 1


def test_storm_failures_are_listed_and_never_pooled() -> None:
    make.opened_row(6)
    make.opened(50, 13.0, 0.05, reason="storm_failure")
    made, _ = services.calibrate()
    by_reason = {one["reason"]: one for one in made.parameters["strata"]}
    assert made.trees == 6
    assert (by_reason["storm_failure"]["trees"], by_reason["storm_failure"]["pooled"]) == (1, False)


def test_a_calibration_without_any_dissection_corrects_nothing() -> None:
    made, _ = services.calibrate()
    assert made.trees == 0
    tree, _ = make.standing()
    found = services.preview(tree, make.look(14.0, TODAY), TODAY)
    assert found.uncorrected is None


# Applied


def test_a_later_suggestion_says_by_how_many_trees_it_is_corrected_and_shows_the_uncorrected_one() -> None:
    make.opened_row()
    tree, before = make.standing(failure="improbable")
    services.calibrate()
    found = services.preview(tree, make.look(14.0, TODAY), TODAY)
    assert found.corrections is not None
    (fixed,) = found.corrections.sections
    assert fixed is not None
    assert fixed.corrected.figure.best < fixed.corrected.uncorrected.best
    assert "Corrected by 8 dissected trees" in fixed.corrected.said
    assert found.uncorrected is not None
    assert FAILURE.index(found.failure.category) > FAILURE.index(found.uncorrected.category)
    assert found.uncorrected.category == before.ratings.get().failure_suggested


def test_a_recorded_inspection_keeps_both_figures_of_its_section_and_its_rating() -> None:
    make.opened_row()
    services.calibrate()
    _, inspection = make.standing(failure="improbable")
    rating, kept = inspection.ratings.get(), SectionCorrection.objects.get()
    told = rating.suggestion["calibration"]
    assert (told["trees"], told["version"]) == (8, 1)
    assert rating.failure_suggested != told["failure_uncorrected"]
    assert kept.result["t_over_r"]["best"] < kept.result["t_over_r_uncorrected"]["best"]
    assert kept.result["loss_percent"]["low"] <= kept.result["loss_percent"]["high"]
    assert "calibration/1" in rating.method_version


def test_outside_the_range_dissected_nothing_is_corrected_and_the_answer_says_so() -> None:
    make.opened_row()
    services.calibrate()
    tree, _ = make.standing()
    found = services.preview(tree, make.look(30.0, TODAY), TODAY)
    assert found.corrections is not None
    (fixed,) = found.corrections.sections
    assert fixed is not None
    assert not fixed.applied
    assert "outside the range dissected" in fixed.corrected.said
    assert found.uncorrected is None


def test_who_decided_by_the_uncorrected_suggestion_before_need_not_say_why() -> None:
    make.opened_row()
    tree, before = make.standing()
    uncorrected = before.ratings.get().failure_suggested
    assert uncorrected is not None
    services.calibrate()
    late = make.look(14.0, TODAY - 2 * DAY, failure=uncorrected)
    told = replace(late.ratings[0], why_different="", impact=before.ratings.get().impact_suggested or "low")
    kept, _ = services.record_inspection(SERVICE, tree, replace(late, ratings=(told,)), TODAY, now=looks.NOW)
    assert kept.ratings.get().why_different == "as suggested without calibration 1"


# The review list


def test_a_decided_rating_stays_and_its_tree_enters_the_review_list() -> None:
    make.opened_row()
    tree, inspection = make.standing(failure="improbable")
    before = Rating.objects.values().get(inspection=inspection)
    services.calibrate()
    assert Rating.objects.values().get(inspection=inspection) == before
    (item,) = queries.review_list()
    assert (item.tree, item.rating.pk, item.suggested) == (tree, before["id"], before["failure_suggested"])
    assert FAILURE.index(item.corrected) > FAILURE.index(item.suggested)


def test_a_tree_leaves_the_review_list_when_it_is_rated_anew_or_felled() -> None:
    make.opened_row()
    first, second = make.standing(0)[0], make.standing(1)[0]
    services.calibrate()
    assert queries.review_list().count() == 2
    looks.inspected(first, looks.rated("low", TODAY))
    assert [item.tree for item in queries.review_list()] == [second]
    remove_tree(SERVICE, second, on=TODAY, reason="felled", stump_ground=True)
    assert not queries.review_list().exists()


def test_a_newer_calibration_has_a_review_list_of_its_own() -> None:
    make.opened_row()
    make.standing()
    services.calibrate()
    make.opened(60, 13.0, 0.25)
    services.calibrate()
    assert {item.calibration_id for item in queries.review_list()} == {2}
    assert ReviewItem.objects.filter(calibration=1).exists()


def test_a_calibration_of_an_older_method_is_not_applied(monkeypatch: pytest.MonkeyPatch) -> None:
    make.opened_row()
    services.calibrate()
    assert calibrations.in_force() is not None
    monkeypatch.setattr(calibrations, "VERSION", calibrations.VERSION + 1)
    assert calibrations.in_force() is None
    assert Calibration.objects.count() == 1


# Assessors


def test_agreement_is_of_those_who_saw_the_same_tree_in_the_same_state() -> None:
    people = [Author(build.user("inspector").pk) for _ in range(2)]
    for number in range(4):
        tree = build.tree(number * 20)
        for place, author in enumerate(people):
            looks.inspected(tree, looks.rated("high" if number % 2 else "low", TODAY - (40 - place) * DAY), author)
    looks.inspected(tree, looks.rated("low", TODAY - 900 * DAY), Author(build.user("inspector").pk))
    found = queries.agreement()
    assert (found.trees, found.assessors, found.pairs, found.spread) == (4, 2, 4, 0.0)
    assert found.kappa is not None
    # Both said the same of every tree: kappa is 1 by its definition.
    assert found.kappa.value == pytest.approx(1.0)


def test_a_record_holds_what_one_person_judged_and_nothing_of_others() -> None:
    one, other = build.user("inspector", name="Ada"), build.user("inspector", name="Ben")
    make.opened_row(10, author=Author(one.pk))
    make.opened(70, 15.0, 0.1, Author(other.pk))
    mine, theirs = queries.record_of_assessor(one), queries.record_of_assessor(other)
    assert (mine.trees, theirs.trees) == (10, 1)
    # Each wall found was 0.7 of the wall read, of 10 to 19 cm of 38 cm: arithmetic.
    assert mine.mean_error == pytest.approx(-0.3 * (14.5 / 38), abs=0.01)
    assert theirs.mean_error is None
    assert [user.pk for user in queries.assessors()] == [one.pk, other.pk]
