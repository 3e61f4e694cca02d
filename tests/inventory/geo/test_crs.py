"""The list of coordinate reference systems against PROJ's own database; no text gets through."""

import contextlib
import sqlite3
from pathlib import Path

import pytest
from django.db import connection
from hypothesis import given
from hypothesis import strategies as st

from inventory.geo import crs
from inventory.problems import Invalid

PROJ_DB = Path("/usr/share/proj/proj.db")  # the EPSG dataset as Debian's PROJ ships it (package proj-data)


@pytest.mark.skipif(not PROJ_DB.exists(), reason="PROJ's database is not in its usual place")
@pytest.mark.parametrize("srid", sorted(crs.ALLOWED))
def test_each_name_is_the_one_of_the_epsg_dataset(srid: int) -> None:
    with sqlite3.connect(f"file:{PROJ_DB}?mode=ro", uri=True) as database:
        found = database.execute(
            "SELECT name, deprecated FROM crs_view WHERE auth_name = 'EPSG' AND code = ?", [srid]
        ).fetchone()
    database.close()
    assert found == (crs.ALLOWED[srid], 0)


@pytest.mark.parametrize(
    "text",
    [
        "EPSG:2263",
        "epsg:2263",
        "2263",
        " 2263 ",
        "urn:ogc:def:crs:EPSG::2263",
        "http://www.opengis.net/def/crs/EPSG/0/2263",
    ],
)
def test_the_usual_spellings_of_a_number_are_read(text: str) -> None:
    assert crs.read(text) == 2263


@pytest.mark.parametrize(
    "text",
    [
        "",
        "EPSG:",
        "EPSG:1",
        "EPSG:99999",
        "WGS84",
        "+proj=longlat",
        "/etc/passwd",
        "http://example.org/2263",
        "２２６３",
    ],
)
def test_anything_else_is_refused_and_names_the_field(text: str) -> None:
    with pytest.raises(Invalid) as caught:
        crs.read(text, "#/source/crs")
    assert caught.value.errors[0].pointer == "#/source/crs"


@given(st.text(max_size=60))
def test_only_numbers_of_the_list_come_out(text: str) -> None:
    with contextlib.suppress(Invalid):
        assert crs.read(text) in crs.ALLOWED


@pytest.mark.django_db
def test_the_database_knows_each_of_them() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT srid FROM spatial_ref_sys")
        assert {srid for (srid,) in cursor.fetchall()} >= set(crs.ALLOWED)
