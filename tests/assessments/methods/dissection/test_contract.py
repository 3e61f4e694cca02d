"""A dissection's request: the smallest cut that is useful, heights from distances, and every wrong field by name."""

import math
from typing import Any

import pytest

from assessments.methods.dissection import check_cut, compute, read
from assessments.methods.problems import MethodProblem
from tests.assessments.methods.dissection.stems import lime

CUT = {"height_m": 1.0, "diameter_cm": 50}


def wrong(request: object) -> list[str]:
    with pytest.raises(MethodProblem) as refused:
        compute(request)  # type: ignore[arg-type]
    return [field.pointer for field in refused.value.fields]


def test_heights_follow_from_the_distance_to_the_cut_before() -> None:
    heights = [cut.height_m for cut in read(lime()).cuts]
    assert heights == pytest.approx([0.35 + 0.15 * n for n in range(8)])


def test_cuts_may_come_in_any_order_where_heights_are_given() -> None:
    cuts = [{"height_m": h, "diameter_cm": 40} for h in (2.0, 0.5, 1.0)]
    assert [cut.height_m for cut in read({"cuts": cuts}).cuts] == [0.5, 1.0, 2.0]


def test_a_distance_counts_from_the_cut_before_it_even_where_that_has_a_height() -> None:
    cuts = [{"height_m": 1.2, "diameter_cm": 40}, {"above_last_cm": 30, "diameter_cm": 39}]
    assert read({"cuts": cuts}).cuts[1].height_m == pytest.approx(1.5)


def test_a_cut_is_checked_by_itself_as_it_arrives() -> None:
    check_cut({"above_last_cm": 15, "diameter_cm": 52, "cavities": [{"share_percent": 20}]})
    with pytest.raises(MethodProblem) as refused:
        check_cut({"above_last_cm": 15, "diameter_cm": 52, "cavities": [{"share_percent": 120}]}, "/cut")
    assert refused.value.fields[0].pointer == "/cut/cavities/0/share_percent"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"height_m": None}, "/height_m"),
        ({"above_last_cm": 15}, "/height_m"),
        ({"height_m": -1}, "/height_m"),
        ({"diameter_cm": None}, "/diameter_cm"),
        ({"girth_cm": 100}, "/girth_cm"),
        ({"diameter_cm": "fifty"}, "/diameter_cm"),
        ({"diameter_cm": float("nan")}, "/diameter_cm"),
        ({"diameter_cm": None, "girth_cm": 160, "diameter2_cm": 40}, "/diameter2_cm"),
        ({"bark_cm": 30}, "/bark_cm"),
        ({"cavities": [{}]}, "/cavities/0/diameter_cm"),
        ({"cavities": [{"diameter_cm": 1e-300}]}, "/cavities/0/diameter_cm"),
        ({"cavities": [{"diameter_cm": 3, "share_percent": 3}]}, "/cavities/0/share_percent"),
        ({"cavities": [{"diameter_cm": 60}]}, "/cavities"),
        ({"cavities": [{"polygon_cm": [[0, 0], [1, 1]]}]}, "/cavities/0/polygon_cm"),
        ({"decay": [{"share_percent": 5}, {"diameter_cm": 3, "offset_cm": 90}]}, "/decay/1/polygon_cm"),
        ({"cracks": [{"azimuth_deg": 0, "run_cm": 26}]}, "/cracks/0/run_cm"),
        ({"cracks": [{"azimuth_deg": 0, "gap_to_edge_cm": 25, "run_cm": 1}]}, "/cracks/0/gap_to_edge_cm"),
        ({"cracks": [{"run_cm": 3}]}, "/cracks/0/azimuth_deg"),
        ({"openings": [{"azimuth_deg": 0, "width_cm": 5}]}, "/openings/0/depth_cm"),
        ({"insects": "many"}, "/insects"),
        ({"note": "x" * 501}, "/note"),
        ({"colour": "brown"}, "/colour"),
    ],
)
def test_a_wrong_field_of_a_cut_is_named(change: dict[str, Any], pointer: str) -> None:
    assert wrong({"cuts": [{**CUT, **change}]})[0] == f"/cuts/0{pointer}"


@pytest.mark.parametrize(
    ("request_", "pointer"),
    [
        ([], ""),
        ({}, "/cuts"),
        ({"cuts": []}, "/cuts"),
        ({"cuts": [CUT] * 61}, "/cuts"),
        ({"cuts": [CUT, CUT]}, "/cuts/1/height_m"),
        ({"cuts": [CUT, {"above_last_cm": 0.2, "diameter_cm": 50}]}, "/cuts/1/above_last_cm"),
        ({"cuts": [CUT, "a stump"]}, "/cuts/1"),
        ({"cuts": [CUT], "species": "Nonesuch nonesuch"}, ""),
        ({"cuts": [CUT], "weighed": [{"from_m": 0.5, "to_m": 1.0, "mass_kg": 3}]}, "/weighed/0/from_m"),
        ({"cuts": [CUT], "weighed": [{"from_m": 1.0, "to_m": 1.0, "mass_kg": 3}]}, "/weighed/0/to_m"),
    ],
)
def test_a_wrong_request_is_named(request_: object, pointer: str) -> None:
    if pointer or not isinstance(request_, dict):
        assert wrong(request_)[0] == pointer
    else:
        # One cut has no mass: the species is not looked up, and the answer says what is missing.
        assert any("two cuts" in note for note in compute(request_)["notes"])


def test_an_unknown_species_is_named_where_it_is_needed() -> None:
    assert wrong({**lime(), "species": "Nonesuch nonesuch"}) == ["/species"]


def test_several_wrong_cuts_are_all_named() -> None:
    cuts = [{**CUT, "diameter_cm": -1}, {"height_m": 2.0, "diameter_cm": 0}]
    assert wrong({"cuts": cuts}) == ["/cuts/0/diameter_cm", "/cuts/1/diameter_cm"]


def test_more_than_can_be_computed_while_someone_waits_is_refused_at_once() -> None:
    speck = {"share_percent": 0.5, "offset_cm": 3}
    many = [{"height_m": 0.5 + n / 10, "diameter_cm": 50, "cavities": [speck] * 11} for n in range(30)]
    assert wrong({"cuts": many}) == ["/cuts"]
    turn = [n * 6.283 / 2000 for n in range(2000)]
    ring = [[25 * math.cos(t), 25 * math.sin(t)] for t in turn]
    assert wrong({"cuts": [{"height_m": 0.5 + n / 10, "outline_cm": ring} for n in range(7)]}) == ["/cuts"]
