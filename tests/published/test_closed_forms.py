"""Sections against closed forms of textbook mechanics: annulus, eccentric annulus, half circles, quarter sectors."""

import math

import pytest

from assessments.methods.section import compute
from tests.assessments.methods.section.shapes import cracks, eccentric_wall, even_readings, ring, toward

D, R = 80.0, 40.0
CIRCLE_W = math.pi * D**3 / 32


def test_a_sound_circle_has_the_modulus_of_the_closed_form() -> None:
    answer = compute({"diameter_cm": D, "draws": 0})
    assert answer["modulus"]["worst_cm3"] == pytest.approx(CIRCLE_W, rel=5e-5)
    assert answer["sound"]["ixx_cm4"] == pytest.approx(math.pi * D**4 / 64, rel=5e-5)
    assert answer["modulus"]["loss_percent"]["best_estimate"] == 0


@pytest.mark.parametrize("d", [8.0, 24.0, 50.0, 72.0])
def test_a_concentric_tube_has_the_area_and_the_modulus_of_the_closed_form(d: float) -> None:
    answer = compute({"diameter_cm": D, "readings": even_readings((D - d) / 2), "draws": 0})
    assert answer["sound_area_cm2"] == pytest.approx(math.pi * (D**2 - d**2) / 4, rel=1e-4)
    assert answer["modulus"]["worst_cm3"] == pytest.approx(math.pi * (D**4 - d**4) / (32 * D), rel=1e-4)
    assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(100 * (d / D) ** 4, abs=0.01)


def test_an_ellipse_has_the_second_moments_of_the_closed_form() -> None:
    a, b = 50.0, 30.0
    points = [[a * math.cos(math.pi * i / 360), b * math.sin(math.pi * i / 360)] for i in range(720)]
    answer = compute({"outline_cm": points, "draws": 0})
    assert answer["residual"]["iyy_cm4"] == pytest.approx(math.pi * a**3 * b / 4, rel=1e-4)
    assert answer["residual"]["ixx_cm4"] == pytest.approx(math.pi * a * b**3 / 4, rel=1e-4)
    # Weakest toward the short axis: W = pi a b^2 / 4 about the long one.
    assert answer["modulus"]["worst_cm3"] == pytest.approx(math.pi * a * b**2 / 4, rel=1e-4)
    assert answer["modulus"]["worst_azimuth_deg"] == pytest.approx(0.0, abs=0.01)
    assert answer["residual"]["stiffest_azimuth_deg"] == pytest.approx(90.0, abs=0.01)


class TestEccentricAnnulus:
    """R 40 cm, hole 25 cm, off centre by 10 cm (worked example; computed from the closed form)."""

    r, e = 25.0, 10.0
    area = math.pi * (R**2 - r**2)

    @pytest.mark.parametrize("azimuth", [0.0, 30.0, 123.0, 210.0, 315.0])
    def test_its_worst_load_is_toward_the_hole_wherever_it_lies(self, azimuth: float) -> None:
        answer = compute({"diameter_cm": D, "voids_cm": [ring(self.r, toward(azimuth, self.e))], "draws": 0})
        assert answer["modulus"]["worst_azimuth_deg"] == pytest.approx(azimuth % 180, abs=0.3)
        assert answer["compression_azimuth_deg"] == pytest.approx(azimuth, abs=0.3)
        # Worked example: 40.776 % along the offset, thin side extreme.
        assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(40.776, abs=0.05)
        assert answer["thinnest_wall_cm"] == pytest.approx(5.0, abs=1e-3)
        assert answer["t_over_r"] == pytest.approx(0.125, abs=1e-4)

    def test_its_area_centroid_and_second_moments_are_those_of_the_closed_form(self) -> None:
        answer = compute({"diameter_cm": D, "voids_cm": [ring(self.r, (self.e, 0.0))], "draws": 0})
        centroid = -(self.r**2) * self.e / (R**2 - self.r**2)
        about_y = math.pi * R**4 / 4 - math.pi * self.r**4 / 4 - math.pi * self.r**2 * self.e**2
        assert answer["sound_area_cm2"] == pytest.approx(3063.05, rel=1e-4)
        assert answer["residual"]["centroid_cm"][0] == pytest.approx(-6.41026, rel=2e-4)
        assert answer["residual"]["ixx_cm4"] == pytest.approx(1_703_823.1, rel=1e-4)
        assert answer["residual"]["iyy_cm4"] == pytest.approx(about_y - self.area * centroid**2, rel=1e-4)
        assert answer["residual"]["iyy_cm4"] == pytest.approx(1_381_608.5, rel=1e-4)

    def test_readings_of_it_lead_to_the_same_loss(self) -> None:
        readings = [
            {"azimuth_deg": a, "sound_wall_cm": eccentric_wall(R, self.r, self.e, 30.0, a)} for a in range(0, 360, 5)
        ]
        answer = compute({"diameter_cm": D, "readings": readings, "draws": 0})
        assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(40.776, abs=0.1)
        assert answer["modulus"]["worst_azimuth_deg"] == pytest.approx(30.0, abs=0.3)


def test_two_half_circles_without_composite_action_bend_about_their_own_centroids() -> None:
    # Half circle about its own centroid: I = (pi/8 - 8/(9 pi)) R^4, extreme fibre R - 4R/(3 pi), split facing the load.
    half = (math.pi / 8 - 8 / (9 * math.pi)) * R**4
    modulus = 2 * half / (R - 4 * R / (3 * math.pi))
    answer = compute({"diameter_cm": D, "cracks": cracks(0.0, 180.0)})
    assert answer["pieces"] == 2
    assert answer["modulus"]["worst_cm3"] == pytest.approx(modulus, rel=1e-4)
    assert answer["modulus"]["worst_azimuth_deg"] == pytest.approx(90.0, abs=0.01)
    loss = answer["modulus"]["loss_percent"]
    assert loss["high"] == pytest.approx(100 * (1 - modulus / CIRCLE_W), abs=0.02)
    assert loss["low"] == 0  # full composite action: as if not split


def test_four_quarter_sectors_without_composite_action_bend_about_their_own_centroids() -> None:
    # Quarter circle: centroid at 4R/(3 pi) on each axis, I = (pi/16 - 4/(9 pi)) R^4 about it,
    # product moment (1/8 - 4/(9 pi)) R^4. The four add to 4 I with no product moment (their signs cancel).
    inertia = 4 * (math.pi / 16 - 4 / (9 * math.pi)) * R**4
    centre = 4 * R / (3 * math.pi)
    # The farthest fibre from a quarter's centroid is a corner (R, 0).
    farthest = math.hypot(R - centre, centre)
    answer = compute({"diameter_cm": D, "cracks": cracks(0.0, 90.0, 180.0, 270.0)})
    assert answer["pieces"] == 4
    assert answer["modulus"]["worst_cm3"] == pytest.approx(inertia / farthest, rel=1e-4)


def test_a_slit_tube_keeps_its_bending_but_little_of_its_torsion() -> None:
    # Thin walls: closed J = 2 pi r^3 t, open J = 2 pi r t^3 / 3, so the ratio is about (t/r)^2 / 3.
    wall, middle = 2.0, 39.0
    answer = compute(
        {"diameter_cm": D, "readings": even_readings(wall), "cracks": cracks(40.0, inner=38.0), "draws": 0}
    )
    assert answer["torsional_stiffness_ratio"] == pytest.approx((wall / middle) ** 2 / 3, rel=0.02)
    assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(100 * (76 / 80) ** 4, abs=0.02)
