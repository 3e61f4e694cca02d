"""Which trees stand near planned works: a table, a plan, and the same as CSV and GeoJSON."""

import json
from collections.abc import Iterable
from typing import Any, Final

from django.http import HttpRequest, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import render

from api.pages import downloads, works_plan
from api.pages.access import page
from api.pages.context import units_of
from api.pages.near_forms import EXAMPLE, NearForm
from assessments import projects
from assessments.methods import root_zone
from inventory.formats import csv_writer, geojson_writer
from inventory.problems import Invalid

SHOWN: Final = 500


@page("projects.ask")
def near(request: HttpRequest) -> HttpResponseBase:
    """Ask, and answer on the same page: nothing is stored, so a POST may be repeated."""
    if request.method != "POST":
        form = NearForm(units=units_of(request))
        return render(request, "near.html", {"form": form, "example": EXAMPLE})
    form = NearForm(request.POST, request.FILES, units=units_of(request))
    if form.is_valid():
        try:
            return _answer(request, form)
        except Invalid as refusal:
            for error in refusal.errors:
                form.add_error("distance" if "distance" in error.pointer else "works", error.detail)
    return render(request, "near.html", {"form": form, "example": EXAMPLE}, status=400)


def _answer(request: HttpRequest, form: NearForm) -> HttpResponseBase:
    works, distance_m = form.cleaned_data["shape"], form.distance_m
    wanted = request.POST.get("as", "")
    if wanted in ("csv", "geojson"):
        return _download(wanted, _all(works, distance_m))
    found = projects.trees_near(works, distance_m, limit=SHOWN, geojson=True)
    features = json.loads(found.trees)
    values: dict[str, Any] = {
        # Asked again with the text of the file in the field, so that downloads need no second upload.
        "form": NearForm(
            {"works": form.cleaned_data["works"], "distance": form.data["distance"]}, units=units_of(request)
        ),
        "found": found,
        "trees": [feature["properties"] for feature in features],
        "distance_m": distance_m,
        "plan": works_plan.draw(works, features, units_of(request)),
        "drawn": min(len(features), works_plan.MOST_DRAWN),
        "caution": projects.CAUTION,
        "method": root_zone,
    }
    return render(request, "near.html", values)


def _all(works: Any, distance_m: float) -> list[dict[str, Any]]:
    """Every feature, page by page."""
    features: list[dict[str, Any]] = []
    after: tuple[float, int] | None = projects.START
    while after is not None:
        found = projects.trees_near(works, distance_m, limit=projects.LARGEST_PAGE, after=after, geojson=True)
        page_of = json.loads(found.trees)
        features += page_of
        after = found.last if len(page_of) == projects.LARGEST_PAGE else None
    return features


def _download(wanted: str, features: list[dict[str, Any]]) -> StreamingHttpResponse:
    if wanted == "geojson":
        collection = {"type": "FeatureCollection", "features": features}
        pieces: Iterable[bytes] = [json.dumps(collection, ensure_ascii=False).encode()]
        return downloads.stream("trees-near-works.geojson", pieces, geojson_writer.MEDIA_TYPE)
    headings = list(features[0]["properties"]) if features else ["tree"]
    rows = ([*one["properties"].values(), *one["geometry"]["coordinates"]] for one in features)
    pieces = csv_writer.write([*headings, "longitude", "latitude"], rows)
    return downloads.stream("trees-near-works.csv", pieces, csv_writer.MEDIA_TYPE)
