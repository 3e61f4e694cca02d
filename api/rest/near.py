"""Which trees stand near a planned project: asked with its line or polygon, answered without storing anything."""

import json
from typing import Any, Final

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request

from api.http import fields, paging
from api.http.permissions import may
from api.http.view import View
from api.rest.shapes import Choice
from assessments import projects
from assessments.methods import risk, root_zone
from inventory.formats import geojson_writer
from inventory.models.tree import STANDING
from inventory.problems import Invalid

OUTPUTS: Final = ("json", "geojson")
DEFAULT_LIMIT: Final = 1000


class NearBody(fields.Body):
    """A planned project and how far to look."""

    geometry = fields.Geometry(projects.GEOMETRIES, max_vertices=projects.MAX_VERTICES)
    distance_m = fields.Number(min_value=0, max_value=projects.MAX_DISTANCE_M)
    output = fields.Word(choices=OUTPUTS, required=False, default="json")
    limit = fields.Whole(required=False, default=DEFAULT_LIMIT, min_value=1, max_value=projects.LARGEST_PAGE)
    after = fields.Text(
        required=False, allow_null=True, default=None, max_length=500, help_text="`next` of the page before."
    )


class NearTree(serializers.Serializer[Any]):
    """One tree. Lengths in the unit of the name; `distance_m` counts from the centre of the stem."""

    tree = serializers.UUIDField()
    tag = serializers.CharField(allow_null=True)
    state = Choice(STANDING)
    species = serializers.CharField(allow_null=True)
    common_name = serializers.CharField(allow_null=True)
    street = serializers.CharField(allow_null=True)
    house_number = serializers.CharField(allow_null=True)
    dbh_cm = serializers.FloatField(allow_null=True)
    dbh_low_cm = serializers.FloatField(allow_null=True)
    dbh_high_cm = serializers.FloatField(allow_null=True)
    height_m = serializers.FloatField(allow_null=True)
    crown_m = serializers.FloatField(allow_null=True)
    risk = Choice(("not_rated", *risk.RISK))
    distance_m = serializers.FloatField()
    root_protection_radius_m = serializers.FloatField(allow_null=True, help_text="Null where no diameter is known.")
    radius_from = Choice(
        ("dbh", "upper_end_of_class"), allow_null=True, help_text="What the radius was worked out from."
    )
    zone_touched = serializers.BooleanField(allow_null=True, help_text="Whether the project touches the circle.")


class Method(serializers.Serializer[Any]):
    """How the radius was worked out."""

    name = serializers.CharField()
    version = serializers.IntegerField()
    reference = serializers.CharField(help_text="The publication.")
    validity = serializers.ListField(child=serializers.CharField())


class NearShown(serializers.Serializer[Any]):
    """The counts and one page of trees, nearest first."""

    total = serializers.IntegerField(help_text="Trees within the distance.")
    touched = serializers.IntegerField(help_text="Of these, trees whose root protection circle the project touches.")
    touched_beyond = serializers.IntegerField(help_text="Trees farther away whose circle is touched nevertheless.")
    unmeasured = serializers.IntegerField(help_text="Trees within the distance without a diameter.")
    distance_m = serializers.FloatField()
    project_length_m = serializers.FloatField()
    project_area_m2 = serializers.FloatField()
    method = Method()
    caution = serializers.CharField()
    next = serializers.CharField(allow_null=True)
    trees = NearTree(many=True)


class Near(View):
    """Trees near a planned project."""

    permission_classes = [may("projects.ask")]

    @extend_schema(
        operation_id="near",
        summary="Trees near a planned project",
        request=NearBody,
        responses={
            (200, "application/json"): NearShown,
            (200, geojson_writer.MEDIA_TYPE): {"type": "object"},
        },
        tags=["projects"],
    )
    def post(self, request: Request) -> HttpResponse:
        """Every standing tree within a distance of a line or polygon, with its root protection radius.

        Nothing is stored. With `output` geojson the same as a feature collection with the counts as further members.
        """
        body = self.read(NearBody)
        geojson = body["output"] == "geojson"
        near = projects.trees_near(
            body["geometry"], body["distance_m"], limit=body["limit"], after=_after(body["after"]), geojson=geojson
        )
        head = {"type": "FeatureCollection"} if geojson else {}
        content = _joined(head | _told(near, body), "features" if geojson else "trees", near.trees)
        return HttpResponse(content, content_type=geojson_writer.MEDIA_TYPE if geojson else "application/json")


def _after(cursor: str | None) -> tuple[float, int]:
    if cursor is None:
        return projects.START
    try:
        distance_m, tree_id = paging.decode(cursor, float, int)
    except ValueError as error:
        raise Invalid.field("#/after", str(error)) from error
    return distance_m, tree_id


def _told(near: projects.Near, body: dict[str, Any]) -> dict[str, Any]:
    return {
        "total": near.total,
        "touched": near.touched,
        "touched_beyond": near.touched_beyond,
        "unmeasured": near.unmeasured,
        "distance_m": body["distance_m"],
        "project_length_m": round(near.length_m, 2),
        "project_area_m2": round(near.area_m2, 2),
        "method": {
            "name": root_zone.METHOD,
            "version": root_zone.VERSION,
            "reference": root_zone.SOURCE,
            "validity": list(root_zone.VALIDITY),
        },
        "caution": projects.CAUTION,
        "next": paging.encode(*near.last) if near.last else None,
    }


def _joined(members: dict[str, Any], name: str, array: bytes) -> bytes:
    """The JSON object of the members, with one more whose array the database has written."""
    head = json.dumps(members, separators=(",", ":"))
    return head[:-1].encode() + f',"{name}":'.encode() + array + b"}"


urlpatterns = [path("near", Near.as_view(), name="near")]
