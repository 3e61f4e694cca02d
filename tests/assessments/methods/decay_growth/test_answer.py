"""What is said of decay over time: root and butt rots, outside signs alone, the first year, wrong fields."""

import math
import time
from typing import Any

import pytest

from assessments.methods import tables
from assessments.methods.decay_growth import compute
from assessments.methods.problems import MethodProblem

STEM: dict[str, Any] = {"diameter_cm": 60, "position": "stem", "measurements": [{"sound_wall_cm": 10}]}


@pytest.mark.parametrize("position", ["root", "butt"])
def test_root_and_butt_rots_give_no_band_and_call_for_the_root_collar(position: str) -> None:
    found = compute(STEM | {"position": position})
    assert found["band"] is None
    assert found["first_year_crossed"] is None
    assert found["call"] == "root_collar_examination"
    assert found["interval_factor"] == 0.5


def test_a_fungus_of_the_butt_found_on_the_stem_is_a_butt_rot_if_it_is_known_well_enough() -> None:
    fungus = {"genus": "Kretzschmaria", "confidence": "probable"}
    assert compute(STEM | {"fungus": fungus})["call"] == "root_collar_examination"
    assert compute(STEM | {"fungus": fungus | {"confidence": "guess"}})["band"] is not None
    assert compute(STEM | {"position": "limb", "fungus": fungus})["band"] is not None


def test_outside_signs_alone_may_halve_an_interval_and_never_say_now() -> None:
    seen = {"wound": {"width_cm": 40}, "fungus": {"genus": "Inonotus", "confidence": "certain"}}
    found = compute(STEM | {"measurements": []} | seen)
    assert (found["band"], found["first_year_crossed"]) == (None, None)
    assert (found["call"], found["interval_factor"]) == ("inside_measurement", 0.5)
    assert compute(STEM | {"measurements": []})["interval_factor"] == 1.0


def test_an_inside_measurement_beyond_the_threshold_says_now() -> None:
    found = compute(STEM | {"measurements": [{"sound_wall_cm": 6, "error_cm": 0.5}]})
    assert found["first_year_crossed"] == 0
    assert found["band"]["crossed_percent"][0] > 99


def test_the_first_year_is_the_one_in_which_the_chance_reaches_the_policy() -> None:
    found = compute(STEM | {"species": "Aesculus hippocastanum", "chance_percent": 30})
    chances, first = found["band"]["crossed_percent"], found["first_year_crossed"]
    assert chances[first] >= 30 > chances[first - 1]
    later = compute(STEM | {"species": "Aesculus hippocastanum", "chance_percent": 60})["first_year_crossed"]
    assert later > first


def test_the_threshold_may_be_a_loss() -> None:
    found = compute(STEM | {"measurements": [{"sound_wall_cm": 10, "error_cm": 0}], "threshold": {"loss_percent": 19}})
    # A wall of 10 cm in a radius of 30 cm: (20 / 30)^4 = 19.75 %.
    assert found["first_year_crossed"] == 0
    assert found["band"]["loss_percent"]["median"][0] == pytest.approx(19.75, abs=0.01)


def test_what_rests_on_the_projects_choice_is_marked() -> None:
    found = compute(STEM | {"rot_type": "brown"})
    assert any("Project's choice throughout" in note for note in found["notes"])
    assert any("wider than the visible one" in note for note in found["notes"])
    assert found["allowance_cm"] > 0
    for table in ("decay_regime", "decay_rates"):
        assert tables.source(table).startswith("project's choice")


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"diameter_cm": -5}, "/diameter_cm"),
    ({"diameter_cm": math.nan}, "/diameter_cm"),
    ({"bark_cm": 30}, "/bark_cm"),
    ({"position": None}, "/position"),
    ({"position": "twig"}, "/position"),
    ({"measurements": [{"sound_wall_cm": 1e400}]}, "/measurements/0/sound_wall_cm"),
    ({"measurements": [{"sound_wall_cm": 70}]}, "/measurements/0/sound_wall_cm"),
    ({"measurements": [{"sound_wall_cm": 7, "method": []}]}, "/measurements/0/method"),
    ({"measurements": [{"sound_wall_cm": 7}] * 100_000}, "/measurements"),
    ({"wound": {"width_cm": 0}}, "/wound/width_cm"),
    ({"wound": 3}, "/wound"),
    ({"fungus": {"confidence": "certain"}}, "/fungus/genus"),
    ({"fungus": {"genus": "Fomes", "confidence": "sure"}}, "/fungus/confidence"),
    ({"threshold": {}}, "/threshold/t_over_r"),
    ({"threshold": {"t_over_r": 0.3, "loss_percent": 30}}, "/threshold/loss_percent"),
    ({"horizon_years": 2.5}, "/horizon_years"),
    ({"draws": 10**9}, "/draws"),
    ({"seed": True}, "/seed"),
    ({"years": 3}, "/years"),
]


@pytest.mark.parametrize(("fields", "pointer"), WRONG)
def test_a_wrong_field_is_named(fields: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as caught:
        compute(STEM | fields)
    assert caught.value.fields[0].pointer == pointer


def test_the_largest_request_is_answered_within_a_second() -> None:
    many = [{"sound_wall_cm": 10 - year / 20, "years_ago": year} for year in range(50)]
    start = time.process_time()
    compute(STEM | {"measurements": many, "draws": 10_000, "horizon_years": 60})
    assert time.process_time() - start < 1
