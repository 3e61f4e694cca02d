"""Wind rises with height, a mean is turned into its gust, and pressure goes with the square of speed."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.wind import AVERAGING, EXPONENTS, Wind

SPEED = st.floats(1, 100)
EXPONENT = st.floats(0, 1)
HEIGHT = st.floats(0.1, 120)
KIND = st.sampled_from(AVERAGING)


@given(SPEED, EXPONENT, HEIGHT)
def test_a_gust_is_its_own_gust(speed: float, exponent: float, height: float) -> None:
    wind = Wind(speed, "3s", exponent)
    assert float(wind.gust_m_s(height)) == float(wind.speed_m_s(height))


@given(SPEED, st.floats(0.05, 0.6), HEIGHT)
def test_the_gust_of_a_mean_is_faster_than_the_mean(speed: float, exponent: float, height: float) -> None:
    wind = Wind(speed, "10min", exponent)
    assert float(wind.gust_m_s(height)) > float(wind.speed_m_s(height))


@given(SPEED, EXPONENT, HEIGHT, HEIGHT, KIND)
def test_speed_never_falls_with_height(speed: float, exponent: float, a: float, b: float, kind: str) -> None:
    low, high = Wind(speed, kind, exponent).speed_m_s(sorted((a, b)))
    assert low <= high


@given(SPEED, EXPONENT, HEIGHT, KIND, st.floats(0.1, 10))
def test_pressure_goes_with_the_square_of_speed(
    speed: float, exponent: float, height: float, kind: str, factor: float
) -> None:
    slow, fast = (Wind(v, kind, exponent).pressure_n_m2(height) for v in (speed, speed * factor))
    assert float(fast) == pytest.approx(float(slow) * factor**2, rel=1e-9)


@given(SPEED, KIND)
def test_at_ten_metres_the_speed_is_the_one_given(speed: float, kind: str) -> None:
    assert float(Wind(speed, kind, 0.2).speed_m_s(10.0)) == speed


def test_a_mean_over_open_water_without_exponent_does_not_divide_by_zero() -> None:
    gusts = Wind(20.0, "10min", 0.0).gust_m_s([0.0, 10.0])
    assert gusts[1] == pytest.approx(20.0, rel=0.01)
    # At the ground the intensity is held at that of ten roughness lengths.
    assert 20 <= gusts[0] <= 20 * math.sqrt(1 + 7 / math.log(10)) * (1 + 1e-9)


def test_each_averaging_has_exponents_that_grow_with_roughness() -> None:
    for kind in AVERAGING:
        water, open_country, suburb = (EXPONENTS[name, kind] for name in ("open water", "open country", "suburb"))
        assert water < open_country < suburb
