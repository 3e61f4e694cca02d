"""Jenkins et al. 2003, national biomass estimators: dry mass above ground by group, and its parts."""

import pytest

from assessments.methods.wood import find
from assessments.methods.wood.biomass import dry_mass

# kg dry at 20, 40 and 60 cm dbh.
GROUPS = {
    "6": (139.8, 731.3, 1924.8), "7": (176.4, 908.9, 2371.4), "8": (142.6, 797.4, 2182.7), "9": (196.3, 1060.8, 2846.2),
    "1": (113.8, 544.7, 1361.5), "2": (162.3, 883.0, 2378.3), "3": (133.6, 746.3, 2041.2), "4": (116.6, 630.5, 1692.1),
    "5": (135.6, 682.8, 1758.0), "10": (80.3, 261.5, 521.7),
}  # fmt: skip


@pytest.mark.parametrize("group", GROUPS)
def test_mass_above_ground_by_group(group: str) -> None:
    assert [dry_mass(dbh, group).total_kg for dbh in (20, 40, 60)] == pytest.approx(GROUPS[group], rel=1e-3)


def test_shares_of_a_hardwood_of_40_cm() -> None:
    found = dry_mass(40, "8")
    assert found.foliage_kg / found.total_kg == pytest.approx(0.01956, abs=1e-5)
    assert found.branches_kg / found.total_kg == pytest.approx(0.20965, abs=1e-5)


def test_the_mixed_hardwoods_end_at_56_cm() -> None:
    assert dry_mass(56, "8").within_range
    assert not dry_mass(56.1, "8").within_range


@pytest.mark.parametrize(
    ("name", "group"),
    [("Fraxinus pennsylvanica", "8"), ("Acer saccharum", "9"), ("Acer rubrum", "7"), ("Populus deltoides", "6"),
     ("Pinus strobus", "4"), ("Picea rubens", "5"), ("Pseudotsuga menziesii", "2")],
)  # fmt: skip
def test_species_belong_to_the_groups_of_the_paper(name: str, group: str) -> None:
    assert find(name).biomass_group == group
