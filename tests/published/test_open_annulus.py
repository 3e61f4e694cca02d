"""Annulus R 40, r 25 cm with a radial gap: losses recomputed independently from the polygon formulas (+-0.2 points)."""

import pytest

from assessments.methods.section import compute
from tests.assessments.methods.section.shapes import ring, wedge


def _sector_gap(angle: float) -> list[list[list[float]]]:
    return [ring(25.0)] + ([wedge(0.0, angle, 60.0)] if angle else [])


# Gap in degrees; worst loss over all azimuths (corrected values for 30 and 60).
@pytest.mark.parametrize(("gap", "worst"), [(0, 15.3), (30, 34.4), (60, 49.9), (90, 61.9), (120, 71.4)])
def test_the_worst_loss_of_an_opened_annulus(gap: float, worst: float) -> None:
    answer = compute({"diameter_cm": 80, "voids_cm": _sector_gap(gap), "draws": 0})
    assert answer["largest_loss"]["percent"] == pytest.approx(worst, abs=0.2)
    assert answer["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(worst, abs=0.2)
    assert answer["open"] is bool(gap)
    assert answer["closed"] is not bool(gap)
