"""Intervals: ordered, the same for the same seed, wider for worse or fewer readings, holding what they promise."""

from typing import Any

import numpy as np
import pytest

from assessments.methods.section import compute, field
from assessments.methods.section.many import best_estimates, intervals
from deploy.bench import cavities, sections

from .shapes import cracks, even_readings

ROUGH = [12.0, 18.0, 9.0, 15.0, 20.0, 11.0, 14.0, 8.0]


def request(walls: list[float], **more: Any) -> dict[str, Any]:
    """Even readings of a stem of 80 cm."""
    rows = [{"azimuth_deg": 360 * i / len(walls), "sound_wall_cm": wall} for i, wall in enumerate(walls)]
    return {"diameter_cm": 80, "readings": rows, **more}


def loss(answer: dict[str, Any]) -> dict[str, float]:
    return dict(answer["modulus"]["loss_percent"])


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"openings": [{"azimuth_deg": 80, "width_cm": 12}]},
        {"cracks": cracks(10, 190, inner=20), "draws": 60},
        {"openings": [{"azimuth_deg": a, "width_cm": 8} for a in (20, 100)], "draws": 60},
        {"draws": 0},
    ],
)
def test_the_ends_are_ordered_and_the_same_seed_gives_the_same(more: dict[str, Any]) -> None:
    first, second = (loss(compute(request(ROUGH, **more))) for _ in range(2))
    assert first == second
    assert first["low95"] <= first["low"] <= first["best_estimate"] <= first["high"] <= first["high95"]
    assert first["low95"] >= 0
    assert first["high95"] <= 100


def test_another_seed_gives_nearly_the_same_interval() -> None:
    first, second = (loss(compute(request(ROUGH, seed=seed))) for seed in (1, 2))
    assert first["low"] != second["low"]
    width = first["high"] - first["low"]
    assert abs(first["low"] - second["low"]) < 0.35 * width
    assert abs(first["high"] - second["high"]) < 0.35 * width


def test_a_larger_reading_error_widens_the_interval() -> None:
    def width(error: float) -> float:
        found = loss(compute({"diameter_cm": 80, "readings": even_readings(12, error_cm=error)}))
        return found["high"] - found["low"]

    assert width(0.2) < width(1.0) < width(4.0)


def test_the_way_of_measuring_brings_its_own_error() -> None:
    def width(method: str) -> float:
        found = loss(compute({"diameter_cm": 80, "readings": even_readings(12, method=method)}))
        return found["high"] - found["low"]

    assert width("drilling") < width("acoustic")


def test_the_drawn_wall_is_bridged_at_exact_readings() -> None:
    at = np.array([0.0, 70.0, 200.0, 300.0])
    walls = np.array([0.2, 0.5, 0.35, 0.3])
    drawn = field.prepare(at, np.zeros(4), np.concatenate([at, [35.0]]), 200, 7).draw(walls)
    assert drawn[:, :4] == pytest.approx(np.broadcast_to(walls, (200, 4)), abs=2e-3)
    assert drawn[:, 4].std() > 0.01


def test_sections_by_the_thousand_agree_with_one_by_one() -> None:
    rng = np.random.default_rng(3)
    azimuths = np.arange(0.0, 360.0, 45.0)
    radius = rng.uniform(10, 60, 12)
    walls = radius[:, None] * rng.uniform(0.15, 1.3, (12, 8))
    together = best_estimates(radius, azimuths, walls)
    for i in range(12):
        rows = [{"azimuth_deg": a, "sound_wall_cm": float(w)} for a, w in zip(azimuths.tolist(), walls[i], strict=True)]
        alone = compute({"diameter_cm": 2 * float(radius[i]), "readings": rows, "draws": 0})
        assert together.worst_cm3[i] == pytest.approx(alone["modulus"]["worst_cm3"], rel=2e-3)
        assert together.t_over_r[i] == pytest.approx(walls[i].min() / radius[i])


