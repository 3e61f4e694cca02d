"""Static wind load by the textbook: pressure, power law, an elliptic crown integrated exactly, stress of a round stem.

Green ash, 18 m, crown from 4 m, 10 m wide, drag 0.25; 25 m/s at 10 m, exponent 0.22; stem 60 cm, seen at 1 m.
"""

import numpy as np
import pytest
from scipy.integrate import quad  # type: ignore[import-untyped]

from assessments.methods.stem_load import check, compute
from assessments.methods.stem_load.contract import read
from assessments.methods.stem_load.forces import crown_of, stem_wind_knm
from assessments.methods.wind import Crowns, Wind, force_kn, moment_knm

WIND = Wind(25.0, "3s", 0.22)
CROWN = Crowns.of(18.0, 4.0, 10.0, 0.25)
# A stem of one thickness up to the crown, as the worked example has it.
REQUEST = {
    "species": "Fraxinus pennsylvanica", "height_m": 18, "crown_base_m": 4, "crown_width_m": 10,
    "crown_shape": "ellipse", "drag_coefficient": 0.25, "bark_cm": 0, "heights_m": [1.0],
    "diameters": [{"height_m": 0, "diameter_cm": 60}, {"height_m": 4, "diameter_cm": 60}],
    "wind": {"v10_m_s": 25, "exponent": 0.22},
}  # fmt: skip


def test_area_force_and_moment_of_the_crown() -> None:
    assert float(CROWN.area_m2[0]) == pytest.approx(109.956, abs=1e-3)
    assert float(force_kn(CROWN, WIND)[0]) * 1000 == pytest.approx(10_826.1, abs=0.1)
    assert float(moment_knm(CROWN, WIND, 1.0)[0]) * 1000 == pytest.approx(113_819, abs=1)


@pytest.mark.parametrize("at", [0.0, 1.0, 6.0, 11.0, 16.0])
def test_force_and_moment_agree_with_adaptive_integration(at: float) -> None:
    """Reference: scipy.integrate.quad over the ellipse's width."""

    def pressure(z: float) -> float:
        width = 10 * 2 * np.sqrt((z - 4) / 14 * (1 - (z - 4) / 14))
        return float(0.25 * 0.6125 * (25 * (z / 10) ** 0.22) ** 2 * width)

    low = max(at, 4.0)
    force, moment = quad(pressure, low, 18)[0], quad(lambda z: pressure(z) * (z - at), low, 18)[0]
    assert float(force_kn(CROWN, WIND, at)[0]) * 1000 == pytest.approx(force, rel=2e-4)
    assert float(moment_knm(CROWN, WIND, at)[0]) * 1000 == pytest.approx(moment, rel=2e-4)


def test_the_bare_stem_adds_its_own_moment() -> None:
    # 603.8 N m by slices of a cylinder of 0.6 m up to 4 m, drag 1.0.
    moment = stem_wind_knm(read(REQUEST), WIND, np.array([1.0]))
    assert float(moment[0]) * 1000 == pytest.approx(603.8, rel=5e-3)


def test_stress_and_safety_factors() -> None:
    """The worked example has 14 slices (+0.6 % of moment) and no weight: stress 5.43 MPa, 5.33, 12.06."""
    row = check(read(REQUEST)).rows[0]
    assert row.modulus_cm3 == pytest.approx(21_205.75, rel=1e-6)
    assert row.wind_knm == pytest.approx(115.156, rel=7e-3)
    assert row.bending_mpa == pytest.approx(5.43, rel=7e-3)
    assert 28.96 / row.bending_mpa == pytest.approx(5.33, rel=8e-3)
    assert 65.5 / row.bending_mpa == pytest.approx(12.06, rel=8e-3)
    # Catalogue strength of the genus, 26 MPa.
    assert 26 / row.bending_mpa == pytest.approx(4.79, rel=8e-3)
    # Weight takes a little more.
    assert row.bending_mpa < row.stress_mpa < row.bending_mpa * 1.05


def test_after_the_loss_of_an_eccentric_hollow() -> None:
    """Loss 40.78 %: the factor falls from 4.79 to 2.83, both against 26 MPa."""
    sound, hollow = (
        check(read(REQUEST | {"sections": [{"height_m": 1.0, "loss_percent": loss}]})).rows[0].bending_mpa
        for loss in (0, 40.78)
    )
    assert 26 / hollow == pytest.approx(2.83, rel=1e-2)
    assert sound / hollow == pytest.approx(1 - 0.4078, rel=1e-6)


def test_the_diameter_at_which_the_factor_is_one_and_a_half() -> None:
    """40.75 cm against 26 MPa; the thinner stem catches a little less wind than the one of the example."""
    thin = REQUEST | {"diameters": [{"height_m": h, "diameter_cm": 40.75} for h in (0, 4)]}
    assert 26 / check(read(thin)).rows[0].bending_mpa == pytest.approx(1.5, rel=1e-2)


def test_the_static_moment_of_a_lean() -> None:
    """M = m g h sin(theta): 2500 kg at 7 m along a stem that leans by 10 degrees is 29.81 kN m at the base."""
    # All mass in the crown, whose middle is at 7 m along the stem.
    middle = 7 * np.cos(np.radians(10))
    tree = read(
        REQUEST | {
            "height_m": middle + 3, "crown_base_m": middle - 3, "crown_mass_kg": 2500, "crown_shape": "rectangle",
            "diameters": [{"height_m": 0, "diameter_cm": 0.01}], "heights_m": [0.0], "lean": {"angle_deg": 10},
        }
    )  # fmt: skip
    assert check(tree).rows[0].standing_knm == pytest.approx(29.81, rel=1e-3)


def test_power_law_and_pressure() -> None:
    """Multipliers of speed at 5, 15, 20 and 30 m, and pressures, by arithmetic."""
    for exponent, wanted in ((0.16, (0.895, 1.067, 1.117, 1.192)), (0.22, (0.859, 1.093, 1.165, 1.273)),
                             (0.28, (0.824, 1.120, 1.214, 1.360))):  # fmt: skip
        assert Wind(1.0, "3s", exponent).speed_m_s([5, 15, 20, 30]) == pytest.approx(wanted, abs=6e-4)
    for speed, pressure in ((20, 245.0), (25, 382.8), (30, 551.3), (32.7, 654.9), (40, 980.0)):
        assert float(Wind(speed).pressure_n_m2(10.0)) == pytest.approx(pressure, abs=0.06)


def test_the_crown_of_the_answer_is_the_same_one() -> None:
    answer = compute(REQUEST)
    assert answer["crown"]["area_m2"] == pytest.approx(109.956, abs=1e-3)
    assert answer["crown"]["force_kn"] == pytest.approx(10.8261, abs=1e-4)
    assert float(crown_of(read(REQUEST)).area_m2[0]) == pytest.approx(float(CROWN.area_m2[0]))
