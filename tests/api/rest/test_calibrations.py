"""From opened stems to the next suggestion over HTTP; the review list; records for their owner and foresters only."""

import uuid
from typing import Any

import pytest
from rest_framework.test import APIClient

from inventory.history import SERVICE, Author
from inventory.services import remove_tree
from tests.support import build, sections
from tests.support import calibrations as make
from tests.support import inspections as looks
from tests.support.http import V1, as_role, caller, key, problem
from tests.support.inspections import TODAY
from tests.support.query_counts import check, counted
from workers import jobs
from workers.models import Job

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.calendar.today", lambda: TODAY)


def look(wall_cm: float, day: str = "2026-05-09") -> dict[str, Any]:
    """An inspection of a hollow lime as it is sent."""
    cavity = {"kind": "cavity", "part": "stem", "height_m": 0.4, "measures": {"opening_percent": 10.0}}
    target = {"kind": "people", "label": "footpath", "occupancy": "frequent", "exposure": "full"}
    rating = {"part": "stem", "target": 0, "finding": 0, "failure": "possible", "impact": "medium"}
    return {
        "uid": str(uuid.uuid4()),
        "inspected_at": f"{day}T12:00:00Z",
        "level": "advanced",
        "findings": [cavity],
        "targets": [target],
        "ratings": [rating | {"consequences": "significant", "why_different": "seen on the spot"}],
        "sections": [sections.measured(wall_cm) | {"finding": 0}],
        "frame_years": 3,
    }


def opened(fraction: float) -> dict[str, Any]:
    """A dissection of it as it is sent."""
    return {
        "uid": str(uuid.uuid4()),
        "felled_on": make.FELLED.isoformat(),
        "dissected_on": make.FELLED.isoformat(),
        "reason": "random_sample",
        "cuts": [dict(make.hollow_face(fraction).measured)],
    }


def fit(forester: APIClient) -> dict[str, Any]:
    """Ask for a calibration as a job, do what its worker does, and give what comes of it."""
    asked = forester.post(f"{V1}/calibrations", headers=key())
    assert asked.status_code == 202, asked.content
    # A worker reports beside the work over a connection of its own, which sees nothing of a test that is rolled back.
    job = Job.objects.get(uid=asked.json()["uid"])
    return jobs.RUNNERS[job.kind](Author(job.asked_by_id), job.params, lambda done, total, step: None)


def test_opened_stems_correct_the_next_suggestion_and_leave_decided_ratings() -> None:
    inspector, forester = as_role("inspector"), as_role("forester")
    standing = build.tree(dbh_cm=80.0)
    rated = inspector.post(f"{V1}/trees/{standing.uid}/inspections", look(14.0))
    assert rated.status_code == 201, rated.content
    for number in range(6):
        tree, wall = build.tree(number * 20 + 500, dbh_cm=80.0), 11.0 + number
        assert inspector.post(f"{V1}/trees/{tree.uid}/inspections", look(wall)).status_code == 201
        remove_tree(SERVICE, tree, on=make.FELLED, reason="felled", stump_ground=True)
        sent = inspector.post(f"{V1}/trees/{tree.uid}/dissections", opened(0.7 * wall / make.RADIUS_CM))
        assert sent.status_code == 201, sent.content
        assert sent.json()["results"][0]["method"] == "truth_against_judgement"
    before = inspector.post(f"{V1}/trees/{standing.uid}/inspections/preview", look(14.0)).json()
    assert before["failure_uncorrected"] is None
    assert fit(forester) == {"version": 1, "trees": 6, "created": True}
    assert fit(forester) == {"version": 1, "trees": 6, "created": False}
    after = inspector.post(f"{V1}/trees/{standing.uid}/inspections/preview", look(14.0)).json()
    assert after["failure_uncorrected"] == before["failure"]["category"] != after["failure"]["category"]
    assert after["corrections"][0]["said"].startswith("Corrected by 6 dissected trees")
    assert after["corrections"][0]["t_over_r"]["best"] < after["corrections"][0]["t_over_r_uncorrected"]["best"]
    (item,) = forester.get(f"{V1}/calibration-review").json()["items"]
    assert (item["tree"], item["decided"]) == (str(standing.uid), "possible")
    assert inspector.get(rated["Location"]).json()["ratings"] == rated.json()["ratings"]
    shown = inspector.get(rated["Location"]).json()["sections"][0]["corrections"]
    assert shown[0]["calibration"] == 1


def test_a_calibration_is_read_and_drawn() -> None:
    make.opened_row(6)
    forester = as_role("forester")
    fit(forester)
    (made,) = forester.get(f"{V1}/calibrations").json()["items"]
    assert forester.get(f"{V1}/calibrations/1").json() == made
    assert (made["version"], made["trees"], made["enough"]) == (1, 6, True)
    picture = forester.get(f"{V1}/calibrations/1/picture.svg")
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/svg+xml")
    assert b"<title" in picture.content
    problem(forester.get(f"{V1}/calibrations/2"), 404, "not-found")


def test_a_record_is_shown_to_its_owner_and_to_foresters_only() -> None:
    owner, other = build.user("inspector"), build.user("inspector")
    make.opened_row(2, author=Author(owner.pk))
    url = f"{V1}/assessors/{owner.pk}/record"
    assert caller(owner).get(f"{V1}/me/record").json() == as_role("forester").get(url).json()
    assert as_role("forester").get(url).json()["trees"] == 2
    assert caller(other).get(f"{V1}/me/record").json()["trees"] == 0
    problem(caller(owner).get(url), 403, "not-allowed")
    problem(caller(other).get(url), 403, "not-allowed")
    problem(as_role("forester").get(f"{V1}/assessors/999999/record"), 404, "not-found")


def test_assessors_are_listed_by_name_without_figures() -> None:
    for name in ("Zora", "Anna"):
        looks.inspected(build.tree(), looks.rated("low"), Author(build.user("inspector", name=name).pk))
    items = as_role("forester").get(f"{V1}/assessors").json()["items"]
    assert [one["name"] for one in items] == ["Anna", "Zora"]
    assert set(items[0]) == {"id", "name", "qualification"}
    found = as_role("forester").get(f"{V1}/assessors/agreement").json()
    assert (found["trees"], found["kappa"]) == (0, None)


def test_the_review_list_makes_no_query_a_row() -> None:
    make.opened_row(6)
    forester, url = as_role("forester"), f"{V1}/calibration-review"
    for number in range(4):
        make.standing(number)
    fit(forester)
    assert len(forester.get(f"{url}?limit=1").json()["items"]) == 1
    few = counted(lambda: forester.get(f"{url}?limit=1"))
    assert len(forester.get(url).json()["items"]) == 4
    assert counted(lambda: forester.get(url)) == few
    check("GET calibration-review forester", few)
