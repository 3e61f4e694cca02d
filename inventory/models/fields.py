"""Columns that several nouns share: the client-made key, the point and its metric twin."""

from typing import Any

from django.conf import settings
from django.contrib.gis.db.models import MultiPolygonField, PointField
from django.contrib.gis.db.models.functions import Transform
from django.contrib.postgres.functions import RandomUUID
from django.db import models

WGS84 = 4326


def uid() -> "models.UUIDField[Any, Any]":
    """A key that a client may make offline; the database makes one where none is given."""
    return models.UUIDField(unique=True, db_default=RandomUUID(), editable=False)


def location() -> "PointField[Any, Any]":
    """The place in EPSG:4326; asked for by box in degrees (maps)."""
    return PointField(srid=WGS84)


def location_m(spatial_index: bool = True) -> models.GeneratedField:
    """The same place in the municipality's metric CRS; asked for by distance."""
    return models.GeneratedField(
        expression=Transform("location", settings.METRIC_SRID),
        output_field=PointField(srid=settings.METRIC_SRID, spatial_index=spatial_index),
        db_persist=True,
    )


def area() -> "MultiPolygonField[Any, Any]":
    """An area in EPSG:4326."""
    return MultiPolygonField(srid=WGS84)
