"""Storms, failures and outcomes over HTTP: from the rating of a tree to what became of it."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest

from assessments.models import RequiredCheck, Storm
from inventory.history import SERVICE
from inventory.models import Tree
from inventory.services import remove_tree
from tests.support import build, orders
from tests.support import dissections as opened
from tests.support import inspections as looks
from tests.support import storms as make
from tests.support.http import V1, as_role, pointers, problem
from tests.support.inspections import TODAY
from tests.support.query_counts import check, counted

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]
RATED, LATER = TODAY - timedelta(days=400), TODAY + timedelta(days=60)


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.calendar.today", lambda: TODAY)


def storm_body(**members: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "name": "October gale",
        "began_on": make.BLEW.isoformat(),
        "ended_on": make.BLEW.isoformat(),
        "gust_m_s": 27.5,
        "gust_source": "harbour mast",
    } | members


def failure_body(**members: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid.uuid4()),
        "part": "limb",
        "happened_from": make.BLEW.isoformat(),
        "struck": "vehicles",
        "damage": "minor",
        "seen_by": "street crew",
    } | members


def rated(east: float, failure: str = "possible", on: date = RATED) -> Tree:
    tree = build.tree(east)
    rating = looks.rating("low", failure=failure)
    looks.inspected(tree, looks.record(on, targets=(looks.target(),), ratings=(rating,), frame_years=3))
    return tree


def rates() -> dict[str, dict[str, Any]]:
    found = as_role("auditor").get(f"{V1}/outcomes").json()
    return {str(one["category"]): one for one in found["rates"]}


def years(start: date, end: date) -> float:
    return (end - start).days / 365.25


def test_from_a_rating_over_a_storm_to_the_rates(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten trees are rated; one is pruned, one felled, one breaks in a storm, and one broke before it was rated."""
    build.zone("N")
    trees = [rated(10.0 * n) for n in range(10)]
    forester, inspector = as_role("forester"), as_role("inspector")
    sent = storm_body(gusts=[{"zone": "N", "gust_m_s": 31.0}])
    first, again = (forester.post(f"{V1}/storms", sent) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200), first.content
    assert first.json() == again.json() == forester.get(first["Location"]).json()
    problem(forester.post(f"{V1}/storms", sent | {"name": "other"}), 409, "conflict")

    where = f"{V1}/trees/{trees[0].uid}/failures"
    broke = failure_body(storm=sent["uid"])
    answers = [inspector.post(where, broke) for _ in range(2)]
    assert [one.status_code for one in answers] == [201, 200], answers[0].content
    assert answers[0].json() == answers[1].json() == inspector.get(where).json()["items"][0]
    problem(inspector.post(where, broke | {"part": "stem"}), 409, "conflict")

    remove_tree(SERVICE, trees[1], on=TODAY - timedelta(days=100), reason="road works", stump_ground=False)
    crew = orders.crew()
    orders.report(crew, orders.item(crew, "reduce_crown", trees[2]))
    early = failure_body(happened_from=(RATED - timedelta(days=9)).isoformat())
    assert inspector.post(f"{V1}/trees/{trees[3].uid}/failures", early).status_code == 201

    monkeypatch.setattr("inventory.calendar.today", lambda: LATER)
    found = as_role("public_works").get(f"{V1}/outcomes").json()
    rate = next(one for one in found["rates"] if one["category"] == "possible")
    assert (rate["failures"], rate["storms"], rate["trees"]) == (1, 1, 10)
    ended = [make.BLEW, TODAY - timedelta(days=100), TODAY, *[LATER] * 7]  # broken, felled, pruned, standing
    assert rate["tree_years"] == pytest.approx(sum(years(RATED, end) for end in ended))
    assert rate["rate"] == pytest.approx(1 / rate["tree_years"])
    assert rate["low95"] < rate["rate"] < rate["high95"]
    assert found["counted"] == {"recorded": 2, "from_dissections": 0, "counted": 1}
    assert found["model"] is None
    assert any("count nowhere" in note for note in found["notes"])
    assert found["notes"][0].startswith("By category only")
    assert {one.split("/")[0] for one in found["methods"]} >= {"tree_years_at_risk", found["method"]}
    (row,) = found["storms"]
    assert (row["zone"], row["gust_m_s"], row["failures"]) == ("N", 31.0, 1)


