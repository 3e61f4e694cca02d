"""From judgement to decision and from the opened stem back to judgement: a roadside lime, through HTTP only."""

import io
import uuid
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import pytest

from deploy.demo import sketches
from tests.journeys.running import City, Client, running_city
from tests.journeys.test_main_job import SOON, People, done, people_of

pytestmark = pytest.mark.journey

NOW = datetime.now(UTC).replace(microsecond=0)
TODAY = NOW.date().isoformat()
SEEN = (NOW - timedelta(hours=1)).isoformat()
RADIUS_CM = 38.0  # of 80 cm over 2 cm of bark
WALLS_CM = (12.0, 10.0, 11.0, 13.0, 14.0, 15.0)  # as drilled; the first is the lime of the story
THINNER = 0.7  # what was found over what was drilled
STANDING_CM = 14.0
LIKELIHOODS = ["improbable", "possible", "probable", "imminent"]


def plant(by: People, number: int) -> str:
    """A lime on a planting strip, added at a desk."""
    lime = by.forester.get("/api/v1/species?q=Tilia+cordata")["items"][0]
    body = {
        "location": {"type": "Point", "coordinates": [-29.5 + number * 0.0005, 45.0]},
        "species_id": lime["id"],
        "tag": f"KERB-{number}",
        "site": {"street": "Quay Road", "growing_space": "strip", "strip_width_m": 2.0},
        "size": {"measured_on": TODAY, "method": "tape", "dbh_cm": 76.0, "height_m": 20.0, "crown_m": 11.0},
    }
    return str(by.forester.post("/api/v1/trees", body)["uid"])


def look(wall_cm: float, failure: str = "possible", impact: str = "medium") -> dict[str, Any]:
    """A cavity at the kerb, a fruiting body, a seam above; drilled all round, with the wind on its crown."""
    readings = [{"azimuth_deg": 45.0 * n, "sound_wall_cm": wall_cm, "method": "drilling"} for n in range(8)]
    cavity = {"kind": "cavity", "part": "stem", "height_m": 0.4, "azimuth_deg": 100, "part_diameter_cm": 80}
    fungus = {"kind": "fruiting_body", "part": "root_collar", "height_m": 0.1, "measures": {"count": 2}}
    seam = {"kind": "seam", "part": "stem", "height_m": 1.1, "azimuth_deg": 100, "part_diameter_cm": 76}
    return {
        "uid": str(uuid.uuid4()),
        "inspected_at": SEEN,
        "level": "advanced",
        "trigger": "follow_up",
        "frame_years": 3,
        "findings": [
            cavity | {"measures": {"opening_percent": 10.0}},
            fungus,
            seam | {"measures": {"type": "closed", "length_cm": 120}},
        ],
        "targets": [
            {"kind": "people", "label": "footway", "occupancy": "frequent", "exposure": "full", "restrictable": True}
        ],
        "ratings": [
            {
                "part": "stem",
                "target": 0,
                "finding": 0,
                "failure": failure,
                "impact": impact,
                "consequences": "severe",
                "why_different": "judged on the spot",
            }
        ],
        "sections": [{"height_m": 0.4, "diameter_cm": 80.0, "bark_cm": 2.0, "readings": readings, "finding": 0}],
        "stem_load": {"crown_base_m": 4.0, "crown_width_m": 11.0, "bark_cm": 2.0},
    }


def opened(wall_cm: float, cuts: int) -> dict[str, Any]:
    """A stem cut every 15 cm about the height that was drilled: the wall is thinner there, and thickens upward."""
    faces = []
    for place in range(cuts):
        wall = THINNER * wall_cm / RADIUS_CM + 0.03 * place
        hollow = {"diameter_cm": 2 * RADIUS_CM * (1 - wall)}
        where = {"height_m": 0.4} if place == 0 else {"above_last_cm": 15.0}
        faces.append({**where, "diameter_cm": 80.0, "bark_cm": 2.0, "cavities": [hollow]})
    faces[-1]["cracks"] = [{"azimuth_deg": 100.0, "gap_to_edge_cm": 1.0, "run_cm": 6.0}]
    return {
        "uid": str(uuid.uuid4()),
        "felled_on": TODAY,
        "dissected_on": TODAY,
        "reason": "predicted_weakness",
        "cuts": faces,
    }


def twice(client: Client, address: str, sent: dict[str, Any]) -> Any:
    """What comes twice is stored once, and other content under its uid is refused."""
    first, again = client.post(address, sent), client.call("POST", address, sent)
    assert (again.status, again.json["uid"]) == (200, first["uid"])
    assert client.call("POST", address, sent | {"note": "other"}).status == 409
    return first


