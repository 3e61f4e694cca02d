"""Common practice, no source: a piece that two people can just roll and split is of the order of 225 kg.

A plausibility of our masses only; it is never a default limit.
"""

import pytest

from assessments.methods.log_mass import compute
from assessments.methods.problems import MethodProblem


def test_a_firewood_round_of_a_big_ash_is_of_the_order_of_what_two_people_can_just_roll() -> None:
    """A round 40 cm long from a stem of 90 cm: between half and double of 225 kg."""
    ends = [{"height_m": 0, "diameter_cm": 90}, {"height_m": 0.4, "diameter_cm": 90}]
    assert 225 / 2 < compute({"species": "Fraxinus pennsylvanica", "sections": ends})["total_kg"] < 225 * 2


def test_it_is_no_default_limit() -> None:
    ends = [{"height_m": 0, "diameter_cm": 90}, {"height_m": 6, "diameter_cm": 80}]
    (piece,) = compute({"species": "Fraxinus pennsylvanica", "sections": ends})["pieces"]
    assert piece["mass_kg"] > 2000


def test_green_chips_take_several_times_the_room_of_the_wood() -> None:
    """Common practice, no source: 250 to 450 kg of green chips to a loose cubic metre, solid wood about 800 to 1000."""
    ends = [{"height_m": 0, "diameter_cm": 40}, {"height_m": 3, "diameter_cm": 30}]
    brush = compute({"species": "Fraxinus pennsylvanica", "sections": ends, "dbh_cm": 40})["brush"]
    solid = brush["green_kg"] / 831
    assert 1.5 < brush["chips_m3"]["low"] / solid < brush["chips_m3"]["high"] / solid < 4
    with pytest.raises(MethodProblem):
        compute({"green_density_kg_m3": 831, "sections": ends, "dbh_cm": 40})
