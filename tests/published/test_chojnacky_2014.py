"""Chojnacky, Heath and Jenkins 2014, updated generalised biomass equations: dry mass above ground at 40 cm dbh.

Coefficients as carried in an open database of allometries; which intercept belongs to which density is from memory.
"""

import pytest

from assessments.methods.growth.biomass import chojnacky

# Genus, family, basic density g/cm3, evergreen, kg at 40 cm, largest dbh of the range.
ROWS = [
    ("Fraxinus", "Oleaceae", 0.53, False, 769.9, 43), ("Fraxinus", "Oleaceae", 0.55, False, 933.9, 55),
    ("Acer", "Sapindaceae", 0.44, False, 855.5, 66), ("Acer", "Sapindaceae", 0.56, False, 1094.0, 70),
    ("Quercus", "Fagaceae", 0.60, False, 1026.6, 89), ("Ulmus", "Ulmaceae", 0.46, False, 804.8, 64),
    ("Tilia", "Malvaceae", 0.42, False, 670.4, 56), ("Liquidambar", "Altingiaceae", 0.46, False, 858.4, 53),
    ("Liriodendron", "Magnoliaceae", 0.40, False, 793.6, 65), ("Populus", "Salicaceae", 0.31, False, 586.4, 53),
    ("Salix", "Salicaceae", 0.36, False, 747.1, 70), ("Gleditsia", "Fabaceae", 0.60, False, 966.7, 42),
]  # fmt: skip


@pytest.mark.parametrize(("genus", "family", "density", "evergreen", "mass", "most"), ROWS)
def test_dry_mass_of_a_tree_of_40_cm(
    genus: str, family: str, density: float, evergreen: bool, mass: float, most: float
) -> None:
    found = chojnacky(genus, family, density, 40.0, evergreen=evergreen)
    assert found is not None
    assert found.dry_kg == pytest.approx(mass, abs=0.06)
    assert not found.outside
    held = chojnacky(genus, family, density, most + 5, evergreen=evergreen)
    ending = chojnacky(genus, family, density, most, evergreen=evergreen)
    assert held is not None
    assert ending is not None
    assert held.outside
    assert held.dry_kg == ending.dry_kg


def test_hickories_have_their_own_line_before_their_family() -> None:
    hickory, walnut = (chojnacky(genus, "Juglandaceae", 0.6, 30.0, evergreen=False) for genus in ("Carya", "Juglans"))
    assert hickory is not None
    assert walnut is not None
    assert hickory.dry_kg > walnut.dry_kg


def test_an_evergreen_oak_weighs_less_than_a_deciduous_one() -> None:
    deciduous, evergreen = (chojnacky("Quercus", "Fagaceae", 0.7, 40.0, evergreen=kind) for kind in (False, True))
    assert deciduous is not None
    assert evergreen is not None
    # exp(-2.2198 + 2.0705), the difference of the two intercepts.
    assert evergreen.dry_kg / deciduous.dry_kg == pytest.approx(0.8613, abs=1e-4)


def test_a_family_that_the_paper_lacks_has_no_estimate() -> None:
    assert chojnacky("Ginkgo", "Ginkgoaceae", 0.45, 40.0, evergreen=False) is None
