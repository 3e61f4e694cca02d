"""The JSON answer of a stem load: what it holds, what it says, and what it refuses."""

import json
import math
import time
from typing import Any

import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.stem_load import compute

from .trees import ASH, HOLLOW


def test_the_answer_holds_the_contract() -> None:
    answer = compute(ASH | {"heights_m": [1.0, 3.0]})
    assert [row["height_m"] for row in answer["sections"]] == [1, 3]
    for row in answer["sections"]:
        assert {"height_m", "moment_knm", "stress_mpa", "safety_factor"} <= row.keys()
        assert row["safety_factor"].keys() == {"low", "best", "high"}
    assert {"weakest_height_m", "critical_gust_m_s", "method", "version", "notes"} <= answer.keys()
    json.dumps(answer, allow_nan=False)


def test_without_heights_the_stem_is_told_from_the_ground_to_the_crown() -> None:
    answer = compute(ASH)
    assert [row["height_m"] for row in answer["sections"]] == [0, 1, 2, 3, 4]
    assert 0 <= answer["weakest_height_m"] <= 4


def test_the_default_wind_is_a_gust_of_33_metres_a_second() -> None:
    wind = compute(ASH)["wind"]
    assert (wind["v10_m_s"], wind["averaging"], wind["gust_v10_m_s"]) == (33, "3s", 33)


def test_a_ten_minute_mean_is_a_worse_wind_than_a_gust_of_the_same_speed() -> None:
    gust, mean = (
        compute(ASH | {"wind": {"v10_m_s": 25, "averaging": kind, "exponent": 0.2}}) for kind in ("3s", "10min")
    )
    assert mean["weakest"]["safety_factor"]["best"] < gust["weakest"]["safety_factor"]["best"]
    assert any("EN 1991-1-4" in note for note in mean["notes"])
    # The critical gust is told as a gust in both.
    assert mean["wind"]["gust_v10_m_s"] > 25


def test_a_stout_tree_is_told_to_stand_more_than_45_and_a_slender_one_not() -> None:
    assert compute(ASH | {"dbh_cm": 110})["critical_gust_m_s"] == ">45"
    assert 0 < compute(ASH | {"dbh_cm": 30})["critical_gust_m_s"] < 45


def test_weight_alone_can_exhaust_a_leaning_hollow_stem() -> None:
    tree = ASH | {"dbh_cm": 20, "lean": {"angle_deg": 60}, "crown_mass_kg": 5000}
    assert compute(tree)["critical_gust_m_s"] == 0


def test_the_hollow_section_is_the_weakest_height() -> None:
    answer = compute(ASH | {"sections": [{"height_m": 2.0, "section": HOLLOW}]})
    assert answer["weakest_height_m"] == 2.0
    assert answer["weakest"]["basis"] == "measured"
    assert answer["weakest"]["loss_percent"] > 15


def test_an_asymmetric_section_is_stronger_across_its_thin_side_than_along_it() -> None:
    factors = [
        compute(ASH | {"sections": [{"height_m": 1.3, "section": HOLLOW}], "wind": {"toward_deg": toward}})
        for toward in (0, 90)
    ]
    across, along = (answer["sections"][0]["safety_factor"]["best"] for answer in factors)
    assert along < across * 0.95


def test_between_two_measured_sections_the_loss_changes_evenly_and_beyond_them_the_stem_is_sound() -> None:
    sections = [{"height_m": 1, "loss_percent": 20}, {"height_m": 3, "loss_percent": 40}]
    rows = compute(ASH | {"sections": sections, "heights_m": [0.5, 2, 3.5]})["sections"]
    assert [(row["basis"], row["loss_percent"]) for row in rows] == [
        ("sound", 0), ("measured", 20), ("between", pytest.approx(30)), ("measured", 40), ("sound", 0),
    ]  # fmt: skip


def test_a_modulus_is_taken_as_it_is() -> None:
    row = compute(ASH | {"sections": [{"height_m": 1.3, "modulus_cm3": 5000}]})["sections"][0]
    assert row["modulus_cm3"] == 5000
    assert row["bending_mpa"] == pytest.approx(row["moment_knm"] * 1000 / 5000, rel=1e-4)


def test_stress_is_bending_and_weight_and_the_factor_is_against_compression() -> None:
    answer = compute(ASH)
    for row in answer["sections"]:
        assert row["stress_mpa"] == pytest.approx(row["bending_mpa"] + row["axial_mpa"], rel=1e-4)
        assert row["safety_factor"]["best"] == pytest.approx(29.0 / row["stress_mpa"], rel=1e-4)
        assert row["rupture_factor"] == pytest.approx(65.5 / row["stress_mpa"], rel=1e-4)


def test_fallbacks_are_marked() -> None:
    answer = compute(ASH | {"species": "Ginkgo biloba"})
    assert answer["strength"]["basis"] == "density"
    assert answer["drag"]["basis"] == "default"
    notes = " ".join(answer["notes"])
    assert "estimated from wood density" in notes
    assert "No drag coefficient" in notes


def test_overturning_is_told_only_as_a_spread_between_species() -> None:
    found = compute(ASH | {"species": "Fagus sylvatica"})["overturning"]
    assert found["tests"] == 18
    assert found["relative_low"] < found["relative_median"] < found["relative_high"]
    assert "no resistance" in found["note"]
    assert compute(ASH)["overturning"] is None


def test_an_offset_crown_twists_the_stem_and_says_that_torsion_is_outside() -> None:
    answer = compute(ASH | {"crown_offset": {"distance_m": 2, "azimuth_deg": 90}})
    assert answer["torsion_knm"] == pytest.approx(2 * answer["crown"]["force_kn"], rel=1e-4)
    assert any("twists" in note for note in answer["notes"])