def add_photo(client: Client, tree: str, finding: str) -> None:
    """A picture of the collar, sent as a browser's form."""
    mark = "form" + uuid.uuid4().hex
    parts = {"about": "finding", "about_uid": finding, "caption": "Collar beside the kerb"}
    text = "".join(
        f'--{mark}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n' for name, value in parts.items()
    )
    head = f'--{mark}\r\nContent-Disposition: form-data; name="file"; filename="collar.png"\r\n\r\n'
    form = (text + head).encode() + sketches.collar() + f"\r\n--{mark}--\r\n".encode()
    address = f"/api/v1/trees/{tree}/photos"
    answer = client.call("POST", address, form, content=f"multipart/form-data; boundary={mark}")
    assert answer.status == 201, answer


def choose(by: People, inspection: str) -> str:
    """Options side by side, none preselected, one dropped with a reason; the uid of felling."""
    address = f"/api/v1/inspections/{inspection}/options"
    by.inspector.post(f"{address}/proposals", {}, expect=200)
    found = by.inspector.get(address)["items"]
    kinds = {one["kind"]: one for one in found}
    assert {"retain_and_monitor", "reduce_crown", "remove_and_replant"} <= kinds.keys(), sorted(kinds)
    assert not any(one.get("chosen") or one.get("preselected") for one in found)
    extra = next(one for one in found if one["kind"] == "temporary_closure")
    where = f"/api/v1/options/{extra['uid']}"
    dropped = by.inspector.call(
        "PATCH", where, {"dropped_why": "the footway cannot be closed"}, If_Match=by.inspector.etag(where)
    )
    assert dropped.status == 200, dropped
    left = by.inspector.get(address)
    compared = {one["kind"] for one in left["comparison"]["result"]["options"]}
    assert compared == kinds.keys() - {"temporary_closure"}
    return str(kinds["remove_and_replant"]["uid"])


def issue(by: People, tree: str, inspection: str) -> None:
    """The written report: the same bytes for ever, its words, its pages, its drawings."""
    sent = {
        "uid": str(uuid.uuid4()),
        "valid_until": (NOW + timedelta(days=300)).date().isoformat(),
        "recommendation": "Fell the lime and cut its stem open.",
    }
    address = f"/api/v1/inspections/{inspection}/reports"
    report = by.inspector.post(address, sent)
    assert by.inspector.call("POST", address, sent).status == 200
    paper = by.auditor.call("GET", report["pdf"]).body
    assert by.auditor.call("GET", report["pdf"]).body == paper
    words = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(paper)).pages).split())
    for said in (
        "Fell the lime and cut its stem open.",
        "KERB-0",
        "Collar beside the kerb",
        "footway",
        report["number"],
    ):
        assert said in words
    look_at_the_pages(paper)
    page = by.auditor.call("GET", report["html"]).body.decode()
    assert "Fell the lime and cut its stem open." in page
    assert by.auditor.get(f"/api/v1/trees/{tree}/reports")["items"][0]["sha256"] == report["sha256"]


def look_at_the_pages(paper: bytes) -> None:
    """Each page holds ink; one at least holds colour, and some hold drawings and a photo."""
    document = pypdfium2.PdfDocument(paper)
    assert len(document) >= 2
    inked, coloured = [], 0
    for number in range(len(document)):
        picture = document[number].render(scale=0.5).to_pil().convert("RGB")
        pixels = np.asarray(picture).astype(int)
        inked.append(float((pixels.max(-1) < 200).mean()))
        coloured += int((pixels.max(-1) - pixels.min(-1) > 40).sum() > 300)
    assert min(inked) > 0.0005
    assert coloured
    kinds = [one.type for page in document for one in page.get_objects()]
    assert kinds.count(pypdfium2.raw.FPDF_PAGEOBJ_PATH) > 30  # lines of the drawings
    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE in kinds  # the photo


def decide(by: People, tree: str, option: str) -> None:
    """A decision makes no order, and comes once."""
    sent = {
        "uid": str(uuid.uuid4()),
        "option": option,
        "decided_on": TODAY,
        "decided_by": "Ada",
        "office": "City Forester",
        "why": "thin wall above a footway that cannot be moved",
    }
    first = by.forester.post(f"/api/v1/trees/{tree}/decisions", sent)
    assert by.forester.call("POST", f"/api/v1/trees/{tree}/decisions", sent).status == 200
    assert by.forester.get(f"/api/v1/decisions/{first['uid']}")["why"] == sent["why"]
    assert by.forester.get("/api/v1/orders")["items"] == []


