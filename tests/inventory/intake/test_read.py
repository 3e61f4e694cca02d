"""Opening foreign files: layout by evidence, hostile files as one clear problem."""

import csv
import io
from pathlib import Path

import pytest
from django.conf import LazySettings
from hypothesis import given
from hypothesis import strategies as st

from inventory.intake import read
from inventory.intake.layout import Layout
from inventory.problems import Invalid


def opened(folder: Path, content: bytes) -> read.Source:
    path = folder / "file"
    path.write_bytes(content)
    return read.open_source(path)


def rows(source: read.Source) -> list[list[str]]:
    return [list(row) for block in source.blocks() for row in zip(*block.cells, strict=True)]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_found_though_cells_hold_other_delimiters(tmp_path: Path, delimiter: str) -> None:
    text = io.StringIO()
    data = [["name", "where"], ["a, b; c", "1|2"], ["tab\there", "x"], ['quoted "word"', "line\nbreak"]]
    csv.writer(text, delimiter=delimiter).writerows(data)
    source = opened(tmp_path, text.getvalue().encode())
    assert source.layout.delimiter == delimiter
    assert source.columns == ["name", "where"]
    assert rows(source) == data[1:]


@pytest.mark.parametrize(
    ("encoding", "found"),
    [("utf-8", "utf-8"), ("utf-8-sig", "utf-8-sig"), ("utf-16", "utf-16"), ("cp1252", "cp1252")],
)
def test_the_encoding_is_found(tmp_path: Path, encoding: str, found: str) -> None:
    source = opened(tmp_path, "Straße,Baum\r\nMühlgasse,Weißdorn\r\n".encode(encoding))
    assert source.layout.encoding == found
    assert source.columns == ["Straße", "Baum"]
    assert rows(source) == [["Mühlgasse", "Weißdorn"]]


def test_a_file_without_heading_gets_numbered_columns(tmp_path: Path) -> None:
    source = opened(tmp_path, b"1,oak,12.5\n2,elm,13\n3,ash,9\n")
    assert source.layout == Layout(header=False)
    assert source.columns == ["column 1", "column 2", "column 3"]
    assert len(rows(source)) == 3


def test_headings_that_repeat_or_are_empty_become_unique(tmp_path: Path) -> None:
    assert opened(tmp_path, b"a,,a,\nx,y,z,w\n").columns == ["a", "column 2", "a (2)", "column 4"]


def test_each_row_knows_its_line_also_after_line_breaks_in_cells_and_blank_lines(tmp_path: Path) -> None:
    source = opened(tmp_path, b'a,b\n1,"x\ny"\n\n2,z\n3,w\n')
    assert [block.lines.tolist() for block in source.blocks()] == [[2, 5, 6]]


def test_rows_with_more_or_fewer_cells_are_marked_and_keep_their_place(tmp_path: Path) -> None:
    source = opened(tmp_path, b"a,b\n1,2\n3\n4,5,6\n7,8\n")
    (block,) = source.blocks()
    assert block.ragged.tolist() == [False, True, True, False]
    assert rows(source) == [["1", "2"], ["3", ""], ["4", "5"], ["7", "8"]]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"PK\x03\x04rest of an archive", "ZIP"),
        (b"SQLite format 3\x00 and more", "GeoPackage"),
        (b"%PDF-1.7", "PDF"),
        (b"a,b\n1,\x00\n", "binary"),
        (b"a,b\n\xff\x81,2\n", "neither UTF-8 nor"),
        ("a,b\nMühle,1\n".encode() + "Mühle,2\n".encode("cp1252"), "mixed encodings: line 2 is UTF-8, line 3"),
        (b"only one column\nof words\n", "parts it into columns"),
        (b",".join(b"c%d" % n for n in range(10_000)) + b"\n", "10,000 columns"),
        (b'a,b\n1,"' + b"x" * 2_000_000 + b'"\n', "field larger than field limit"),
        (b'a,b\n1,"never closed\n', "unexpected end of data"),
        (b'{"type": "FeatureCollection", "features": [', "not JSON"),
        (b'{"type": "Topology"}', "not a GeoJSON FeatureCollection"),
    ],
)
def test_a_hostile_file_gives_one_clear_problem(tmp_path: Path, content: bytes, told: str) -> None:
    with pytest.raises(Invalid, match=told) as refused:
        rows(opened(tmp_path, content))
    assert [error.pointer for error in refused.value.errors] == ["#/file"]


def test_a_file_over_the_limit_is_refused_before_it_is_read(tmp_path: Path, settings: LazySettings) -> None:
    settings.UPLOAD_MAX_BYTES = 10
    with pytest.raises(Invalid, match="at most 10"):
        opened(tmp_path, b"a,b\n1,2\n3,4\n")


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Invalid, match="there is no file"):
        read.open_source(tmp_path / "none")


CELL = st.text(st.characters(codec="utf-8", exclude_characters="\0\r"), max_size=12)


@given(st.lists(st.lists(CELL, min_size=3, max_size=3), min_size=1, max_size=30))
def test_whatever_csv_writes_is_read_back_the_same(
    tmp_path_factory: pytest.TempPathFactory, table: list[list[str]]
) -> None:
    text = io.StringIO()
    csv.writer(text, quoting=csv.QUOTE_ALL).writerows([["a", "b", "c"], *table])
    path = tmp_path_factory.mktemp("read") / "file"
    path.write_bytes(text.getvalue().encode())
    source = read.open_source(path, Layout())
    assert rows(source) == table


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused_and_nothing_else(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    folder = tmp_path_factory.mktemp("bytes")
    try:
        source = opened(folder, raw)
        found = rows(source)
    except Invalid:
        return
    assert all(len(row) == len(source.columns) for row in found)


def test_a_sample_is_spread_over_the_file(tmp_path: Path) -> None:
    source = opened(tmp_path, b"a,b\n" + b"".join(b"%d,x\n" % n for n in range(10_000)))
    cells, total = read.sample(source, 1_000)
    numbers = [int(cell) for cell in cells[0]]
    assert total == 10_000
    assert 400 <= len(numbers) <= 1_000
    assert numbers == sorted(set(numbers))
    assert numbers[-1] > 9_900


def test_geojson_points_become_wkt_and_what_is_no_point_an_empty_cell(tmp_path: Path) -> None:
    source = opened(
        tmp_path,
        b'{"type":"FeatureCollection","features":['
        b'{"type":"Feature","properties":{"a":1,"b":null},"geometry":{"type":"Point","coordinates":[2.5,48]}},'
        b'{"type":"Feature","properties":{"c":"x"},"geometry":{"type":"Point","coordinates":[NaN,1e400]}},'
        b'{"type":"Feature","properties":{},"geometry":null}]}',
    )
    assert source.columns == ["a", "b", "c", "geometry"]
    assert rows(source) == [["1", "", "", "POINT (2.5 48)"], ["", "", "x", ""], ["", "", "", ""]]
