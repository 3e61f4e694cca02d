"""Readings: kept beyond the centre, linear between, voids off centre; openings with parallel sides."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.section import compute, read
from assessments.methods.section.readings import grid_deg, polar, weights
from assessments.methods.section.voids import residual

from .shapes import even_readings, ring


@given(st.lists(st.tuples(st.integers(0, 359), st.floats(0, 80)), min_size=1, max_size=12, unique_by=lambda r: r[0]))
def test_the_wall_between_readings_is_never_outside_their_range_and_exact_at_each(
    rows: list[tuple[int, float]],
) -> None:
    azimuths, walls = (np.array(column, float) for column in zip(*rows, strict=True))
    between = weights(azimuths, np.arange(0, 360, 3.7)) @ walls
    assert between.min() >= walls.min() - 1e-9
    assert between.max() <= walls.max() + 1e-9
    assert weights(azimuths, azimuths) @ walls == pytest.approx(walls)


def test_a_wall_beyond_the_centre_is_kept_for_the_wall_beside_it() -> None:
    def void_area(wall: float) -> float:
        rows = [(0, 10), (90, wall), (180, wall), (270, wall)]
        readings = [{"azimuth_deg": a, "sound_wall_cm": w} for a, w in rows]
        answer = compute({"diameter_cm": 80, "readings": readings, "draws": 0})
        return float(answer["gross_area_cm2"] - answer["sound_area_cm2"])

    # Clipped to R = 40 both would be the same.
    assert void_area(60) < 0.8 * void_area(40)
    # Wall 10 + (60 - 10) a / 90: void where it is below 40, so to 54 degrees on both sides; area = integral of r^2 / 2.
    a = np.linspace(0, math.radians(54), 4001)
    r = 40 - (10 + 50 * np.degrees(a) / 90)
    assert void_area(60) == pytest.approx(2 * np.trapezoid(r * r / 2, a), rel=1e-3)


def test_a_void_need_not_contain_the_centre() -> None:
    # A round void of 8 cm, 20 cm north of the centre of a stem of 80 cm, read every 2 degrees.
    readings = []
    for azimuth in range(0, 360, 2):
        b = math.radians(azimuth)
        inside = 64 - (20 * math.sin(b)) ** 2
        if math.cos(b) > 0 and inside > 0:
            near, far = 20 * math.cos(b) + math.sqrt(inside), 20 * math.cos(b) - math.sqrt(inside)
            readings.append({"azimuth_deg": azimuth, "sound_wall_cm": 40 - near, "void_to_cm": 40 - far})
        else:
            readings.append({"azimuth_deg": azimuth, "sound_wall_cm": 80})
    answer = compute({"diameter_cm": 80, "readings": readings, "draws": 0})
    drawn = compute({"diameter_cm": 80, "voids_cm": [ring(8, (0, 20))], "draws": 0})
    assert answer["sound_area_cm2"] == pytest.approx(drawn["sound_area_cm2"], rel=2e-3)
    assert answer["modulus"]["worst_cm3"] == pytest.approx(drawn["modulus"]["worst_cm3"], rel=5e-3)
    assert answer["thinnest_wall_cm"] == pytest.approx(12)


def test_a_void_read_past_the_centre_is_void_on_the_far_side() -> None:
    readings = [{"azimuth_deg": 0, "sound_wall_cm": 15, "void_to_cm": 55}, {"azimuth_deg": 180, "sound_wall_cm": 30}]
    section = read({"diameter_cm": 80, "readings": readings})
    grid = grid_deg(section)
    outer = polar(section, grid).outer_cm
    assert outer[np.searchsorted(grid, 180.0)] == pytest.approx(15)


def test_a_probe_can_go_half_a_metre_into_an_old_wound_of_a_large_stem() -> None:
    # Known to the trade (common practice, no source).
    opening = [{"azimuth_deg": 90, "width_cm": 12, "depth_cm": 50}]
    answer = compute({"diameter_cm": 150, "openings": opening, "draws": 0})
    assert answer["open"]
    assert answer["gross_area_cm2"] - answer["sound_area_cm2"] == pytest.approx(12 * 50, rel=0.01)


class TestOpenings:
    def test_the_sides_are_parallel_and_the_width_is_the_gap_at_the_surface(self) -> None:
        section = read({"diameter_cm": 80, "openings": [{"azimuth_deg": 0, "width_cm": 20, "depth_cm": 15}]})
        east, south, west, north = residual(section).cuts.bounds
        assert (east, west) == (pytest.approx(-10), pytest.approx(10))
        assert south == pytest.approx(40 - 15)
        assert north == pytest.approx(40, abs=1e-6)

    def test_without_a_depth_it_is_cut_to_the_void(self) -> None:
        request = {"diameter_cm": 80, "readings": even_readings(15), "draws": 0}
        answer = compute({**request, "openings": [{"azimuth_deg": 200, "width_cm": 10}]})

        # Between the circles of 40 and 25 cm, half width 5: the strip's area in closed form.
        def under(r: float) -> float:
            return 5 * math.sqrt(r * r - 25) + r * r * math.asin(5 / r)

        gone = compute(request)["sound_area_cm2"] - answer["sound_area_cm2"]
        assert gone == pytest.approx(under(40) - under(25), rel=2e-3)
        assert answer["open"]
        assert not answer["closed"]
        assert answer["pieces"] == 1

    def test_one_wider_than_the_void_is_cut_to_the_voids_widest(self) -> None:
        answer = compute({"diameter_cm": 80, "voids_cm": [ring(5)], "openings": [{"azimuth_deg": 0, "width_cm": 20}]})
        strip = 10 * math.sqrt(40**2 - 100) + 40**2 * math.asin(10 / 40)
        # The strip down to the centre line, and the half of the void below it.
        gone = answer["gross_area_cm2"] - answer["sound_area_cm2"]
        assert gone == pytest.approx(strip + math.pi * 25 / 2, rel=5e-3)

    def test_a_blind_one_leaves_the_ring_round_the_void_closed(self) -> None:
        answer = compute(
            {
                "diameter_cm": 80,
                "readings": even_readings(15),
                "openings": [{"azimuth_deg": 0, "width_cm": 10, "depth_cm": 6}],
                "draws": 0,
            }
        )
        assert answer["open"]
        assert answer["closed"]


def test_the_bark_is_taken_off_first() -> None:
    bare = compute({"diameter_cm": 76, "readings": even_readings(10), "draws": 0})
    barked = compute({"diameter_cm": 80, "bark_cm": 2, "readings": even_readings(10), "draws": 0})
    assert barked["modulus"] == bare["modulus"]
    square = [[0, 0], [80, 0], [80, 80], [0, 80]]
    assert compute({"outline_cm": square, "bark_cm": 2, "draws": 0})["gross_area_cm2"] == pytest.approx(76**2)
