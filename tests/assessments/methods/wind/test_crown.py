"""Laws of the wind on a crown: area, moments and reductions, one tree or many."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.wind import SHAPES, Crowns, Wind, force_kn, moment_knm

SHAPE = st.sampled_from(sorted(SHAPES))
HEIGHT, BASE_SHARE, WIDTH = st.floats(2, 60), st.floats(0, 0.9), st.floats(0.5, 30)
WIND = st.builds(Wind, st.floats(1, 60), st.sampled_from(["3s", "10min"]), st.floats(0.05, 0.5))
# Share of a rectangle that each plain shape fills: geometry.
FILLED = {"ellipse": np.pi / 4, "egg": np.pi / 4, "inverted_egg": np.pi / 4, "dome": np.pi / 4, "cone": 1 / 2,
          "paraboloid": 2 / 3, "rectangle": 1.0}  # fmt: skip


@pytest.mark.parametrize("shape", FILLED)
def test_the_area_of_a_plain_shape_is_that_of_geometry(shape: str) -> None:
    area = float(Crowns.of(18.0, 4.0, 10.0, 0.25, shape).area_m2[0])
    assert area == pytest.approx(140 * FILLED[shape], rel=2e-4)


def test_a_column_is_fuller_than_an_ellipse_and_slimmer_than_a_rectangle() -> None:
    ellipse, column, rectangle = (
        Crowns.of(18.0, 4.0, 3.0, 0.25, s).area_m2 for s in ("ellipse", "column", "rectangle")
    )
    assert ellipse < column < rectangle


@given(SHAPE, HEIGHT, BASE_SHARE, WIDTH, WIND, st.floats(0, 1))
def test_one_tree_of_many_is_computed_as_if_alone(
    shape: str, height: float, base: float, width: float, wind: Wind, at: float
) -> None:
    many = Crowns.of([height, 30.0], [height * base, 2.0], [width, 4.0], [0.3, 0.2], shape)
    alone = Crowns.of(height, height * base, width, 0.3, shape)
    assert moment_knm(many, wind, at * height)[0] == pytest.approx(moment_knm(alone, wind, at * height)[0], rel=1e-12)


@given(SHAPE, HEIGHT, BASE_SHARE, WIDTH, WIND, st.floats(1, 2))
def test_a_taller_crown_of_the_same_area_never_lowers_the_moment_at_the_ground(
    shape: str, height: float, base: float, width: float, wind: Wind, taller: float
) -> None:
    foot = height * base
    top = foot + (height - foot) * taller
    squat, slim = Crowns.of(height, foot, width, 0.25, shape), Crowns.of(top, foot, width / taller, 0.25, shape)
    assert slim.area_m2 == pytest.approx(squat.area_m2, rel=1e-9)
    assert moment_knm(slim, wind)[0] >= moment_knm(squat, wind)[0] * (1 - 1e-9)


@given(
    SHAPE, HEIGHT, BASE_SHARE, WIDTH, WIND,
    st.floats(0, 0.9), st.floats(0, 0.9), st.floats(0, 5), st.floats(0, 1),
)  # fmt: skip
def test_a_reduction_never_raises_a_moment_and_fades_with_regrowth(
    shape: str, height: float, base: float, width: float, wind: Wind,
    length_share: float, width_share: float, regrown: float, at: float,
) -> None:  # fmt: skip
    whole = Crowns.of(height, height * base, width, 0.25, shape)
    fresh = moment_knm(whole.reduced(length_share, width_share), wind, at * height)[0]
    later = moment_knm(whole.reduced(length_share, width_share, regrown), wind, at * height)[0]
    before = moment_knm(whole, wind, at * height)[0]
    # Quadrature of outlines with corners: a thousandth.
    slack = 2e-3 * before + 1e-12
    assert fresh <= later + slack
    assert later <= before + slack


def test_a_reduction_that_has_grown_back_is_the_old_crown() -> None:
    whole = Crowns.of(18.0, 4.0, 10.0, 0.25)
    back = whole.reduced(0.2, 0.2, 50.0)
    assert moment_knm(back, Wind()) == pytest.approx(moment_knm(whole, Wind()), rel=1e-9)


@given(SHAPE, HEIGHT, BASE_SHARE, WIDTH, WIND)
def test_the_moment_falls_with_height_and_is_nothing_at_the_top(
    shape: str, height: float, base: float, width: float, wind: Wind
) -> None:
    crown = Crowns.of([height] * 5, height * base, width, 0.25, shape)
    moments = moment_knm(crown, wind, np.linspace(0, height, 5))
    assert np.all(np.diff(moments) <= 1e-9 * moments[0])
    assert moments[-1] == pytest.approx(0, abs=1e-12)


@given(HEIGHT, BASE_SHARE, WIDTH, WIND, st.floats(0.1, 10))
def test_force_scales_with_drag_and_with_width(
    height: float, base: float, width: float, wind: Wind, factor: float
) -> None:
    plain = force_kn(Crowns.of(height, height * base, width, 0.25), wind)[0]
    assert force_kn(Crowns.of(height, height * base, width, 0.25 * factor), wind)[0] == pytest.approx(plain * factor)
    assert force_kn(Crowns.of(height, height * base, width * factor, 0.25), wind)[0] == pytest.approx(plain * factor)


def test_a_crown_must_have_length_and_a_known_shape() -> None:
    with pytest.raises(ValueError, match="below the top"):
        Crowns.of(4.0, 4.0, 10.0, 0.25)
    with pytest.raises(ValueError, match="not one of"):
        Crowns.of(18.0, 4.0, 10.0, 0.25, "cloud")
