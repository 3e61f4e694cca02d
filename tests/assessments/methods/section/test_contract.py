"""The request is read strictly: bad input is a problem that names the field, within a second."""

import math
import time
from typing import Any

import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.section import compute
from assessments.methods.section.stem_contract import compute_stem

from .shapes import cracks, even_readings, ring

STEM = {"diameter_cm": 80}
READING = {"azimuth_deg": 0, "sound_wall_cm": 15}
CASES: list[tuple[Any, str]] = [
    ({}, "/diameter_cm"),
    ({"diameter_cm": -1}, "/diameter_cm"),
    ({"diameter_cm": 0}, "/diameter_cm"),
    ({"diameter_cm": math.nan}, "/diameter_cm"),
    ({"diameter_cm": math.inf}, "/diameter_cm"),  # what 1e400 becomes
    ({"diameter_cm": 10**400}, "/diameter_cm"),
    ({"diameter_cm": "80"}, "/diameter_cm"),
    ({"diameter_cm": True}, "/diameter_cm"),
    ({"diameter_cm": 80, "girth_cm": 250}, "/girth_cm"),
    ({"outline_cm": [[0, 0], [10, 10], [10, 0], [0, 10]]}, "/outline_cm"),
    ({"outline_cm": [[0, 0], [1, 1]]}, "/outline_cm"),
    ({"outline_cm": [[0, 0], [1, 1], [2, 2]]}, "/outline_cm"),
    ({"outline_cm": [[0, 0], [math.nan, 1], [1, 0]]}, "/outline_cm/1/0"),
    ({"outline_cm": [[0, 0], [5], [1, 0]]}, "/outline_cm/1"),
    ({"outline_cm": [[i, i * i % 97] for i in range(100_000)]}, "/outline_cm"),
    ({**STEM, "bark_cm": 40}, "/bark_cm"),
    ({"outline_cm": [[0, 0], [9, 0], [9, 9]], "bark_cm": 8}, "/bark_cm"),
    ({**STEM, "cracks": cracks(0, inner=41)}, "/cracks/0/inner_radius_cm"),
    ({**STEM, "cracks": cracks(0, gap=45)}, "/cracks/0/gap_to_edge_cm"),
    ({**STEM, "cracks": cracks(0, gap=20, inner=30)}, "/cracks/0/inner_radius_cm"),
    ({**STEM, "readings": [READING] * 100_000}, "/readings"),
    ({**STEM, "readings": [READING, {**READING, "azimuth_deg": 360}]}, "/readings/1/azimuth_deg"),
    ({**STEM, "readings": [{**READING, "azimuth_deg": -5}]}, "/readings/0/azimuth_deg"),
    ({**STEM, "readings": [{**READING, "sound_wall_cm": -5}]}, "/readings/0/sound_wall_cm"),
    ({**STEM, "readings": [{**READING, "sound_wall_cm": 500}]}, "/readings/0/sound_wall_cm"),
    ({**STEM, "readings": [{**READING, "void_to_cm": 10}]}, "/readings/0/void_to_cm"),
    ({**STEM, "readings": [{**READING, "error_cm": math.nan}]}, "/readings/0/error_cm"),
    ({**STEM, "readings": [{**READING, "method": "guess"}]}, "/readings/0/method"),
    ({**STEM, "readings": [{"azimuth_deg": 0}]}, "/readings/0/sound_wall_cm"),
    ({**STEM, "readings": even_readings(0)}, "/readings"),
    ({**STEM, "readings": {}}, "/readings"),
    ({**STEM, "readings": [None]}, "/readings/0"),
    ({**STEM, "openings": [{"azimuth_deg": 0, "width_cm": 10}]}, "/openings/0/depth_cm"),
    (
        {**STEM, "voids_cm": [ring(5, (0, -20))], "openings": [{"azimuth_deg": 0, "width_cm": 9}]},
        "/openings/0/depth_cm",
    ),
    ({**STEM, "openings": [{"azimuth_deg": 0, "width_cm": 80, "depth_cm": 5}]}, "/openings/0/width_cm"),
    ({**STEM, "openings": [{"azimuth_deg": 0, "width_cm": 8, "depth_cm": 99}]}, "/openings/0/depth_cm"),
    ({**STEM, "voids_cm": [ring(5, (100, 0))]}, "/voids_cm/0"),
    ({**STEM, "voids_cm": [ring(60)]}, "/voids_cm"),
    ({**STEM, "voids_cm": [ring(5, vertices=1500)] * 3}, "/voids_cm"),
    ({**STEM, "draws": -1}, "/draws"),
    ({**STEM, "draws": 10**9}, "/draws"),
    ({**STEM, "seed": 1.5}, "/seed"),
    ({**STEM, "height_m": -1}, "/height_m"),
    ({**STEM, "wind": 30}, "/wind"),
    ([], ""),
    (None, ""),
]


