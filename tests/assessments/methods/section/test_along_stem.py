"""A stem between and beyond its sections: even change, run-out of decay and cracks, and what is said of it."""

import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.section import Section, read
from assessments.methods.section.along_stem import COLUMN_RUN_OUT, Stem, along
from assessments.methods.section.stem_contract import compute_stem

from .shapes import cracks, even_readings, ring


def at(height: float, diameter: float = 60.0, wall: float = 12.0, **more: object) -> Section:
    return read({"diameter_cm": diameter, "readings": even_readings(wall), "height_m": height, "draws": 0, **more})


def loss(stem: Stem, height: float) -> float:
    return next(lv.answer.loss_percent.best_estimate for lv in stem.levels if lv.height_m == height)


def test_halfway_between_two_sections_diameter_and_void_are_the_mean() -> None:
    stem = along([at(1, 80, 15), at(3, 60, 15)], [2.0])
    middle = stem.levels[1].answer
    assert stem.levels[1].basis == "between"
    assert middle.section.outline.radius_cm == pytest.approx(35, rel=1e-4)
    assert middle.thinnest_wall_cm == pytest.approx(15, abs=0.02)


def test_the_decay_column_narrows_beyond_the_last_section_and_ends_within_the_stated_range() -> None:
    stem = along([at(1)], [2.0, 3.0, 9.0])
    assert loss(stem, 1.0) > loss(stem, 2.0) > loss(stem, 3.0) > 0
    assert loss(stem, 9.0) == 0
    top = stem.column_top
    assert top is not None
    # Void radius 18 cm: 5, 15 and 40 times that above 1 m.
    assert (top.low_m, top.best_m, top.high_m) == pytest.approx([1 + 0.18 * factor for factor in COLUMN_RUN_OUT])


def test_a_column_seen_to_narrow_runs_out_by_its_own_trend() -> None:
    stem = along([at(1, wall=12), at(2, wall=17)], [])
    top = stem.column_top
    assert top is not None
    assert top.best_m == pytest.approx(2 + 13 / 5, rel=1e-2)  # 13 cm left, 5 cm lost a metre


def test_a_column_can_reach_the_ground_and_no_further() -> None:
    bottom = along([at(0.5)], []).column_bottom
    assert bottom is not None
    assert bottom.best_m == 0.0


def test_a_crack_runs_on_beyond_its_section_but_not_past_one_that_does_not_show_it() -> None:
    stem = along([at(1, cracks=cracks(40, inner=20)), at(1.5)], [])
    assert stem.crack_tops[0].high_m == pytest.approx(1.5)
    assert stem.crack_bottoms[0].best_m == 0.0


def test_a_drawn_void_is_carried_along() -> None:
    low = read({"diameter_cm": 60, "voids_cm": [ring(10, (8, 0), 90)], "height_m": 1, "draws": 0})
    high = read({"diameter_cm": 60, "voids_cm": [ring(10, (8, 0), 90)], "height_m": 2, "draws": 0})
    stem = along([low, high], [1.5])
    assert loss(stem, 1.5) == pytest.approx(loss(stem, 1.0), abs=0.5)


def test_an_opening_seen_in_one_section_only_closes_toward_the_other() -> None:
    stem = along([at(1, openings=[{"azimuth_deg": 0, "width_cm": 20}]), at(3)], [1.5, 2.5])
    assert loss(stem, 1.0) > loss(stem, 1.5) > loss(stem, 2.5) > loss(stem, 3.0)


def test_what_was_estimated_is_said() -> None:
    stem = along([at(1)], [2.0])
    assert any("estimates" in note for note in stem.notes)
    assert [level.basis for level in stem.levels] == ["measured", "beyond"]


@pytest.mark.parametrize("sections", [[], [at(1), at(1)], [read({"diameter_cm": 40})]])
def test_a_stem_needs_sections_at_different_heights(sections: list[Section]) -> None:
    with pytest.raises(MethodProblem):
        along(sections, [])


def test_the_json_form_gives_every_level() -> None:
    request = {"diameter_cm": 60, "readings": even_readings(12), "height_m": 1, "draws": 0}
    answer = compute_stem({"sections": [request], "heights_m": [0, 2]})
    assert [level["height_m"] for level in answer["levels"]] == [0, 1, 2]
    assert answer["column_top"]["best_m"] > 1