def test_an_interval_does_not_hang_on_which_sections_are_computed_beside_it() -> None:
    azimuths, walls = np.arange(0.0, 360.0, 60.0), np.array([[9.0, 12, 15, 11, 8, 10], [5, 6, 7, 8, 7, 6]])
    both = intervals([40.0, 20.0], azimuths, walls, 1.0, 100, 5)
    alone = intervals([20.0], azimuths, walls[1:], 1.0, 100, 5)
    assert both[1] == pytest.approx(alone[0])


def test_sections_by_the_thousand_refuse_what_does_not_fit() -> None:
    with pytest.raises(ValueError, match="one row a radius"):
        best_estimates([40.0], [0.0, 90.0], [[1.0]])
    with pytest.raises(ValueError, match="above 0"):
        best_estimates([-1.0], [0.0], [[1.0]])
    with pytest.raises(ValueError, match="each once"):
        best_estimates([40.0], [0.0, 360.0], [[1.0, 1.0]])


@pytest.mark.parametrize("radii", [4, 8, 12])
def test_80_percent_intervals_hold_the_truth_75_to_85_times_in_100(radii: int) -> None:
    # Invented cavities of eight kinds, none as smooth or as rough as the model's own field.
    rows = sections.coverage(radii, 120, seed=4)
    print(sections.table(rows))
    assert rows[-1]["cavities"] == "all"
    assert 0.75 <= rows[-1]["held_80"] <= 0.85
    assert rows[-1]["held_95"] >= 0.92


@pytest.mark.parametrize(("radii", "least"), [(4, 0.65), (8, 0.75), (12, 0.75)])
def test_kinds_of_cavity_that_the_model_was_not_set_on_are_held_as_often_as_the_notes_say(
    radii: int, least: float
) -> None:
    # 4 radii: pockets between them are missed, which the notes of an answer say; about 0.70 with 2000 cavities.
    rows = sections.coverage(radii, 150, seed=8, families=cavities.HELD_OUT)
    print(sections.table(rows))
    assert least <= rows[-1]["held_80"] <= 0.85


@pytest.mark.parametrize("radii", [4, 8, 12])
def test_over_all_thirteen_kinds_together_80_percent_intervals_hold_75_to_85_times_in_100(radii: int) -> None:
    rows = sections.coverage(radii, 90, seed=15, families=cavities.FAMILIES | cavities.HELD_OUT)
    print(sections.table(rows))
    assert len(rows) == 14
    assert 0.75 <= rows[-1]["held_80"] <= 0.85
    assert rows[-1]["held_95"] >= 0.90


def test_one_section_is_drawn_as_it_is_among_others() -> None:
    rng = np.random.default_rng(5)
    for count in (1, 3, 12):
        at, errors = np.sort(rng.uniform(0, 360, count)), rng.uniform(0, 0.05, count)
        grid, walls = np.union1d(at, np.arange(0.0, 360.0, 20)), rng.uniform(0.1, 0.8, count)
        together = field.prepare(at, errors, grid, 64, 11).draw(walls)
        assert field.draw_once(at, errors, grid, walls, 64, 11) == pytest.approx(together, abs=1e-7)


def test_the_notes_say_how_many_draws_the_interval_rests_on() -> None:
    assert "The interval rests on 77 draws." in compute(request(ROUGH, draws=77))["notes"]
    many = {"cracks": cracks(*range(0, 240, 10), inner=20), "draws": 1000}
    said = next(note for note in compute(request(ROUGH, **many))["notes"] if "draws" in note)
    assert "not on 1000" in said
    assert not any("draws" in note for note in compute(request(ROUGH, draws=0))["notes"])


def test_more_radii_lead_to_smaller_errors_and_narrower_intervals() -> None:
    rows = [sections.coverage(radii, 60, seed=9)[-1] for radii in (4, 8, 16)]
    for measure in ("mean_error_points", "mean_width_80_points"):
        assert rows[0][measure] > rows[1][measure] > rows[2][measure]


def test_the_invented_cavities_leave_a_wall_and_contain_the_centre() -> None:
    for family in (*cavities.FAMILIES, *cavities.HELD_OUT):
        found = cavities.invent(family, 20, np.random.default_rng(1))
        assert found.shape == (20, 360)
        assert found.min() > cavities.NARROWEST
        assert found.max() < cavities.WIDEST
