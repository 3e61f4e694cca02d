"""Carbon of a street tree: Nowak 1994 (open-grown trees times 0.8), 44/12 of carbon dioxide; factors from memory.

Carbon fractions of species: Westfall et al. 2024, USFS GTR-WO-104. Worked for an ash of 40 cm by hand.
"""

import pytest

from assessments.methods.growth.biomass import CO2_PER_CARBON, ROOT_SHARE, carbon

# exp(-2.4800 + 2.4835 ln 40): mixed hardwoods of Jenkins et al. 2003.
ABOVE_GROUND_KG = 797.38


def test_an_ash_of_40_cm_by_the_forest_equation() -> None:
    found = carbon("Fraxinus excelsior", 40.0, estimator="jenkins_2003")
    assert found.dry_above_ground_kg == pytest.approx(637.90, rel=1e-4)
    above = found.carbon_kg / (1 + ROOT_SHARE)
    assert above == pytest.approx(318.95, rel=1e-4)
    assert above * CO2_PER_CARBON == pytest.approx(1169.49, rel=1e-4)
    assert found.co2_kg == pytest.approx(1473.56, rel=1e-4)


def test_green_ash_has_its_own_carbon_fraction() -> None:
    found = carbon("Fraxinus pennsylvanica", 40.0, estimator="jenkins_2003")
    assert found.carbon_kg / (1 + ROOT_SHARE) == pytest.approx(310.02, rel=1e-4)


def test_the_forest_mass_is_that_of_the_paper() -> None:
    (forest,) = [one for one in carbon("Fraxinus excelsior", 40.0).estimates if one.estimator == "jenkins_2003"]
    assert forest.dry_kg == pytest.approx(ABOVE_GROUND_KG, rel=1e-4)