@pytest.mark.parametrize(("action", "ends"), [("reduce_crown", True), ("restrict_target", True), ("diagnose", False)])
def test_time_ends_with_work_that_changes_tree_or_target_and_with_no_other(
    monkeypatch: pytest.MonkeyPatch, action: str, ends: bool
) -> None:
    tree, crew = rated(0.0), orders.crew()
    orders.report(crew, orders.item(crew, action, tree))
    monkeypatch.setattr("inventory.calendar.today", lambda: LATER)
    assert rates()["possible"]["tree_years"] == pytest.approx(years(RATED, TODAY if ends else LATER))


def test_a_failure_is_not_counted_twice_where_the_stem_was_opened_for_it_too() -> None:
    build.zone("N")
    told, untold = rated(0.0, "probable"), rated(50.0, "probable")
    storm = make.storm()
    make.failed(told, part="stem", storm=storm.uid)
    for tree in (told, untold):
        remove_tree(SERVICE, tree, on=make.BLEW + timedelta(days=2), reason="blown over", stump_ground=False)
        opened.dissected(tree, felled_on=make.BLEW + timedelta(days=2), reason="storm_failure")
    found = as_role("auditor").get(f"{V1}/outcomes").json()
    assert found["counted"] == {"recorded": 1, "from_dissections": 1, "counted": 2}
    assert found["storms_with_failures"] == 1
    (shown,) = as_role("auditor").get(f"{V1}/trees/{told.uid}/failures").json()["items"]
    assert shown["dissection"] == str(told.dissections.get().uid)
    assert shown["storm"] == {"uid": str(storm.uid), "name": storm.name}


def test_checks_after_a_storm_are_asked_for_only_where_the_forester_says_so() -> None:
    build.zone("N")
    high, low, mended = build.tree(), build.tree(20.0), build.tree(40.0)
    looks.inspected(high, looks.rated("high", RATED))
    looks.inspected(low, looks.rated("low", RATED))
    looks.inspected(mended, looks.rated("moderate", RATED))
    forester = as_role("forester")
    assert forester.post(f"{V1}/storms", storm_body()).json()["checks_asked"] == 0
    due_on = (TODAY + timedelta(days=5)).isoformat()
    asked = storm_body(ask_checks={"due_on": due_on, "zones": ["N"], "least_risk": "high"})
    assert forester.post(f"{V1}/storms", asked).json()["checks_asked"] == 1
    assert forester.post(f"{V1}/storms", asked).status_code == 200
    (row,) = RequiredCheck.objects.all()
    assert (row.tree, row.kind, row.source, row.due_on.isoformat()) == (high, "storm", "storm", due_on)
    wider = storm_body(ask_checks={"due_on": due_on})
    assert forester.post(f"{V1}/storms", wider).json()["checks_asked"] == 1  # high is asked for already
    assert {one.tree for one in RequiredCheck.objects.all()} == {high, mended}
    dues = as_role("auditor").get(f"{V1}/trees/{mended.uid}/priority").json()
    assert dues["inspect_by"] <= due_on


def test_a_tree_that_was_rated_since_the_storm_is_not_asked_for() -> None:
    tree = build.tree()
    looks.inspected(tree, looks.rated("high", make.BLEW + timedelta(days=1), trigger="storm"))
    sent = storm_body(ask_checks={"due_on": TODAY.isoformat()})
    assert as_role("forester").post(f"{V1}/storms", sent).json()["checks_asked"] == 0
    assert not RequiredCheck.objects.exists()


@pytest.mark.parametrize(
    ("members", "pointer"),
    [
        ({"ended_on": (make.BLEW - timedelta(days=1)).isoformat()}, "#/ended_on"),
        ({"ended_on": (make.BLEW + timedelta(days=15)).isoformat()}, "#/ended_on"),
        ({"began_on": "2027-01-01", "ended_on": "2027-01-01"}, "#/began_on"),
        ({"gust_m_s": 900}, "#/gust_m_s"),
        ({"gust_source": ""}, "#/gust_source"),
        ({"gusts": [{"zone": "nowhere", "gust_m_s": 30}]}, "#/gusts/0/zone"),
        ({"gusts": [{"zone": "N", "gust_m_s": 30}, {"zone": "N", "gust_m_s": 31}]}, "#/gusts/1/zone"),
        ({"ask_checks": {"due_on": "2020-01-01"}}, "#/ask_checks/due_on"),
        ({"ask_checks": {"due_on": "2027-01-01", "zones": ["nowhere"]}}, "#/ask_checks/zones/0"),
        ({"ask_checks": {"due_on": "2027-01-01", "least_risk": "low"}}, "#/ask_checks/least_risk"),
        ({"name": ""}, "#/name"),
    ],
)
def test_a_wrong_storm_is_named_and_nothing_is_stored(members: dict[str, Any], pointer: str) -> None:
    build.zone("N")
    answer = as_role("forester").post(f"{V1}/storms", storm_body(**members))
    assert pointers(problem(answer, 400, "invalid")) == {pointer}
    assert not Storm.objects.exists()
    assert not RequiredCheck.objects.exists()


