"""Laws of sections as properties: more decay adds nothing, turning changes nothing, size scales W with its cube."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assessments.methods.section import Section, assess, compute, read
from assessments.methods.section.voids import residual

from .shapes import ring

AZIMUTHS = np.arange(0.0, 180.0, 7.5)
SHARE = st.floats(0.1, 1.6)
WALLS = st.lists(SHARE, min_size=1, max_size=10)
SLOW = settings(max_examples=40, deadline=None)


def request(shares: list[float], diameter: float = 80.0, turn: float = 0.0, **more: Any) -> dict[str, Any]:
    """Even readings with walls as shares of R."""
    readings = [
        {"azimuth_deg": (turn + 360 * i / len(shares)) % 360, "sound_wall_cm": share * diameter / 2}
        for i, share in enumerate(shares)
    ]
    return {"diameter_cm": diameter, "readings": readings, "draws": 0, **more}


def second_moments(section: Section) -> tuple[float, Any]:
    shape = assess(section).bounds.shape
    return shape.area_cm2, shape.second_moment_cm4(AZIMUTHS)


@SLOW
@given(WALLS, st.data())
def test_a_thinner_wall_never_adds_area_or_centroidal_second_moment_in_any_direction(
    shares: list[float], data: st.DataObject
) -> None:
    which = data.draw(st.integers(0, len(shares) - 1))
    thinner = [share * (data.draw(st.floats(0.5, 1.0)) if i == which else 1.0) for i, share in enumerate(shares)]
    assume(min(thinner) > 0.05)
    area, moments = second_moments(read(request(shares)))
    less_area, less_moments = second_moments(read(request(thinner)))
    assert less_area <= area * (1 + 1e-9)
    assert np.all(less_moments <= moments * (1 + 1e-9))


@SLOW
@given(WALLS, st.floats(0.02, 0.3), st.floats(0, 360), st.floats(0, 0.6))
def test_another_void_never_adds_area_or_centroidal_second_moment_in_any_direction(
    shares: list[float], size: float, azimuth: float, offset: float
) -> None:
    b = math.radians(azimuth)
    void = ring(40 * size, (40 * offset * math.sin(b), 40 * offset * math.cos(b)), 60)
    area, moments = second_moments(read(request(shares)))
    less_area, less_moments = second_moments(read(request(shares, voids_cm=[void])))
    assert less_area <= area * (1 + 1e-9)
    assert np.all(less_moments <= moments * (1 + 1e-9))


@SLOW
@given(st.floats(0.2, 0.8), st.floats(0.0, 0.35), st.floats(0.0, 0.15))
def test_a_void_that_goes_on_deeper_never_adds_area_or_second_moment(wall: float, depth: float, more: float) -> None:
    def at(void_to: float) -> Section:
        readings = [
            {"azimuth_deg": 0, "sound_wall_cm": 40 * wall, "void_to_cm": 40 * void_to},
            {"azimuth_deg": 90, "sound_wall_cm": 45},
            {"azimuth_deg": 200, "sound_wall_cm": 30},
        ]
        return read({"diameter_cm": 80, "readings": readings, "draws": 0})

    area, moments = second_moments(at(wall + depth))
    less_area, less_moments = second_moments(at(wall + depth + more))
    assert less_area <= area * (1 + 1e-9)
    assert np.all(less_moments <= moments * (1 + 1e-9))


def test_a_second_void_can_raise_the_modulus_a_little_and_is_never_called_a_gain() -> None:
    # One void to the east moves the neutral axis west; a second to the west moves it back.
    one = ring(14, (20, 0))
    two = ring(6, (-10, 0))
    single = compute({"diameter_cm": 80, "voids_cm": [one], "draws": 0})
    double = compute({"diameter_cm": 80, "voids_cm": [one, two], "draws": 0})
    assert double["modulus"]["worst_cm3"] > single["modulus"]["worst_cm3"]
    assert double["sound_area_cm2"] < single["sound_area_cm2"]
    assert double["residual"]["iyy_cm4"] < single["residual"]["iyy_cm4"]
    assert double["modulus"]["loss_percent"]["best_estimate"] > 0
    said = " ".join(double["notes"]).lower()
    assert "gain" not in said.replace("no gain", "")


def test_a_modulus_above_the_sound_one_counts_as_no_loss_and_says_so() -> None:
    # Taking the corners off a square bar bent over its diagonal raises W: a textbook oddity.
    corner = 2.0
    square = [[-40, -40], [40, -40], [40, 40], [-40, 40]]
    cut = [
        [[x * 41, y * 41], [x * 41, y * (40 - corner)], [x * (40 - corner), y * 41]] for x in (-1, 1) for y in (-1, 1)
    ]
    answer = compute({"outline_cm": square, "voids_cm": cut, "draws": 0})
    whole = compute({"outline_cm": square, "draws": 0})
    assert answer["modulus"]["worst_cm3"] > whole["modulus"]["worst_cm3"]
    assert answer["modulus"]["loss_percent"]["best_estimate"] == 0
    assert any("no gain in strength" in note for note in answer["notes"])


@SLOW
@given(WALLS, st.integers(0, 35))
def test_turning_the_stem_turns_the_answer_and_changes_no_size(shares: list[float], tens: int) -> None:
    turn = 10.0 * tens  # the polygon of a circle has a vertex at every half degree
    here, there = (compute(request(shares, turn=t)) for t in (0.0, turn))
    assert there["sound_area_cm2"] == pytest.approx(here["sound_area_cm2"], rel=1e-6)
    assert there["modulus"]["worst_cm3"] == pytest.approx(here["modulus"]["worst_cm3"], rel=1e-5)
    assert there["residual"]["principal_cm4"] == pytest.approx(here["residual"]["principal_cm4"], rel=1e-5)
    # W toward the turned azimuth is the same: the direction turns with the stem.
    assert there["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(
        here["modulus"]["loss_percent"]["best_estimate"], abs=1e-3
    )


@SLOW
@given(st.floats(0, 359.9))
def test_the_worst_direction_turns_with_a_lopsided_void(turn: float) -> None:
    answer = compute(request([0.15, 0.5, 0.7, 0.5], turn=turn))
    off = (answer["compression_azimuth_deg"] - turn + 180) % 360 - 180
    assert abs(off) < 0.6


@SLOW
@given(WALLS, st.floats(0.1, 10))
def test_area_modulus_and_second_moment_grow_with_the_square_the_cube_and_the_fourth_power(
    shares: list[float], factor: float
) -> None:
    small, large = compute(request(shares)), compute(request(shares, diameter=80 * factor))
    assert large["sound_area_cm2"] == pytest.approx(small["sound_area_cm2"] * factor**2, rel=1e-5)
    assert large["modulus"]["worst_cm3"] == pytest.approx(small["modulus"]["worst_cm3"] * factor**3, rel=1e-5)
    assert large["residual"]["ixx_cm4"] == pytest.approx(small["residual"]["ixx_cm4"] * factor**4, rel=1e-5)
    assert large["t_over_r"] == pytest.approx(small["t_over_r"], rel=1e-5)


@SLOW
@given(WALLS, st.floats(5, 300))
def test_inches_to_centimetres_and_back_change_no_ratio_and_girth_says_the_same_as_diameter(
    shares: list[float], inches: float
) -> None:
    by_diameter = compute(request(shares, diameter=inches * 2.54))
    by_girth = compute(
        {**request(shares, diameter=inches * 2.54), "diameter_cm": None, "girth_cm": math.pi * inches * 2.54}
    )
    assert by_girth["modulus"]["worst_cm3"] == pytest.approx(by_diameter["modulus"]["worst_cm3"], rel=1e-6)
    in_inches = compute(request(shares, diameter=inches))
    assert in_inches["modulus"]["worst_cm3"] * 2.54**3 == pytest.approx(by_diameter["modulus"]["worst_cm3"], rel=1e-5)
    assert in_inches["modulus"]["loss_percent"] == pytest.approx(by_diameter["modulus"]["loss_percent"], abs=1e-3)


@SLOW
@given(WALLS, st.floats(-500, 500), st.floats(-500, 500))
def test_where_the_outline_lies_on_the_sheet_changes_nothing(shares: list[float], east: float, north: float) -> None:
    here = {**request(shares), "diameter_cm": None, "outline_cm": ring(40, vertices=180)}
    there = {**here, "outline_cm": ring(40, (east, north), vertices=180)}
    a, b = compute(here), compute(there)
    assert b["modulus"]["worst_cm3"] == pytest.approx(a["modulus"]["worst_cm3"], rel=1e-5)
    assert b["sound"]["centroid_cm"] == pytest.approx([east, north], abs=1e-3)


@SLOW
@given(WALLS)
def test_wood_and_decay_make_up_the_stem(shares: list[float]) -> None:
    section = read(request(shares))
    found = residual(section)
    assert found.wood.area + found.decay.area == pytest.approx(section.outline.polygon.area, rel=1e-6)
