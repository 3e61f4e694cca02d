"""Detter et al. 2023 as compiled by Hill et al. 2024: 267 pulling tests, scaled overturning moment without a unit."""

from statistics import median

import pytest

from assessments.methods.stem_load.overturning import TAXA, moments, spread
from tests.support.open_data import open_data


def test_the_spread_between_species_is_that_of_the_tests() -> None:
    by_code = moments(open_data("failures/detter_2023_scaled_overturning_moments.xlsx"))
    assert sum(len(values) for values in by_code.values()) == 267
    middle = median(value for values in by_code.values() for value in values)
    assert by_code.keys() == TAXA.keys()
    for code, values in by_code.items():
        ours = spread()[TAXA[code]]
        assert ours["tests"] == len(values)
        assert ours["relative_median"] == pytest.approx(median(values) / middle, abs=0.006)
        inside = sum(ours["relative_low"] <= value / middle <= ours["relative_high"] for value in values)
        # Eight of ten lie between the tenths, give or take one at each end of a small sample.
        assert 0.8 * len(values) - 2 <= inside <= 0.8 * len(values) + 2
