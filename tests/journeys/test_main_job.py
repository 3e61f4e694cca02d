"""The main job on real cities: a tree file in, inspections, priorities, an order, a report, the inventory changed."""

import csv
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.journeys.running import City, Client, running_city, wait_for
from tests.support.open_data import open_data

pytestmark = pytest.mark.journey

TODAY = datetime.now(UTC).replace(microsecond=0)
SOON = (TODAY + timedelta(days=30)).date().isoformat()
PEOPLE = {"kind": "people", "label": "pavement", "occupancy": "constant", "exposure": "full"}
QUIET = {"kind": "people", "label": "yard", "occupancy": "rare", "exposure": "partial"}


def finding(kind: str, part: str, **measures: Any) -> dict[str, Any]:
    return {"kind": kind, "part": part, "measures": measures}


# Ten inspections: findings, target, decided (failure, impact, consequences), and the risk by the published matrices
# (ISA BMP Tree Risk Assessment, 2nd ed. 2017, worked by hand).
HANGER = finding("broken_branch", "branch", state="hanging", diameter_cm=14)
CRACK = finding("crack", "stem", type="longitudinal", through=True, length_cm=150)
CAVITY = finding("cavity", "stem", opening_percent=20, depth_cm=25, shell_cm=4)
DEAD = finding("dead_wood", "branch", largest_diameter_cm=6)
INCLUDED = finding("included_bark_union", "union", aspect_ratio=0.8)
LEAN = finding("lean", "stem", type="natural", angle_deg=8)
FUNGUS = finding("fruiting_body", "root_collar", count=2, size_cm=15) | {
    "fungus_genus": "Ganoderma",
    "fungus_confidence": "probable",
}
ROOTS = finding("root_loss", "root", cause="cut", roots_percent=45)
INSPECTIONS = [
    ([HANGER], PEOPLE, ("imminent", "high", "severe"), "extreme"),
    ([CRACK], PEOPLE, ("probable", "high", "severe"), "high"),
    ([CAVITY], PEOPLE, ("probable", "high", "significant"), "high"),
    ([ROOTS], PEOPLE, ("probable", "medium", "severe"), "moderate"),
    ([FUNGUS], PEOPLE, ("possible", "high", "significant"), "moderate"),
    ([INCLUDED], PEOPLE, ("possible", "high", "minor"), "low"),
    ([DEAD], PEOPLE, ("possible", "medium", "minor"), "low"),
    ([LEAN], QUIET, ("improbable", "very_low", "minor"), "low"),
    ([], QUIET, ("improbable", "very_low", "negligible"), "low"),
    ([DEAD, INCLUDED], QUIET, ("possible", "very_low", "severe"), "low"),
]


def body(given: tuple[list[dict[str, Any]], dict[str, Any], tuple[str, str, str], str]) -> dict[str, Any]:
    findings, target, (failure, impact, consequences), _ = given
    rating = {
        "part": findings[0]["part"] if findings else "stem",
        "target": 0,
        "failure": failure,
        "impact": impact,
        "consequences": consequences,
        "why_different": "judged on the spot",
    }
    if findings:
        rating["finding"] = 0
    return {
        "uid": str(uuid.uuid4()),
        "inspected_at": (TODAY - timedelta(hours=1)).isoformat(),
        "level": "basic",
        "trigger": "routine",
        "limits": "seen from the pavement",
        "frame_years": 3,
        "wind_exposure": "partial",
        "findings": findings,
        "targets": [target],
        "ratings": [rating],
    }


def done(client: Client, answer: dict[str, Any]) -> Any:
    """Wait for a job; its result."""
    job = wait_for(
        lambda: (found := client.get(f"/api/v1/jobs/{answer['uid']}"))["finished_at"] and found,
        f"the job {answer['kind']}",
        seconds=120,
    )
    assert job["state"] == "done", job
    return job["result"]


def rows_of(path: Path, delimiter: str = ",") -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file, delimiter=delimiter))


@pytest.fixture(scope="module")
def san_francisco(tmp_path_factory: pytest.TempPathFactory) -> Iterator[City]:
    open_data("inventories/san_francisco_street_trees_10000.csv")
    with running_city("San Francisco", 32610, tmp_path_factory.mktemp("sf")) as city:
        yield city


