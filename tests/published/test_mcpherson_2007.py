"""McPherson 2007, benefit-based and cost-based appraisal (Arboriculture and Urban Forestry): worked data, 9th edition.

Fed with the printed trunk areas: the printed diameters are rounded, and the basic cost with them.
"""

import pytest

from assessments.methods.appraisal import appraise_9th, compute

UNIT_COST, INSTALLED, SPECIES, LOCATION = 11.94, 345, 0.90, 2 / 3
# Trunk area cm2, basic cost, condition, appraised value as published.
ROWS = [(347, 4319, 0.56, 1451), (462, 5693, 0.56, 1913), (388, 4812, 0.64, 1848)]
# Follows from all three basic costs: 14.1 +- 0.15 cm2.
REPLACEMENT_CM2 = 14.1


@pytest.mark.parametrize(("area", "basic", "condition", "value"), ROWS)
def test_the_published_trees_are_worth_what_was_published(
    area: float, basic: float, condition: float, value: float
) -> None:
    found = appraise_9th(area, UNIT_COST, REPLACEMENT_CM2, INSTALLED, SPECIES, condition, LOCATION)
    assert found.basic_cost == pytest.approx(basic, rel=1e-3)
    assert found.value == pytest.approx(value, rel=1e-3)


@pytest.mark.parametrize(("area", "basic", "condition", "value"), ROWS)
def test_the_calculation_says_the_same(area: float, basic: float, condition: float, value: float) -> None:
    answer = compute(
        {
            "edition": "9", "trunk_area_cm2": area, "unit_cost_per_cm2": UNIT_COST, "replacement_cost": INSTALLED,
            "replacement_area_cm2": REPLACEMENT_CM2, "species_percent": 90, "condition_percent": 100 * condition,
            "location_percent": 100 * LOCATION,
        }
    )  # fmt: skip
    assert answer["value"] == pytest.approx(value, rel=1e-3)
    assert answer["basic_cost"] == pytest.approx(basic, rel=1e-3)
