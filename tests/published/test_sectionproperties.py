"""Random sections with voids and openings against the finite-element library sectionproperties (tests only)."""

import math

import numpy as np
import pytest
from numpy.random import Generator
from sectionproperties.analysis.section import Section as Reference
from sectionproperties.pre.geometry import Geometry
from shapely import Point, Polygon
from shapely.affinity import rotate

from assessments.methods.section import Answer, assess, read
from assessments.methods.section.torsion import stiffness_ratio
from assessments.methods.section.voids import residual
from tests.assessments.methods.section.shapes import cracks, even_readings

SECTIONS = 200
WITHIN = 0.005


def _outline(rng: Generator) -> list[list[float]]:
    """A lobed ring of 20 to 120 cm, anywhere on the sheet."""
    size, count = rng.uniform(10, 60), 120
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    lobes = [rng.normal(0, 0.05) * np.cos(k * turn + rng.uniform(0, 6.28)) for k in (2, 3, 4)]
    radius = size * (1 + np.sum(lobes, 0))
    east, north = rng.uniform(-100, 100, 2)
    return [[east + r * math.cos(t), north + r * math.sin(t)] for r, t in zip(radius, turn, strict=True)]


def _request(rng: Generator) -> dict[str, object]:
    ring = _outline(rng)
    stem = Polygon(ring)
    size, (x, y) = math.sqrt(stem.area / math.pi), stem.centroid.coords[0]
    request: dict[str, object] = {"outline_cm": ring, "draws": 0}
    if rng.random() < 0.5:
        count = int(rng.integers(5, 16))
        walls = size * rng.uniform(0.25, 0.6, count)
        request["readings"] = [
            {"azimuth_deg": 360 * i / count, "sound_wall_cm": float(wall)} for i, wall in enumerate(walls)
        ]
    else:
        # The first reaches the centre, so that an opening always has a void to run to.
        request["voids_cm"] = [
            [[x + r * math.cos(t), y + r * math.sin(t)] for t in np.linspace(0, 2 * np.pi, 50, endpoint=False)]
            for r in [size * rng.uniform(0.2, 0.6)]
        ] + [[[x + 0.72 * size + 0.1 * size * c, y + 0.1 * size * s] for c, s in ((1, 0), (0, 1), (-1, 0), (0, -1))]]
    if rng.random() < 0.5:
        opening = {"azimuth_deg": float(rng.uniform(0, 360)), "width_cm": size * float(rng.uniform(0.1, 0.5))}
        request["openings"] = [opening | ({"depth_cm": size * 0.5} if rng.random() < 0.3 else {})]
    return request


def _reference(answer: Answer, azimuth_deg: float) -> tuple[float, float]:
    """Area and W toward an azimuth by the library, on the section turned so that the load is toward north."""
    turned = rotate(answer.residual.wood, azimuth_deg, origin=(0, 0))
    # Fewer corners mesh faster; what that moves is far below the tolerance.
    plain = turned.simplify(3e-4 * answer.section.outline.radius_cm)
    geometry = Geometry(plain).create_mesh(mesh_sizes=[turned.area], coarse=True)
    section = Reference(geometry)
    section.calculate_geometric_properties()
    stress = section.calculate_stress(mxx=1e6).get_stress()[0]["sig_zz"]
    return section.get_area(), 1e6 / float(np.abs(stress).max())


@pytest.mark.filterwarnings("ignore")
def test_area_and_worst_modulus_agree_within_half_a_per_cent_on_200_random_sections() -> None:
    rng = np.random.default_rng(20261125)
    agreed = opened = 0
    while agreed < SECTIONS:
        answer = assess(read(_request(rng)))
        if not isinstance(answer.residual.wood, Polygon):
            continue  # the library takes one region; pieces have closed forms of their own
        area, modulus = _reference(answer, answer.worst.azimuth_deg)
        assert answer.bounds.shape.area_cm2 == pytest.approx(area, rel=WITHIN)
        assert answer.worst.modulus_cm3 == pytest.approx(modulus, rel=WITHIN)
        agreed, opened = agreed + 1, opened + answer.open
    assert SECTIONS / 4 < opened < SECTIONS  # both kinds were tried


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("wall", [4.0, 8.0, 15.0])
def test_the_torsional_stiffness_left_in_a_slit_tube_agrees_within_a_tenth(wall: float) -> None:
    section = read({"diameter_cm": 80, "readings": even_readings(wall), "cracks": cracks(0, inner=40 - wall)})
    ratio = stiffness_ratio(section.outline, residual(section))
    closed = Point(0, 0).buffer(40, 24) - Point(0, 0).buffer(40 - wall, 24)
    slit = closed - Polygon([(-0.05, 0), (0.05, 0), (0.05, 50), (-0.05, 50)])
    stiffness = []
    for region in (closed, slit):
        reference = Reference(Geometry(region).create_mesh(mesh_sizes=[wall**2 / 4]))
        reference.calculate_geometric_properties()
        reference.calculate_warping_properties()
        stiffness.append(reference.get_j())
    assert ratio == pytest.approx(stiffness[1] / stiffness[0], rel=0.10)