def test_san_francisco_from_file_to_felled_tree(san_francisco: City) -> None:
    city, path = san_francisco, open_data("inventories/san_francisco_street_trees_10000.csv")
    forester = city.person("forester", "Urban Forestry", "Ada")
    inspector = city.person("inspector", "Urban Forestry", "Ivo")
    crew = city.person("contractor", "Larkrow Tree Works", "Cleo")
    rivals = city.person("contractor", "Other Tree Works", "Rhea")
    works = city.person("public_works", "Public Works", "Pia")
    auditor = city.person("auditor", "Audit Office", "Abel")

    # Surveyed, mapped, checked, loaded.
    kept = forester.post_file("/api/v1/intake/files", path)
    chosen = {"sha256": kept["sha256"], "name": path.name}
    survey = done(forester, forester.post("/api/v1/intake/surveys", chosen, expect=202))
    load_body = chosen | {"mapping": survey["mapping"]}
    checked = done(forester, forester.post("/api/v1/intake/checks", load_body, expect=202))
    rows = rows_of(path)
    without_place = sum(1 for row in rows if not row["latitude"] or not row["longitude"])
    assert without_place == 125  # as SOURCES.md counts them
    assert checked["counts"]["rows"] == len(rows) == 10_000
    # Refused: without coordinates, and the tree 30 km south of its address.
    assert checked["counts"]["refused"] == without_place + 1
    assert city.public.get("/api/v1/trees?limit=1")["items"] == []
    loaded = done(forester, forester.post("/api/v1/intake/loads", load_body, expect=202))
    again = done(forester, forester.post("/api/v1/intake/loads", load_body, expect=202))
    assert (loaded["already_loaded"], again["already_loaded"]) == (False, True)
    assert again["load"] == loaded["load"]

    # Every tree has its priority by the real worker, and none is counted as low.
    no_tree = sum(1 for row in rows if row["species"].startswith("Potential Site"))
    assert no_tree == 1
    standing = len(rows) - without_place - 1 - no_tree
    summary = wait_for(
        lambda: (found := forester.get("/api/v1/due/summary"))["never_rated"] == standing and found,
        f"{standing} trees with a priority",
        seconds=90,
    )
    assert summary["by_risk"] == {"extreme": 0, "high": 0, "moderate": 0, "low": 0}
    unseen = forester.get("/api/v1/due/unseen?limit=20")["items"]
    assert len(unseen) == 20

    # Ten trees inspected; the worst come first.
    trees = [item["tree"] for item in unseen[:10]]
    for tree, given in zip(trees, INSPECTIONS, strict=True):
        sent = body(given)
        answer = inspector.post(f"/api/v1/trees/{tree}/inspections", sent)
        assert inspector.call("POST", f"/api/v1/trees/{tree}/inspections", sent).status == 200
        assert [rating["risk"] for rating in answer["ratings"]] == [given[3]]
    due = [item for item in forester.items("/api/v1/due?limit=5") if item["risk"]]
    assert [item["risk"] for item in due] == sorted(
        (item["risk"] for item in due), key=["extreme", "high", "moderate", "low"].index
    )
    assert due[0]["tree"] == trees[0]
    assert {item["tree"] for item in due[1:3]} == {trees[1], trees[2]}

    # The emergency went out as an order of its own, made by the worker from the news.
    urgent = wait_for(lambda: forester.get("/api/v1/orders?emergency=true")["items"], "the emergency order")
    assert len(urgent) == 1

    # The forester orders two removals from the due list; the contractor sees only its own, accepts, reports.
    contractors = {item["name"]: item["id"] for item in forester.get("/api/v1/contractors")["items"]}
    order = forester.post(
        "/api/v1/orders",
        {
            "contractor": contractors["Larkrow Tree Works"],
            "due_on": SOON,
            "items": [{"tree": tree, "action": "remove"} for tree in trees[1:3]],
        },
    )
    address = f"/api/v1/orders/{order['uid']}"
    assert crew.call("GET", address).status == 404
    forester.post(f"{address}/issue", {}, expect=200, If_Match=forester.etag(address))
    assert crew.get("/api/v1/orders")["items"][0]["uid"] == order["uid"]
    assert rivals.get("/api/v1/orders")["items"] == []
    assert rivals.call("GET", address).status == 404
    crew.post(f"{address}/accept", {}, expect=200, If_Match=crew.etag(address))
    item = next(one for one in crew.get(address)["items"] if one["tree"]["uid"] == trees[1])
    report = {"uid": str(uuid.uuid4()), "outcome": "done", "worked_at": TODAY.isoformat()}
    reports = f"/api/v1/order-items/{item['uid']}/reports"
    assert rivals.call("POST", reports, report).status == 404
    crew.post(reports, report)
    assert crew.call("POST", reports, report).status == 200
    assert crew.call("POST", reports, report | {"note": "other"}).status == 409
    verdict = {"uid": str(uuid.uuid4()), "verdict": "accepted"}
    inspector.post(f"/api/v1/order-items/{item['uid']}/verifications", verdict)

    # The inventory changed with the report; the history tells by whom.
    felled = forester.get(f"/api/v1/trees/{trees[1]}")
    assert felled["state"] == "stump"
    assert forester.get(f"/api/v1/sites/{felled['site']['uid']}")["state"] == "vacant"
    assert trees[1] not in {one["tree"] for one in forester.items("/api/v1/due?limit=1000")}
    acts = auditor.items(f"/api/v1/trees/{trees[1]}/history")
    assert {act["who"] for act in acts} >= {"Ada", "Ivo", "Cleo"}
    assert all(act["why"] for act in acts)
    first = acts[-1]
    assert first["who"] == "Ada"
    assert {row["noun"] for row in first["rows"]} >= {"tree", "site"}

    # The news is whole and in order; public works asks about a trench through the same trees.
    news = auditor.items("/api/v1/events?limit=50")
    positions = [event["position"] for event in news]
    assert positions == list(range(1, len(news) + 1))
    assert [event["kind"] for event in news].count("inspection.recorded") == 10
    place = felled["location"]["coordinates"]
    trench = {"type": "LineString", "coordinates": [place, [place[0] + 0.001, place[1]]]}
    near = works.post("/api/v1/near", {"geometry": trench, "distance_m": 30}, expect=200)
    assert near["total"] == len(near["trees"])
    assert trees[1] not in {one["tree"] for one in near["trees"]}
    assert all(one["distance_m"] <= 30 for one in near["trees"])


