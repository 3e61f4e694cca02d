"""Cracks part a section only where they cut it into regions; bounds between full composite action and none."""

import pytest

from assessments.methods.section import compute

from .shapes import cracks, even_readings, ring

HOLLOW = {"diameter_cm": 80, "readings": even_readings(15), "draws": 0}


@pytest.mark.parametrize("count", [0, 1, 2, 3, 5])
def test_k_cracks_from_the_edge_to_one_void_make_the_greater_of_1_and_k_pieces(count: int) -> None:
    answer = compute({**HOLLOW, "cracks": cracks(*(10 + 360 * i / count for i in range(count)), inner=25)})
    assert answer["pieces"] == max(1, count)


@pytest.mark.parametrize(("gap", "inner"), [(2, 25), (0, 28), (3, 30)])
def test_a_crack_that_ends_in_the_wood_parts_nothing(gap: float, inner: float) -> None:
    answer = compute({**HOLLOW, "cracks": cracks(0, 180, gap=gap, inner=inner)})
    assert answer["pieces"] == 1
    assert answer["closed"]


def test_loose_ends_may_run_on_to_the_nearer_of_edge_and_void_and_the_interval_reaches_so_far() -> None:
    whole = compute({**HOLLOW, "cracks": cracks(0, 180, inner=25)})
    loose = compute({**HOLLOW, "cracks": cracks(0, 180, gap=3, inner=27)})
    assert loose["composite"]["pieces_if_cracks_run_on"] == 2
    assert loose["modulus"]["loss_percent"]["high"] == pytest.approx(whole["composite"]["none_loss_percent"], abs=0.01)
    assert loose["modulus"]["loss_percent"]["best_estimate"] == pytest.approx(15.26, abs=0.01)


def test_a_shallow_crack_does_not_run_on_to_a_far_void() -> None:
    answer = compute({**HOLLOW, "cracks": cracks(0, 180, gap=0, inner=37)})
    assert answer["composite"]["pieces_if_cracks_run_on"] == 1
    assert answer["composite"]["none_loss_percent"] == answer["composite"]["full_loss_percent"]


def test_one_crack_to_the_void_opens_the_tube_and_its_loss_is_never_called_zero() -> None:
    # Even a hole of a finger's width: the loss in bending is tiny, but the torsional stiffness falls.
    request = {"diameter_cm": 80, "voids_cm": [ring(1.0)], "cracks": cracks(0, inner=1)}
    answer = compute(request)
    assert answer["pieces"] == 1
    assert answer["closed"] is False
    assert answer["open"] is False
    assert 0 < answer["torsional_stiffness_ratio"] < 1
    assert answer["modulus"]["loss_percent"]["best_estimate"] > 0
    assert any("strength is lost beyond it" in note for note in answer["notes"])


def test_a_parted_section_lies_between_full_composite_action_and_none() -> None:
    answer = compute({**HOLLOW, "draws": 60, "cracks": cracks(0, 120, 240, inner=25)})
    full, none = answer["composite"]["full_loss_percent"], answer["composite"]["none_loss_percent"]
    loss = answer["modulus"]["loss_percent"]
    assert full < none
    assert loss["low95"] <= loss["low"] <= full
    assert none <= loss["high"] <= loss["high95"]
    assert answer["modulus"]["worst_cm3"] == pytest.approx(answer["modulus"]["intact_cm3"] * (1 - none / 100), rel=1e-5)


def test_the_answer_says_what_lies_outside_its_bounds() -> None:
    said = " ".join(compute({**HOLLOW, "cracks": cracks(0, 180, inner=25)})["notes"])
    for outside in ("longitudinal shear", "torsion", "shell buckling", "carries its load alone"):
        assert outside in said


def test_two_openings_to_the_void_part_a_section_without_any_crack() -> None:
    openings = [{"azimuth_deg": a, "width_cm": 8} for a in (0, 180)]
    answer = compute({**HOLLOW, "openings": openings})
    assert answer["pieces"] == 2
    assert answer["composite"]["none_loss_percent"] > answer["composite"]["full_loss_percent"]


def test_a_crack_and_an_opening_part_a_section_too() -> None:
    answer = compute({**HOLLOW, "openings": [{"azimuth_deg": 0, "width_cm": 8}], "cracks": cracks(180, inner=25)})
    assert answer["pieces"] == 2


def test_a_crack_to_an_opening_through_a_void_off_centre_counts_by_regions_and_not_by_number() -> None:
    # Three cracks, of which only two reach the void: two pieces.
    three = cracks(0, 180, inner=25) + cracks(90, inner=33)
    assert compute({**HOLLOW, "cracks": three})["pieces"] == 2


def test_the_rules_of_thumb_know_no_cracks() -> None:
    rules = compute({**HOLLOW, "cracks": cracks(0, inner=25)})["rules"]
    for name in ("wagener", "coder", "smiley_fraedrich", "t_over_r"):
        assert not rules[name]["applies"]


def test_a_seam_that_ends_15_cm_inside_the_edge_is_taken() -> None:
    # Known to the trade (common practice, no source): seams seen outside can run to within 0-15 cm of the edge inside.
    answer = compute({"diameter_cm": 120, "cracks": cracks(45, gap=15, inner=5), "draws": 0})
    assert answer["pieces"] == 1
