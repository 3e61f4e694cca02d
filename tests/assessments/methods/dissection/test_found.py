"""Faces of a felled stem as sections: closed forms, simple shapes like drawn ones, decay apart from cavity."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.dissection import compute, read, rebuild
from assessments.report.drawing import profile
from tests.assessments.methods.dissection.stems import lime


def face(**cut: object) -> dict[str, object]:
    found: dict[str, object] = compute({"cuts": [{"height_m": 1.0, **cut}]})["cuts"][0]
    return found


def test_a_concentric_cavity_by_diameter_loses_what_the_closed_form_says() -> None:
    found = face(diameter_cm=80, cavities=[{"diameter_cm": 50}])
    assert found["loss_percent"] == pytest.approx(100 * (50 / 80) ** 4, abs=0.05)  # Coder 1989
    assert found["t_over_r"] == pytest.approx(0.375, abs=0.002)
    assert found["cavity_cm2"] == pytest.approx(math.pi * 25**2, rel=1e-4)


def test_a_share_of_the_face_is_the_same_as_its_diameter() -> None:
    by_share = face(diameter_cm=80, cavities=[{"share_percent": 100 * (50 / 80) ** 2}])
    by_diameter = face(diameter_cm=80, cavities=[{"diameter_cm": 50}])
    assert by_share["sound_area_cm2"] == pytest.approx(by_diameter["sound_area_cm2"], rel=1e-4)


def test_an_offset_cavity_leaves_the_thinnest_wall_on_its_side() -> None:
    found = face(diameter_cm=80, cavities=[{"diameter_cm": 50, "azimuth_deg": 90, "offset_cm": 10}])
    assert found["thinnest_wall_cm"] == pytest.approx(5.0, abs=0.05)
    # Worked example of an eccentric hole (textbook mechanics): 40.8 % in the worst direction.
    assert found["largest_loss"]["percent"] == pytest.approx(40.8, abs=0.3)  # type: ignore[index]
    assert found["largest_loss"]["azimuth_deg"] == pytest.approx(90, abs=0.5)  # type: ignore[index]


def test_decay_round_a_cavity_is_counted_once() -> None:
    found = face(diameter_cm=60, cavities=[{"diameter_cm": 20}], decay=[{"diameter_cm": 30}])
    assert found["decay_cm2"] == pytest.approx(math.pi * (15**2 - 10**2), rel=1e-3)
    assert found["sound_area_cm2"] == pytest.approx(math.pi * (30**2 - 15**2), rel=1e-3)


def test_two_diameters_make_an_ellipse_turned_to_its_azimuth() -> None:
    found = read({"cuts": [{"height_m": 1, "diameter_cm": 60, "diameter2_cm": 40, "diameter_azimuth_deg": 30}]})
    outline = found.cuts[0].section.outline
    assert outline.area_cm2 == pytest.approx(math.pi * 600, rel=1e-4)
    assert outline.reach_cm([30.0, 210.0, 120.0, 300.0]) == pytest.approx([30, 30, 20, 20], rel=3e-3)


def test_a_drawn_void_lies_where_it_was_drawn_on_a_drawn_face() -> None:
    square = [[100, 100], [140, 100], [140, 140], [100, 140]]
    void = [[130, 115], [138, 115], [138, 125], [130, 125]]
    found = face(outline_cm=square, cavities=[{"polygon_cm": void}])
    assert found["thinnest_wall_cm"] == pytest.approx(2.0)
    assert found["cavity_cm2"] == pytest.approx(80.0)


def test_a_cavity_that_reaches_the_surface_is_open() -> None:
    found = face(diameter_cm=60, cavities=[{"diameter_cm": 30, "azimuth_deg": 0, "offset_cm": 20}])
    assert found["open"] is True
    assert found["t_over_r"] == 0


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 359), st.floats(0.0, 8.0), st.floats(5.0, 30.0))
def test_turning_a_cut_changes_no_area_and_no_wall(azimuth: float, offset: float, diameter: float) -> None:
    one, other = (
        face(diameter_cm=60, cavities=[{"diameter_cm": diameter, "azimuth_deg": turn, "offset_cm": offset}])
        for turn in (0.0, azimuth)
    )
    assert one["sound_area_cm2"] == pytest.approx(other["sound_area_cm2"], rel=1e-3)
    assert one["thinnest_wall_cm"] == pytest.approx(other["thinnest_wall_cm"], abs=0.1)


def test_what_was_noted_of_a_cut_comes_back_with_it() -> None:
    found = face(diameter_cm=60, uid="a-1", insects=True, roots_inside=True, note="ants")
    assert [found[name] for name in ("uid", "insects", "roots_inside", "note")] == ["a-1", True, True, "ants"]


def test_a_rebuilt_stem_can_be_drawn_as_a_profile() -> None:
    assert "Stem profile" in profile.draw(rebuild(read(lime())).stem)
