"""Mappings: read strictly, written so that they read back the same."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.intake import mapping as mappings
from inventory.intake.layout import Layout
from inventory.intake.mapping import Column, Mapping
from inventory.problems import Invalid
from tests.support.intake import MAPPING

HEADINGS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), min_size=1, max_size=20)


@given(
    st.lists(HEADINGS, min_size=4, max_size=4, unique=True),
    st.sampled_from([",", ";", "\t", "|"]),
    st.none() | st.dates(),
    st.sampled_from(["cm", "in", "mm"]),
)
def test_a_mapping_reads_back_the_same(headings: list[str], delimiter: str, day: date | None, unit: str) -> None:
    made = Mapping(
        Layout(delimiter=delimiter),
        (
            Column(headings[0], "point", format="lat_lon"),
            Column(headings[1], "dbh", unit),
            Column(headings[2], "species"),
            Column(headings[3], "condition", words=((headings[0], "fair"), (headings[1], ""))),
        ),
        measured_on=day,
    )
    remarks = {heading: f"why {heading}" for heading in headings}
    assert mappings.parse(mappings.write(made)) == made
    assert mappings.parse(mappings.write(made, remarks)) == made
    assert mappings.from_dict(mappings.to_dict(made)) == made


@pytest.mark.parametrize(
    ("before", "after", "pointer"),
    [
        ("[file]", '[file]\ncolour = "red"', "#/file/colour"),
        ("[file]", '[file]\nencoding = "ebcdic"', "#/file/encoding"),
        ("[file]", "[file]\ncrs = 2224", "#/file/crs"),
        ("[file]", '[file]\ncrs = "EPSG:2229"', "#/file/crs"),
        ("[file]", "[file]\ncrs = true", "#/file/crs"),
        ("[file]", "[file]\ncrs = 2229", "#/file/crs"),
        ("[file]", "[file]\nlayer = 3", "#/file/layer"),
        ('role = "species"', 'role = "species"\n[column.words]\n"Eiche" = "good"', "#/column/1/words"),
        ('role = "species"', 'role = "condition"\nwords = 3', "#/column/1/words"),
        ('role = "species"', 'role = "condition"\n[column.words]\n"a/b" = "splendid"', "#/column/1/words/a~1b"),
        ('role = "latitude"', 'role = "northing"', "#/column"),
        ("[file]", "[file]\nheader = 1", "#/file/header"),
        ("[file]", '[file]\ndelimiter = ";;"', "#/file/delimiter"),
        ("[file]", '[file]\nmeasured_on = "yesterday"', "#/file/measured_on"),
        ("[file]", "extra = 1\n[file]", "#/extra"),
        ('role = "key"', 'role = "keys"', "#/column/0/role"),
        ('role = "key"', 'role = "key"\nunit = "cm"', "#/column/0/unit"),
        ('role = "key"', 'role = "key"\nwidth = 3', "#/column/0/width"),
        ('unit = "in"', 'unit = "yards"', "#/column/2/unit"),
        ('unit = "in"', "", "#/column/2/unit"),
        ('format = "ymd"', "", "#/column/4/format"),
        ('role = "species"', 'role = "key"', "#/column/1/role"),
        ('heading = "species"', 'heading = "id"', "#/column/1/heading"),
        ('role = "latitude"', 'role = "note"', "#/column"),
        ('role = "species"', 'role = "epithet"', "#/column"),
    ],
)
def test_a_wrong_mapping_names_the_key(before: str, after: str, pointer: str) -> None:
    assert before in MAPPING
    with pytest.raises(Invalid) as refused:
        mappings.parse(MAPPING.replace(before, after, 1))
    assert pointer in [error.pointer for error in refused.value.errors]


def test_what_is_no_toml_is_refused() -> None:
    with pytest.raises(Invalid, match="not TOML"):
        mappings.parse("[file")


@pytest.mark.parametrize("given", [None, 3, [], {}, {"column": 1}, {"file": 3, "column": [1]}])
def test_json_of_another_shape_is_refused(given: object) -> None:
    with pytest.raises(Invalid):
        mappings.from_dict(given)


def test_a_mapping_for_another_file_names_every_column_it_lacks() -> None:
    with pytest.raises(Invalid) as refused:
        mappings.parse(MAPPING).require(["id", "species", "lat", "lon"])
    assert [error.detail for error in refused.value.errors] == [
        f"the file has no column '{name}'" for name in ("dbh", "height", "planted", "address", "site")
    ]


@pytest.mark.parametrize("place", ['heading = "id"', 'encoding = "utf-8"\nlayer = "x"'])
def test_a_zero_byte_is_refused_wherever_it_stands(place: str) -> None:
    wrong = MAPPING.replace("[file]", "[file]\n" + place if "layer" in place else "[file]")
    wrong = wrong.replace(place, place[:-1] + '\\u0000"')
    with pytest.raises(Invalid, match="zero byte"):
        mappings.parse(wrong)
    tables = mappings.to_dict(mappings.parse(MAPPING))
    with pytest.raises(Invalid, match="zero byte"):
        mappings.from_dict(tables | {"codes": {"a\0": "Tilia"}})
    with pytest.raises(Invalid, match="zero byte"):
        mappings.layout_of({"layer": "\0"})
