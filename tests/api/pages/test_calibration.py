"""The pages of the calibration: what was learnt in words, the review list, agreement; records for their owner only."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.pages import learned
from assessments import queries, services
from assessments.methods.risk import FAILURE
from assessments.models import Calibration
from inventory.history import Author
from tests.support import calibrations as make
from tests.support import inspections
from tests.support.pages import Town, text, visitor

pytestmark = pytest.mark.django_db


@pytest.fixture
def taught(place: Town) -> Calibration:
    """Eight limes opened whose walls were thinner than was read, one storm failure, and one that stands."""
    who = Author(place.people["inspector"].pk, "phone")
    make.opened_row(8, author=who)
    make.opened(20, 16.0, 0.5, reason="storm_failure")
    make.standing(40)
    return services.calibrate()[0]


def test_before_the_first_fit_the_page_says_that_nothing_is_corrected(place: Town) -> None:
    page = text(visitor(place.people["auditor"]).get("/calibration"))
    assert "Nothing has been fitted yet" in page
    assert "<img" not in page


def test_a_forester_fits_and_the_page_says_how_many_trees_correct(place: Town) -> None:
    make.opened_row(6)
    client = visitor(place.people["forester"])
    assert client.post("/calibration/fit").status_code == 302
    page = text(client.get("/calibration"))
    assert "Suggestions are corrected by 6 dissected trees" in page
    client.post("/calibration/fit")
    assert "Nothing was learned since calibration 1" in text(client.get("/calibration"))
    assert Calibration.objects.count() == 1
    assert visitor(place.people["inspector"]).post("/calibration/fit").status_code == 403


def test_effects_range_and_strata_are_said_in_words(place: Town, taught: Calibration) -> None:
    page = text(visitor(place.people["public_works"]).get("/calibration"))
    told = taught.parameters
    assert f"between t/R {told['lowest']:.2f} and {told['highest']:.2f}" in page
    assert "By the sign outside" in page
    assert 'It failed in a storm</span>: 1 tree, 1 cut <span class="state">not pooled' in page
    assert "not known yet" in page  # nothing sound was opened
    assert '/api/v1/calibrations/1/picture.svg" alt="' in page


def test_a_shift_is_said_as_what_an_estimate_of_0_35_becomes(taught: Calibration) -> None:
    """No shift leaves 0.35; one of ln 2 doubles the odds of 7 to 13."""
    effects = [
        {"factor": "sign", "level": "cavity", "trees": 3, "cuts": 9, "mean": mean, "low95": low, "high95": high}
        for mean, low, high in ((0.0, -0.1, 0.1), (0.6931471805599453, 0.2, 1.0), (-0.5, -1.0, -0.2))
    ]
    taught.parameters = taught.parameters | {"effects": effects}
    (group,) = learned.shown(taught).groups
    assert [round(one.best, 6) for one in group.effects[:2]] == [0.35, round(14 / 27, 6)]
    assert [one.says for one in group.effects] == [
        "not told apart from no shift",
        "walls are thicker than estimated",
        "walls are thinner than estimated",
    ]


def test_trees_whose_suggestion_rises_are_listed_with_what_was_decided(place: Town, taught: Calibration) -> None:
    (item,) = queries.review_list()
    page = text(visitor(place.people["inspector"]).get("/calibration/review"))
    assert f"/trees/{item.tree.uid}" in page
    assert re.findall(r'<td data-label="Decided">(\w+)</td>', page) == [item.rating.failure.capitalize()]


def test_an_older_version_is_shown_as_such(place: Town, taught: Calibration) -> None:
    make.opened(30, 15.0, 0.3)
    assert services.calibrate()[0].version == 2
    client = visitor(place.people["forester"])
    assert "An earlier calibration" in text(client.get("/calibration?version=1"))
    assert "An earlier calibration" not in text(client.get("/calibration?version=2"))
    assert client.get("/calibration?version=9").status_code == 404
    assert client.get("/calibration?version=x").status_code == 400


def test_agreement_names_nobody_and_stands_beside_the_published_spread(place: Town, taught: Calibration) -> None:
    tree, _ = make.standing(50)
    for role, failure in (("inspector", "possible"), ("forester", "probable")):
        record = make.look(12.0, make.SEEN + timedelta(days=30), failure)
        inspections.inspected(tree, record, Author(place.people[role].pk, "desk"))
    page = text(visitor(place.people["forester"]).get("/calibration"))
    assert "weighted kappa" in page
    assert "Okun et al. 2023" in page
    assert "How far assessors agree" not in text(visitor(place.people["inspector"]).get("/calibration"))


def test_a_record_is_for_its_owner_and_foresters_only(place: Town, taught: Calibration) -> None:
    inspector, forester, auditor = (place.people[one] for one in ("inspector", "forester", "auditor"))
    own = f"/assessors/{inspector.pk}/record"
    assert "Your own record" in text(visitor(inspector).get(own))
    assert f"Record of {inspector.name}" in text(visitor(forester).get(own))
    assert visitor(auditor).get(own).status_code == 403
    assert visitor(inspector).get(f"/assessors/{forester.pk}/record").status_code == 403
    assert "below 10 nothing is said" in text(visitor(inspector).get(own))


def test_outcomes_are_shown_by_category_with_what_they_leave_out(place: Town) -> None:
    page = text(visitor(place.people["auditor"]).get("/calibration/outcomes"))
    rows = re.findall(r'<th scope="row">(\w+)</th>', page)
    assert rows == [one.capitalize() for one in FAILURE]
    assert "0 failures counted of 0 known" in page
    assert "By category only: 0 failures in 0 storms" in page
    assert visitor(place.people["contractor"]).get("/calibration/outcomes").status_code == 403


@pytest.mark.parametrize(
    ("role", "status"),
    [("forester", 200), ("inspector", 200), ("public_works", 200), ("auditor", 200), ("contractor", 403)],
)
def test_each_role_gets_what_the_interface_gives_it(place: Town, role: str, status: int) -> None:
    client = visitor(place.people[role])
    assert {client.get("/calibration").status_code, client.get("/calibration/review").status_code} == {status}


def test_the_page_takes_as_many_queries_for_twenty_stems_as_for_six(place: Town) -> None:
    client, counts = visitor(place.people["forester"]), []
    for first, count in ((0, 6), (6, 14)):
        for n in range(first, first + count):
            make.opened(n, 10.0 + n / 4, 0.2)
        services.calibrate()
        with CaptureQueriesContext(connection) as caught:
            assert client.get("/calibration").status_code == 200
            assert client.get("/calibration/review").status_code == 200
        counts.append(len(caught))
    assert counts[0] == counts[1]
