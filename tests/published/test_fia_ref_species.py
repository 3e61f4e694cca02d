"""USDA Forest Service FIA, table REF_SPECIES (green wood and bark after Miles and Smith 2009).

Green weights are worked from its specific gravity and moisture: lb/ft3 = SG x 62.4 x (1 + MC/100).
"""

import csv

import pytest

from assessments.methods.wood import find
from assessments.methods.wood.build import scientific
from assessments.methods.wood.tables import species
from tests.support.open_data import open_data

KG_M3 = 16.0185
# Specific gravity, moisture %, green wood lb/ft3, wood with bark lb/ft3.
ROWS = [
    ("Fraxinus americana", 0.55, 45.7, 50.0, 51.2),
    ("Fraxinus pennsylvanica", 0.53, 57.2, 52.0, 51.9),
    ("Fraxinus nigra", 0.45, 85.2, 52.0, 51.9),
    ("Acer saccharinum", 0.44, 67.5, 46.0, 47.4),
    ("Acer rubrum", 0.49, 63.5, 50.0, 51.3),
    ("Acer saccharum", 0.56, 57.4, 55.0, 56.2),
    ("Quercus alba", 0.60, 68.3, 63.0, 63.4),
    ("Quercus rubra", 0.56, 83.1, 64.0, 66.8),
    ("Quercus palustris", 0.58, 76.8, 64.0, 65.3),
    ("Quercus virginiana", 0.80, 52.2, 76.0, 73.8),
    ("Ulmus americana", 0.46, 94.0, 55.7, 54.9),
    ("Platanus occidentalis", 0.46, 81.2, 52.0, 53.3),
    ("Tilia americana", 0.32, 105.3, 41.0, 42.5),
    ("Liriodendron tulipifera", 0.40, 95.0, 48.7, 49.3),
    ("Populus deltoides", 0.37, 116.6, 50.0, 47.7),
    ("Gleditsia triacanthos", 0.60, 60.2, 60.0, 59.9),
    ("Robinia pseudoacacia", 0.66, 40.8, 58.0, 54.9),
    ("Juglans nigra", 0.51, 79.1, 57.0, 54.7),
    ("Prunus serotina", 0.47, 53.4, 45.0, 47.5),
    ("Salix nigra", 0.36, 127.0, 51.0, 52.5),
    ("Pinus strobus", 0.34, 65.0, 35.0, 37.1),
    ("Pinus ponderosa", 0.38, 89.8, 45.0, 41.7),
    ("Pseudotsuga menziesii", 0.45, 35.3, 38.0, 40.1),
]


@pytest.mark.parametrize(("name", "gravity", "moisture", "wood", "with_bark"), ROWS, ids=[row[0] for row in ROWS])
def test_green_weights(name: str, gravity: float, moisture: float, wood: float, with_bark: float) -> None:
    found = find(name)
    assert found.green_kg_m3 is not None
    assert found.green_with_bark_kg_m3 is not None
    assert found.moisture_percent is not None
    assert found.basic_kg_m3.value == pytest.approx(gravity * 1000)
    assert found.moisture_percent.value == pytest.approx(moisture, abs=0.06)
    # Rounded to a tenth of a pound a cubic foot and to a whole kilogram a cubic metre; 62.4 lb/ft3 is 999.6 kg/m3.
    assert found.green_kg_m3.value == pytest.approx(wood * KG_M3, abs=1.8)
    assert found.green_with_bark_kg_m3.value == pytest.approx(with_bark * KG_M3, abs=1.8)


def test_every_species_with_a_density_is_in_our_table() -> None:
    with open_data("wood/FIA_REF_SPECIES.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["WOOD_SPGR_GREENVOL_DRYWT"] and row["SFTWD_HRDWD"]]
    wanted = {scientific(row).lower(): row for row in rows if row["GENUS"] != "Tree" and row["SPECIES"] != "spp."}
    assert len(wanted) > 2000
    assert wanted.keys() <= species().keys()
    for name, row in wanted.items():
        assert float(species()[name]["basic_kg_m3"]) == pytest.approx(
            1000 * float(row["WOOD_SPGR_GREENVOL_DRYWT"]), abs=0.06
        )


def test_green_over_dry_weight_agrees_with_the_tables_own_conversion() -> None:
    """DRYWT_TO_GREENWT_CONVERSION is green over dry weight of wood and bark together."""
    with open_data("wood/FIA_REF_SPECIES.csv").open(encoding="utf-8") as file:
        rows = {scientific(row).lower(): row for row in csv.DictReader(file)}
    for name in (row[0].lower() for row in ROWS):
        row, ours = rows[name], species()[name]
        share = float(ours["bark_volume_percent"]) / 100
        dry = (float(ours["basic_kg_m3"]) + float(ours["bark_basic_kg_m3"]) * share) / (1 + share)
        ratio = float(ours["green_with_bark_kg_m3"]) / dry
        assert ratio == pytest.approx(float(row["DRYWT_TO_GREENWT_CONVERSION"]), rel=3e-3)