@pytest.mark.parametrize(("request_", "pointer"), CASES)
def test_bad_input_is_a_problem_that_names_the_field_within_a_second(request_: Any, pointer: str) -> None:
    began = time.process_time()
    with pytest.raises(MethodProblem) as caught:
        compute(request_)
    assert caught.value.fields[0].pointer == pointer
    assert time.process_time() - began < 1


def test_every_wrong_reading_is_named() -> None:
    wrong = [{"azimuth_deg": 0, "sound_wall_cm": -1}, {"azimuth_deg": 400, "sound_wall_cm": 1}]
    with pytest.raises(MethodProblem) as caught:
        compute({**STEM, "readings": wrong})
    assert [field.pointer for field in caught.value.fields] == ["/readings/0/sound_wall_cm", "/readings/1/azimuth_deg"]


def test_the_answer_holds_what_the_contract_promises() -> None:
    answer = compute({**STEM, "readings": even_readings(12), "draws": 50})
    assert {
        "gross_area_cm2", "sound_area_cm2", "thinnest_wall_cm", "open", "closed", "t_over_r", "modulus", "largest_loss",
        "compression_azimuth_deg", "rules", "pieces", "notes", "method", "version",
    } <= set(answer)  # fmt: skip
    assert set(answer["modulus"]) == {"worst_cm3", "worst_azimuth_deg", "intact_cm3", "loss_percent"}
    assert set(answer["modulus"]["loss_percent"]) == {"best_estimate", "low", "high", "low95", "high95"}
    assert {"wagener", "coder", "smiley_fraedrich", "t_over_r"} <= set(answer["rules"])
    assert set(answer["largest_loss"]) == {"percent", "azimuth_deg"}


@pytest.mark.parametrize("turn", [0, 45, 170, 180, 359.9996])
def test_azimuths_stay_in_their_ranges(turn: float) -> None:
    readings = [{"azimuth_deg": (turn + a) % 360, "sound_wall_cm": w} for a, w in ((0, 5), (120, 15), (240, 15))]
    answer = compute({**STEM, "readings": readings, "draws": 0})
    assert 0 <= answer["modulus"]["worst_azimuth_deg"] < 180
    assert 0 <= answer["largest_loss"]["azimuth_deg"] < 180
    assert 0 <= answer["compression_azimuth_deg"] < 360


def test_an_unmeasured_stem_is_not_called_sound_without_saying_so() -> None:
    answer = compute(STEM)
    assert any("Nothing was measured inside" in note for note in answer["notes"])
    assert not answer["rules"]["t_over_r"]["applies"]


def test_a_wrong_field_of_a_stem_is_named_with_its_section() -> None:
    with pytest.raises(MethodProblem) as caught:
        compute_stem({"sections": [{"diameter_cm": 40, "height_m": 1}, {"diameter_cm": -4, "height_m": 2}]})
    assert caught.value.fields[0].pointer == "/sections/1/diameter_cm"