def fell(by: People, trees: Sequence[str]) -> None:
    """Ordered, accepted, reported as done."""
    contractors = {one["name"]: one["id"] for one in by.forester.get("/api/v1/contractors")["items"]}
    items = [{"tree": tree, "action": "remove"} for tree in trees]
    order = by.forester.post(
        "/api/v1/orders", {"contractor": contractors["Larkrow Tree Works"], "due_on": SOON, "items": items}
    )
    address = f"/api/v1/orders/{order['uid']}"
    by.forester.post(f"{address}/issue", {}, expect=200, If_Match=by.forester.etag(address))
    by.crew.post(f"{address}/accept", {}, expect=200, If_Match=by.crew.etag(address))
    for item in by.crew.get(address)["items"]:
        report = {"uid": str(uuid.uuid4()), "outcome": "done", "worked_at": NOW.isoformat()}
        by.crew.post(f"/api/v1/order-items/{item['uid']}/reports", report)
    assert {by.forester.get(f"/api/v1/trees/{tree}")["state"] for tree in trees} == {"stump"}


def open_the_stems(by: People, trees: Sequence[str]) -> None:
    """The lime in eight cuts, one of which comes late; the others in three. Each is held against its judgement."""
    for place, (tree, wall) in enumerate(zip(trees, WALLS_CM, strict=True)):
        found = twice(by.inspector, f"/api/v1/trees/{tree}/dissections", opened(wall, 3 if place else 7))
        truth = next(one for one in found["results"] if one["method"] == "truth_against_judgement")["result"]
        at = next(one for one in truth["heights"] if one["height_m"] == 0.4)
        assert at["t_over_r"]["predicted"]["best"] == pytest.approx(wall / RADIUS_CM, abs=0.02)
        assert at["t_over_r"]["found"] == pytest.approx(THINNER * wall / RADIUS_CM, abs=0.02)
        if place == 0:
            late = {"uid": str(uuid.uuid4()), "height_m": 1.45, "diameter_cm": 80.0, "bark_cm": 2.0}
            address = f"/api/v1/dissections/{found['uid']}/cuts"
            assert len(by.inspector.post(address, late)["cuts"]) == 8
            assert by.inspector.call("POST", address, late).status == 200
            assert by.inspector.call("POST", address, late | {"diameter_cm": 70.0}).status == 409


def learn(by: People, standing: str, rated: dict[str, Any]) -> None:
    """The next suggestion is corrected and says by how many trees; what was decided stays; the tree is on the list."""
    preview = f"/api/v1/trees/{standing}/inspections/preview"
    before = by.inspector.post(preview, look(STANDING_CM), expect=200)
    assert before["failure_uncorrected"] is None
    fitted = done(by.forester, by.forester.post("/api/v1/calibrations", {}, expect=202))
    assert (fitted["trees"], fitted["created"]) == (len(WALLS_CM), True)
    after = by.inspector.post(preview, look(STANDING_CM), expect=200)
    correction = after["corrections"][0]
    assert correction["said"].startswith(f"Corrected by {len(WALLS_CM)} dissected trees")
    assert correction["t_over_r_uncorrected"]["best"] == pytest.approx(STANDING_CM / RADIUS_CM, abs=0.02)
    assert f"uncorrected t/R {correction['t_over_r_uncorrected']['best']:.2f}" in correction["said"]
    assert correction["t_over_r"]["best"] < correction["t_over_r_uncorrected"]["best"]
    assert after["failure_uncorrected"] == before["failure"]["category"]
    worse, was = (LIKELIHOODS.index(one) for one in (after["failure"]["category"], after["failure_uncorrected"]))
    assert worse >= was
    kept = by.inspector.get(f"/api/v1/inspections/{rated['uid']}")
    assert kept["ratings"] == rated["ratings"]
    listed = {one["tree"] for one in by.forester.items("/api/v1/calibration-review")}
    assert (standing in listed) == (worse > was)
    assert worse > was


def test_a_roadside_lime_from_inspection_to_the_next_suggestion(tmp_path: Path) -> None:
    with running_city("Harrowmere", 32626, tmp_path) as city:
        walk(city)


def walk(city: City) -> None:
    """The whole way."""
    by = people_of(city)
    trees = [plant(by, number) for number in range(len(WALLS_CM))]
    standing = plant(by, len(WALLS_CM))
    seen = [
        by.inspector.post(f"/api/v1/trees/{tree}/inspections", look(wall, "probable", "high"))
        for tree, wall in zip(trees, WALLS_CM, strict=True)
    ]
    rated = by.inspector.post(f"/api/v1/trees/{standing}/inspections", look(STANDING_CM))
    story = seen[0]["uid"]
    add_photo(by.inspector, trees[0], seen[0]["findings"][0]["uid"])
    option = choose(by, story)
    issue(by, trees[0], story)
    decide(by, trees[0], option)
    fell(by, trees)
    open_the_stems(by, trees)
    learn(by, standing, rated)