@pytest.mark.parametrize(
    ("members", "pointer"),
    [
        ({"part": "twig"}, "#/part"),
        ({"struck": "nothing"}, "#/damage"),
        ({"happened_to": (make.BLEW - timedelta(days=1)).isoformat()}, "#/happened_to"),
        ({"happened_from": "2027-01-01"}, "#/happened_from"),
        ({"storm": str(uuid.UUID(int=0))}, "#/storm"),
        ({"finding": str(uuid.UUID(int=0))}, "#/finding"),
        ({"inspection": str(uuid.UUID(int=0))}, "#/inspection"),
        ({"seen_by": ""}, "#/seen_by"),
    ],
)
def test_a_wrong_failure_is_named(members: dict[str, Any], pointer: str) -> None:
    tree = build.tree()
    answer = as_role("inspector").post(f"{V1}/trees/{tree.uid}/failures", failure_body(**members))
    assert pointer in pointers(problem(answer, 400, "invalid"))
    assert not tree.failures.exists()


def test_a_failure_on_another_day_than_its_storm_is_refused() -> None:
    storm, tree = make.storm(), build.tree()
    late = failure_body(storm=str(storm.uid), happened_from=(make.BLEW + timedelta(days=2)).isoformat())
    answer = as_role("inspector").post(f"{V1}/trees/{tree.uid}/failures", late)
    assert pointers(problem(answer, 400, "invalid")) == {"#/storm"}


def test_a_tree_cannot_fail_after_it_was_removed_but_its_failure_may_be_told_late() -> None:
    tree, inspector = build.tree(), as_role("inspector")
    remove_tree(SERVICE, tree, on=make.BLEW, reason="blown over", stump_ground=False)
    where = f"{V1}/trees/{tree.uid}/failures"
    later = failure_body(happened_from=(make.BLEW + timedelta(days=1)).isoformat())
    problem(inspector.post(where, later), 409, "conflict")
    assert inspector.post(where, failure_body()).status_code == 201


def test_the_pictures_of_an_opened_stem_are_drawn() -> None:
    tree, reader = build.tree(), as_role("public_works")
    found = opened.dissected(tree)
    where = f"{V1}/dissections/{found.uid}"
    cut = found.cuts.first()
    for name in ("stem.svg", "cracks.svg", f"cuts/{cut.uid}.svg"):
        answer = reader.get(f"{where}/{name}")
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml"), answer.content
        assert answer.content.startswith(b"<svg")
        assert reader.get(f"{where}/{name}", headers={"If-None-Match": answer["ETag"]}).status_code == 304
    problem(reader.get(f"{where}/cuts/{uuid.uuid4()}.svg"), 404, "not-found")
    empty = opened.dissected(build.tree(30.0), cuts=[])
    problem(reader.get(f"{V1}/dissections/{empty.uid}/stem.svg"), 404, "not-found")


def test_lists_of_storms_and_failures_and_the_outcomes_make_no_query_a_row() -> None:
    build.zone("N")
    tree, reader = rated(0.0), as_role("auditor")
    addresses = {
        "storms": f"{V1}/storms",
        "failures of a tree": f"{V1}/trees/{tree.uid}/failures",
        "outcomes": f"{V1}/outcomes",
    }

    def one_more(day: int) -> None:
        on = make.BLEW - timedelta(days=day)
        storm = make.storm(on, gusts=(("N", 30.0),))
        make.failed(tree, on, storm=storm.uid)
        make.failed(rated(10.0 * day), on, storm=storm.uid)

    one_more(1)
    before = {name: counted(lambda url=url: reader.get(url)) for name, url in addresses.items()}
    for day in range(2, 6):
        one_more(day)
    for name, url in addresses.items():
        count = counted(lambda url=url: reader.get(url))
        assert count == before[name], name
        check(f"GET {name}", count)
