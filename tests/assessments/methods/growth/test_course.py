"""Canopy and carbon over years: starts at what was measured, what a removal loses, what a replacement regains."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.growth import Grower, balance, crown_area_m2, nothing, planted, reduced, stand
from assessments.methods.problems import MethodProblem

LIME = Grower("Tilia cordata", 62.0, 11.0, "NoEast", "Malvaceae")


@given(st.sampled_from(["Tilia cordata", "Acer platanoides", "Sorbus aria", "Pinus nigra"]), st.floats(3, 150))
def test_a_tree_starts_at_its_measured_size_and_never_shrinks(species: str, dbh: float) -> None:
    found = stand(Grower(species, dbh, 8.0), 30)
    assert found.dbh_cm[0] == pytest.approx(dbh)
    assert found.canopy_m2[0] == pytest.approx(math.pi / 4 * 8.0**2)
    for course in (found.dbh_cm, found.canopy_m2, found.carbon_kg):
        assert len(course) == 31
        assert all(after >= before for before, after in pairwise(course))
    assert all(uptake >= 0 for uptake in found.uptake_kg_a_year)


def test_a_removal_without_replacement_loses_all_canopy_for_good() -> None:
    kept = stand(LIME, 20)
    found = balance(kept, nothing(20))
    assert found.canopy_lost_m2 == pytest.approx(crown_area_m2(11.0))
    assert found.canopy_lost_m2_years == pytest.approx(sum(kept.canopy_m2[1:]))
    assert found.carbon_lost_kg == kept.carbon_kg[0]
    assert found.carbon_short_kg == kept.carbon_kg[-1]
    assert found.regained_year is None


def test_a_replacement_regains_canopy_year_by_year_with_a_range() -> None:
    found = balance(
        stand(Grower("Tilia cordata", 25.0, 6.0, "NoEast"), 40), planted("Acer platanoides", 40, region="NoEast")
    )
    assert found.regained_year is not None
    before, then = found.rows[found.regained_year - 1], found.rows[found.regained_year]
    assert before.canopy_m2 < found.rows[0].canopy_kept_m2 <= then.canopy_m2
    assert all(row.canopy_low_m2 < row.canopy_m2 < row.canopy_high_m2 for row in found.rows)


def test_a_late_planting_stands_later() -> None:
    at_once, late = planted("Acer platanoides", 20), planted("Acer platanoides", 20, delay_years=3)
    assert late.canopy_m2[:3] == (0.0, 0.0, 0.0)
    assert late.canopy_m2[3:] == at_once.canopy_m2[:-3]
    with pytest.raises(MethodProblem, match="delay_years"):
        planted("Acer platanoides", 5, delay_years=6)


def test_a_reduced_crown_grows_back_to_what_it_would_have_been_and_no_further() -> None:
    kept = stand(LIME, 10)
    found = reduced(kept, 0.2, 0.3, None)
    # 11 m less a fifth, then 0.3 m a year at each side: whole again before the fifth year.
    assert found.canopy_m2[0] == pytest.approx(crown_area_m2(8.8))
    assert found.canopy_m2[1] == pytest.approx(crown_area_m2(0.8 * 2 * math.sqrt(kept.canopy_m2[1] / math.pi) + 0.6))
    assert found.canopy_m2[5:] == pytest.approx(kept.canopy_m2[5:])
    assert found.carbon_kg == kept.carbon_kg


def test_a_reduction_cut_again_stays_smaller() -> None:
    kept = stand(LIME, 10)
    again = reduced(kept, 0.2, 0.3, 3)
    assert balance(kept, again).canopy_lost_m2_years > balance(kept, reduced(kept, 0.2, 0.3, None)).canopy_lost_m2_years
    assert again.canopy_m2[3] == pytest.approx(kept.canopy_m2[3] * 0.64)


def test_nothing_done_loses_nothing() -> None:
    kept = stand(LIME, 15)
    found = balance(kept, kept)
    assert (found.canopy_lost_m2, found.canopy_lost_m2_years, found.carbon_lost_kg, found.carbon_short_kg) == (
        0,
        0,
        0,
        0,
    )


def test_a_tree_past_its_equations_is_said_to_grow_no_more() -> None:
    found = stand(Grower("Tilia cordata", 300.0, region="NoEast"), 5)
    assert found.dbh_cm[-1] == pytest.approx(300.0)
    assert any("crown is held" in note for note in found.notes)
    assert any("carbon is held" in note for note in found.notes)
