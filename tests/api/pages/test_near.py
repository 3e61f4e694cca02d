"""Trees near planned works: the answer on the page, its plan, its downloads, and wrong input."""

import csv
import io
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.support import build
from tests.support.pages import Town, streamed, text, visitor

pytestmark = pytest.mark.django_db


def line(east_from: float, east_to: float, north: float) -> str:
    """A line in metres from the middle of the city, as GeoJSON."""
    ends = [[build.LON + east / 78_850, build.LAT + north / 111_130] for east in (east_from, east_to)]
    return json.dumps({"type": "LineString", "coordinates": ends})


def test_the_trees_within_the_distance_are_listed_and_drawn(place: Town) -> None:
    client = visitor(place.people["public_works"])
    page = client.post("/near-works", {"works": line(0, 30, 3.0), "distance": "5"})
    assert [tree["tag"] for tree in page.context["trees"]] != []
    assert {tree["tag"] for tree in page.context["trees"]} == {"H1", "H2", "H3"}
    shown = text(page)
    assert "BS 5837" in shown
    assert shown.count('class="protection"') == 3
    assert "The root protection radius is a first distance for planning" in shown


def test_a_distance_in_feet_is_taken_as_feet(place: Town) -> None:
    person = place.people["public_works"]
    person.units = "us"
    person.save(update_fields=["units"])
    page = visitor(person).post("/near-works", {"works": line(0, 30, 3.0), "distance": "5"})
    assert page.context["found"].total == 0  # 5 ft are 1.5 m, the nearest stem is 3 m away


def test_a_file_may_hold_a_feature_collection(place: Town) -> None:
    features = [
        {"type": "Feature", "properties": {}, "geometry": json.loads(line(start, start + 10, 3.0))} for start in (0, 20)
    ]
    content = json.dumps({"type": "FeatureCollection", "features": features}).encode()
    sent = {"file": SimpleUploadedFile("works.geojson", content), "distance": "5"}
    page = visitor(place.people["forester"]).post("/near-works", sent)
    assert page.status_code == 200
    assert {tree["tag"] for tree in page.context["trees"]} == {"H1", "H2", "H3"}


def test_the_downloads_hold_what_the_page_shows(place: Town) -> None:
    client = visitor(place.people["public_works"])
    asked = {"works": line(0, 30, 3.0), "distance": "5"}
    answer = client.post("/near-works", asked | {"as": "csv"})
    rows = list(csv.DictReader(io.StringIO(streamed(answer).decode())))
    assert {row["tag"] for row in rows} == {"H1", "H2", "H3"}
    assert all(abs(float(row["latitude"]) - build.LAT) < 0.001 for row in rows)
    answer = client.post("/near-works", asked | {"as": "geojson"})
    collection = json.loads(streamed(answer))
    assert len(collection["features"]) == 3
    assert answer["Content-Disposition"] == 'attachment; filename="trees-near-works.geojson"'


@pytest.mark.parametrize(
    ("works", "distance", "told"),
    [
        ("", "5", "paste the works or choose a file"),
        ("not json", "5", "is not JSON"),
        ('{"type": "Point", "coordinates": [-29.5, 45]}', "5", "must be LineString"),
        ('{"type": "LineString", "coordinates": [[NaN, 45], [0, 1]]}', "5", "finite"),
        ('{"type": "FeatureCollection", "features": []}', "5", "has no features"),
        (line(0, 30, 3.0), "500", "must lie in 0..200"),
        (line(0, 30, 3.0), "-1", "greater than or equal to 0"),
    ],
)
def test_wrong_works_or_distance_are_told_at_the_field(place: Town, works: str, distance: str, told: str) -> None:
    page = visitor(place.people["forester"]).post("/near-works", {"works": works, "distance": distance})
    assert page.status_code == 400
    assert told in str(page.context["form"].errors)


def test_a_contractor_may_not_ask(place: Town) -> None:
    assert visitor(place.people["contractor"]).get("/near-works").status_code == 403