def test_paris_from_file_to_due_list(tmp_path: Path) -> None:
    path = open_data("inventories/paris_les_arbres_2948.csv")
    mapping, verdicts = tmp_path / "paris.toml", tmp_path / "verdicts.csv"
    with running_city("Paris", 32631, tmp_path) as city:
        city.manage("intake", "survey", str(path), "--write", str(mapping))
        city.manage("intake", "check", str(path), "--map", str(mapping), "--report", str(verdicts))
        city.manage("intake", "load", str(path), "--map", str(mapping))
        rows = rows_of(path, ";")
        assert len(rows) == 2948
        forester = city.person("forester", "Parcs", "Odile")
        summary = wait_for(
            lambda: (found := forester.get("/api/v1/due/summary"))["trees"] == len(rows) and found,
            "a priority for every tree",
            seconds=240,
        )
        assert summary["never_rated"] == len(rows)
        # Girth in cm becomes diameter: the largest tree of the file, worked out here.
        thickest = max(rows, key=lambda row: int(row["CIRCONFERENCE (cm)"]))
        girth = int(thickest["CIRCONFERENCE (cm)"])
        found = city.public.get(f"/api/v1/trees?dbh_min_cm={girth / 3.1416 - 0.1}&limit=1000")["items"]
        assert found[0]["dbh_cm"] == pytest.approx(girth / 3.14159265, rel=1e-6)
        unseen = forester.get("/api/v1/due/unseen?limit=5")["items"]
        assert len(unseen) == 5
        assert all(item["risk"] == "" for item in unseen)