def test_a_crown_reduction_fades_as_the_crown_grows_back() -> None:
    told = compute(ASH | {"reduction": {"length_percent": 20, "years": [0, 2, 4, 30]}})["reduction"]
    reduced = [row["ground_moment_reduced_percent"] for row in told]
    assert reduced[0] > reduced[1] > reduced[2] > reduced[3] == pytest.approx(0, abs=0.01)


def test_a_leafless_crown_is_a_smaller_load() -> None:
    assert compute(ASH | {"in_leaf": False})["crown"]["force_kn"] < compute(ASH)["crown"]["force_kn"] * 0.5


def test_several_widths_enter_by_their_mean() -> None:
    several = {name: value for name, value in ASH.items() if name != "crown_width_m"} | {"crown_widths_m": [8, 12]}
    assert compute(several)["crown"]["area_m2"] == compute(ASH)["crown"]["area_m2"]


WRONG: list[tuple[str, dict[str, Any]]] = [
    ("/surprise", {"surprise": 1}),
    ("/species", {"species": "Nosuchgenus magnus"}),
    ("/species", {"species": 3}),
    ("/height_m", {"height_m": math.nan}),
    ("/height_m", {"height_m": 10**400}),
    ("/height_m", {"height_m": -1}),
    ("/height_m", {"height_m": "18"}),
    ("/height_m", {"height_m": None}),
    ("/height_m", {"height_m": 1.3, "crown_base_m": 0}),
    ("/crown_base_m", {"crown_base_m": 18}),
    ("/crown_width_m", {"crown_width_m": 0}),
    ("/crown_widths_m", {"crown_widths_m": [3]}),
    ("/crown_shape", {"crown_shape": "cloud"}),
    ("/dbh_cm", {"dbh_cm": 0}),
    ("/dbh_cm", {"dbh_cm": math.inf}),
    ("/bark_cm", {"bark_cm": 30}),
    ("/taper_exponent", {"taper_exponent": 9}),
    ("/drag_coefficient", {"drag_coefficient": {"low": 0.3, "best": 0.2, "high": 0.4}}),
    ("/wind/v10_m_s", {"wind": {"v10_m_s": -5}}),
    ("/wind/averaging", {"wind": {"averaging": "1min"}}),
    ("/wind/speed", {"wind": {"speed": 5}}),
    ("/wind", {"wind": 33}),
    ("/lean/angle_deg", {"lean": {"angle_deg": 90}}),
    ("/strength_from", {"strength_from": "catalogue", "species": "Ginkgo biloba"}),
    ("/rupture_mpa", {"rupture_mpa": 60}),
    ("/heights_m", {"heights_m": [1.0] * 100_000}),
    ("/heights_m/1", {"heights_m": [1.0, 18.0]}),
    ("/heights_m/0", {"heights_m": [9.0]}),
    ("/sections", {"sections": [{"height_m": 1}] * 100_000}),
    ("/sections", {"sections": [{"height_m": 1}, {"height_m": 1}]}),
    ("/sections", {"sections": [{"height_m": n / 10, "section": HOLLOW} for n in range(13)]}),
    ("/sections/0/height_m", {"sections": [{"height_m": 9}]}),
    ("/sections/0/modulus_cm3", {"sections": [{"height_m": 1.3, "modulus_cm3": 30_000}]}),
    ("/sections/0/section/readings", {"sections": [{"height_m": 1, "section": HOLLOW | {"readings": [1] * 100_000}}]}),
    ("/sections/0/height_m", {"sections": [{"height_m": 18}]}),
    ("/sections/0/loss_percent", {"sections": [{"height_m": 1, "loss_percent": 100}]}),
    ("/sections/0/loss_percent", {"sections": [{"height_m": 1, "loss_percent": {"low": 5, "best": 1, "high": 9}}]}),
    ("/sections/0/modulus_cm3", {"sections": [{"height_m": 1, "modulus_cm3": 10, "loss_percent": 3}]}),
    ("/sections/0/section/diameter_cm", {"sections": [{"height_m": 1, "section": {"diameter_cm": -1}}]}),
    ("/diameters/0/diameter_cm", {"diameters": [{"height_m": 1, "diameter_cm": 0}]}),
    ("/reduction/length_percent", {"reduction": {}}),
    ("/reduction/length_percent", {"reduction": {"length_percent": 95}}),
]


@pytest.mark.parametrize(("pointer", "change"), WRONG, ids=[f"{at} {n}" for n, (at, _) in enumerate(WRONG)])
def test_bad_input_names_its_field_within_a_second(pointer: str, change: dict[str, Any]) -> None:
    start = time.process_time()
    with pytest.raises(MethodProblem) as caught:
        compute(ASH | change)
    assert pointer in [field.pointer for field in caught.value.fields]
    assert time.process_time() - start < 1


@pytest.mark.parametrize("request_", [None, [], "x", 3, {}])
def test_what_is_no_request_is_a_problem(request_: Any) -> None:
    with pytest.raises(MethodProblem):
        compute(request_)


def test_without_a_species_every_property_must_be_given() -> None:
    bare = {name: value for name, value in ASH.items() if name != "species"}
    with pytest.raises(MethodProblem) as caught:
        compute(bare)
    assert caught.value.fields[0].pointer == "/species"
    given = {"compression_mpa": 20, "green_density_kg_m3": 900, "crown_mass_kg": 500, "drag_coefficient": 0.25}
    assert compute(bare | given)["strength"]["basis"] == "given"
