"""National Park Service table of green log weights for tree workers (seen in a second source).

Pounds a foot of length by diameter in inches; the printed cells round differently, so +-0.6 lb.
"""

import pytest

from assessments.methods.log_mass import Log
from assessments.methods.wood.tables import log_weights

LB, IN, FT = 0.45359237, 2.54, 0.3048
INCHES = (10, 12, 14, 16, 18, 20)
TABLE: dict[tuple[str, float], tuple[int, ...]] = {
    ("malus", 55): (30, 43, 59, 77, 97, 120),
    ("fraxinus", 48): (26, 38, 51, 67, 85, 105),
    ("fagus grandifolia", 54): (29, 42, 58, 75, 95, 118),
    ("ulmus americana", 54): (29, 42, 58, 75, 95, 118),
    ("betula", 57): (31, 45, 61, 80, 101, 124),
    ("prunus serotina", 45): (25, 35, 48, 63, 79, 98),
    ("populus deltoides", 49): (27, 38, 52, 68, 87, 107),
    ("acer rubrum", 50): (27, 39, 53, 70, 88, 109),
    ("carya", 64): (35, 50, 68, 89, 113, 140),
    ("gleditsia triacanthos", 61): (33, 48, 65, 85, 108, 133),
    ("quercus virginiana", 76): (41, 60, 81, 106, 134, 166),
    ("quercus rubra", 63): (34, 49, 67, 88, 111, 137),
    ("quercus alba", 62): (34, 49, 66, 87, 110, 135),
    ("liriodendron tulipifera", 38): (21, 30, 41, 53, 67, 83),
    ("juglans nigra", 58): (32, 46, 62, 81, 102, 126),
    ("picea rubens", 34): (19, 27, 36, 47, 60, 74),
    ("larix laricina", 47): (26, 37, 50, 66, 83, 102),
}


@pytest.mark.parametrize(("taxon", "weight"), TABLE, ids=[taxon for taxon, _ in TABLE])
def test_a_foot_of_log_weighs_what_the_table_says(taxon: str, weight: float) -> None:
    density, _ = log_weights()[taxon]
    assert density == pytest.approx(weight * 16.0185)
    for inches, pounds in zip(INCHES, TABLE[taxon, weight], strict=True):
        foot = Log.of([(0, inches * IN, 0), (FT, inches * IN, 0)])
        assert density * foot.volume_m3 / LB == pytest.approx(pounds, abs=0.6)
