"""Gusts and exponents of the wind: EN 1991-1-4, ASCE 7 and the WMO guideline, all from memory of them."""

import math

import pytest

from assessments.methods.wind import EXPONENTS, Wind


def test_the_gust_of_a_mean_by_en_1991_1_4() -> None:
    """Clause 4.5, terrain category II, z0 = 0.05 m: intensity at 10 m is 1 / ln(200) = 0.189, peak pressure 1 + 7 I."""
    exponent = 1 / math.log(10 / 0.05)
    wind = Wind(20.0, "10min", exponent)
    assert float(wind.gust_factor(10.0)) ** 2 == pytest.approx(1 + 7 * 0.18874, rel=1e-4)
    assert float(wind.gust_factor(30.0)) ** 2 == pytest.approx(1 + 7 / math.log(30 / 0.05), rel=1e-6)


def test_the_gust_lies_in_the_range_of_the_wmo_guideline() -> None:
    """Harper et al. 2010, WMO/TD-No. 1555: 3-s gust over 10-min mean, in land to at sea: 1.66, 1.52, 1.38, 1.23."""
    open_country = float(Wind(20.0, "10min", 0.16).gust_factor(10.0))
    assert 1.38 <= open_country <= 1.66
    sea = float(Wind(20.0, "10min", 0.09).gust_factor(10.0))
    assert 1.23 <= sea <= 1.38


@pytest.mark.parametrize(
    ("terrain", "gust", "mean"),
    [("open water", 1 / 11.5, 1 / 9), ("open country", 1 / 9.5, 1 / 6.5), ("suburb", 1 / 7, 1 / 4)],
)
def test_exponents_by_asce_7(terrain: str, gust: float, mean: float) -> None:
    assert EXPONENTS[terrain, "3s"] == pytest.approx(gust, abs=5e-4)
    assert EXPONENTS[terrain, "10min"] == pytest.approx(mean, abs=5e-4)
