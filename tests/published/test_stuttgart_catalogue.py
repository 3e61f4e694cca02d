"""Wessolly and Erb 1998, Stuttgart strength catalogue: green compression and drag, all from memory; it is disputed.

Strain at first yield, in %, is recalled too and must be strength over stiffness, as it is printed.
"""

import pytest

from assessments.methods.wood import find, strength_of
from assessments.methods.wood.drag import drag_of
from assessments.methods.wood.tables import catalogue

# Compression MPa, strain %, drag.
ROWS = [
    ("Acer campestre", 25.5, 0.43, 0.25), ("Acer platanoides", 25, 0.29, 0.25), ("Acer saccharinum", 20, 0.33, 0.25),
    ("Aesculus hippocastanum", 14, 0.27, 0.35), ("Ailanthus altissima", 16, 0.25, 0.15),
    ("Betula pendula", 22, 0.31, 0.12), ("Carpinus betulus", 16, 0.18, 0.25), ("Castanea sativa", 25, 0.42, 0.25),
    ("Fraxinus excelsior", 26, 0.42, 0.20), ("Picea abies", 21, 0.23, 0.20), ("Pinus sylvestris", 17, 0.29, 0.15),
    ("Platanus x hispanica", 27, 0.43, 0.25), ("Populus nigra", 20, 0.31, 0.20), ("Quercus robur", 28, 0.41, 0.25),
    ("Salix alba", 16, 0.21, 0.20), ("Tilia cordata", 20, 0.24, 0.25), ("Tilia x europaea", 17, 0.38, 0.25),
    ("Ulmus glabra", 20, 0.35, 0.25),
]  # fmt: skip


@pytest.mark.parametrize(("name", "compression", "strain", "drag"), ROWS, ids=[row[0] for row in ROWS])
def test_rows_of_the_catalogue(name: str, compression: float, strain: float, drag: float) -> None:
    wood = find(name)
    found = strength_of(wood, "catalogue")
    assert found is not None
    assert (found.compression_mpa, found.basis) == (compression, "species")
    assert any("from memory" in note for note in found.notes)
    row = catalogue()[wood.key]
    # Strain is printed to two places: half a hundredth, and the rounding of stiffness.
    assert 100 * compression / float(row["elasticity_mpa"]) == pytest.approx(strain, abs=0.008)
    assert drag_of(wood.key, wood.genus).best == drag


def test_crowns_of_the_wind_tunnel_lie_within_the_default_band() -> None:
    """Vollsinger et al. 2005, juvenile cottonwood, alder and birch: 0.15 to 0.22 at 20 m/s on still-air area."""
    default = drag_of("nothing", "nothing")
    assert default.low <= 0.15 < 0.22 <= default.high
