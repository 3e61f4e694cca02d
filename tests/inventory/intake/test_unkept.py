"""Texts that no database keeps, a zero byte or half a character, are refused when the file is read."""

import json
from pathlib import Path

import pytest

from inventory.intake.read import open_source
from inventory.problems import Invalid


def geojson(folder: Path, properties: dict[str, str]) -> Path:
    feature = {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-29.5, 45.0]},
        "properties": {"species": "Tilia cordata", **properties},
    }
    path = folder / "trees.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}), encoding="utf-8")
    return path


@pytest.mark.parametrize("text", ["a\0b", "\ud800", "tree \udfff"])
def test_a_value_or_a_heading_that_is_no_text_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(Invalid, match="no text"):
        list(open_source(geojson(tmp_path, {"note": text})).blocks())
    with pytest.raises(Invalid, match="no text"):
        open_source(geojson(tmp_path, {text: "note"}))


def test_signs_beyond_the_first_plane_are_text(tmp_path: Path) -> None:
    (block,) = open_source(geojson(tmp_path, {"note": "🌳 𝕋"})).blocks()
    assert block.cells[1] == ["🌳 𝕋"]
