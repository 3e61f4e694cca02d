"""Ter-Mikaelian and Korzukhin 1997, biomass equations for sixty-five North American tree species: five street trees.

Coefficients as the Urban Tree Database carries them; at 10 cm a dbh^b is a 10^b, worked out by hand.
"""

import pytest

from assessments.methods.growth.biomass import ter_mikaelian

# a, b, kg at 10 cm, largest dbh.
ROWS = [
    ("Acer rubrum", 0.1970, 2.1933, 30.745, 35), ("Fraxinus americana", 0.1063, 2.4798, 32.087, 50),
    ("Quercus rubra", 0.1130, 2.4572, 32.380, 50), ("Liriodendron tulipifera", 0.0365, 2.7324, 19.711, 50),
    ("Fagus grandifolia", 0.1957, 2.3916, 48.219, 60),
]  # fmt: skip


@pytest.mark.parametrize(("species", "a", "b", "mass", "most"), ROWS)
def test_dry_mass_of_a_tree_of_10_cm_and_its_range(species: str, a: float, b: float, mass: float, most: float) -> None:
    found = ter_mikaelian(species, 10.0)
    assert found is not None
    assert found.dry_kg == pytest.approx(mass, rel=2e-4)
    large = ter_mikaelian(species, most + 1)
    assert large is not None
    assert large.outside
    assert large.dry_kg == pytest.approx(a * most**b)


def test_a_species_without_an_equation_of_its_own_has_none() -> None:
    assert ter_mikaelian("Tilia cordata", 10.0) is None
