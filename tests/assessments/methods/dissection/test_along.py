"""Cracks joined from cut to cut, columns of decay and their ends, masses against those predicted."""

import math
from itertools import pairwise
from typing import Any

import pytest

from assessments.methods.dissection import Rebuilt, compute, read, rebuild
from tests.assessments.methods.dissection.stems import lime


def rebuilt(*cuts: dict[str, Any], **more: Any) -> Rebuilt:
    return rebuild(read({"cuts": [{"diameter_cm": 50, **cut} for cut in cuts], **more}))


def crack(height: float, azimuth: float, run: float = 5.0, gap: float = 0.0) -> dict[str, Any]:
    return {"height_m": height, "cracks": [{"azimuth_deg": azimuth, "run_cm": run, "gap_to_edge_cm": gap}]}


def test_a_crack_is_followed_round_the_stem_over_north() -> None:
    (track,) = rebuild(read(lime())).tracks
    assert len(track.seen) == 6
    assert track.turn_deg_per_m == pytest.approx(4 / 0.15)
    assert track.taper_cm_per_m == pytest.approx(-1 / 0.15)
    assert track.reaches_surface
    assert track.deepest.height_m == pytest.approx(0.35)


def test_two_cracks_of_one_cut_stay_apart() -> None:
    both = [{"azimuth_deg": 80, "run_cm": 4}, {"azimuth_deg": 110, "run_cm": 6}]
    found = rebuilt({"height_m": 1, "cracks": both}, {"height_m": 1.2, "cracks": both}).tracks
    assert sorted(track.seen[0].azimuth_deg for track in found) == [80, 110]
    assert all(len({round(seen.azimuth_deg) for seen in track.seen}) == 1 for track in found)


def test_the_nearest_pair_is_joined_first() -> None:
    below = {"height_m": 1, "cracks": [{"azimuth_deg": 100, "run_cm": 5}, {"azimuth_deg": 120, "run_cm": 5}]}
    found = rebuilt(below, crack(1.2, 118)).tracks
    joined = next(track for track in found if len(track.seen) == 2)
    assert [seen.azimuth_deg for seen in joined.seen] == [120, 118]


def test_a_crack_missed_on_one_cut_is_the_same_crack_and_on_two_it_is_not() -> None:
    gap, far = {"height_m": 1.2}, {"height_m": 1.3}
    assert len(rebuilt(crack(1.0, 50), gap, crack(1.4, 52)).tracks) == 1
    assert len(rebuilt(crack(1.0, 50), gap, far, crack(1.4, 52)).tracks) == 2


def test_a_crack_ends_before_the_next_cut_that_lacks_it_by_its_taper() -> None:
    (track,) = rebuilt({"height_m": 0.5}, crack(1.0, 50, 6), crack(1.2, 50, 4), {"height_m": 2.0}).tracks
    assert (track.top.low_m, track.top.high_m) == (1.2, 2.0)
    assert track.top.best_m == pytest.approx(1.6)  # 2 cm in 0.2 m: 4 cm more take 0.4 m
    assert (track.bottom.best_m, track.bottom_beyond) == (0.75, False)  # it widens downward: half-way


def test_a_crack_still_there_on_the_outermost_cut_runs_on_beyond_it() -> None:
    (track,) = rebuilt(crack(2.0, 50, 4)).tracks
    assert track.top_beyond
    assert track.bottom_beyond
    # 5, 20 and 60 times its run, as for standing stems.
    assert (track.top.low_m, track.top.best_m, track.top.high_m) == pytest.approx((2.2, 2.8, 4.4))
    assert track.bottom.high_m == 0.0


def test_a_column_of_equal_cavities_has_the_volume_of_a_cylinder() -> None:
    hole = {"cavities": [{"diameter_cm": 20}]}
    bare = [{"height_m": 0.0}, {"height_m": 3.0}]
    (column,) = rebuilt(bare[0], *({"height_m": h, **hole} for h in (1.0, 1.5, 2.0)), bare[1]).columns
    cylinder = math.pi * 0.1**2 * 1.0
    cones = math.pi * 0.1**2 * (0.5 + 0.5) / 3  # to half-way to the next cuts
    assert column.volume_m3 == pytest.approx(cylinder + cones, rel=1e-3)
    assert (column.bottom.best_m, column.top.best_m) == (0.5, 2.5)


def test_a_sound_cut_parts_two_columns() -> None:
    hole = {"cavities": [{"diameter_cm": 20}]}
    found = rebuilt({"height_m": 0.5, **hole}, {"height_m": 1.0}, {"height_m": 1.5, **hole}).columns
    assert [(one.from_m, one.to_m) for one in found] == [(0.5, 0.5), (1.5, 1.5)]


def test_a_cone_of_decay_ends_where_its_taper_points() -> None:
    cuts = [{"height_m": h, "decay": [{"diameter_cm": d}]} for h, d in ((0.5, 20), (1.0, 10))]
    (column,) = rebuilt(*cuts, {"height_m": 1.8}).columns
    assert column.top.best_m == pytest.approx(1.5, abs=1e-3)
    assert column.volume_m3 == pytest.approx(
        math.pi / 3 * 0.5 * (0.1**2 + 0.1 * 0.05 + 0.05**2) + math.pi / 3 * 0.05**2 * 0.5 + _below(column), rel=1e-3
    )


def _below(column: Any) -> float:
    return math.pi / 3 * 0.1**2 * (0.5 - column.bottom.best_m)


def test_the_mass_as_sound_is_the_frustum_and_cavities_weigh_nothing() -> None:
    cuts = [{"height_m": h, "cavities": [{"diameter_cm": 20}], "decay": [{"diameter_cm": 30}]} for h in (0.5, 2.5)]
    masses = rebuilt(*cuts, green_density_kg_m3=800.0).masses
    assert masses is not None
    assert masses.whole.as_sound_kg == pytest.approx(800 * math.pi * 0.25**2 * 2, rel=1e-4)
    assert masses.whole.high_kg == pytest.approx(800 * math.pi * (0.25**2 - 0.1**2) * 2, rel=1e-3)
    assert masses.whole.low_kg == pytest.approx(800 * math.pi * (0.25**2 - 0.15**2) * 2, rel=1e-3)


def test_pieces_add_up_and_their_error_is_that_of_the_prediction() -> None:
    weighed = [{"from_m": 0.35, "to_m": 0.8, "mass_kg": 60}, {"from_m": 0.8, "to_m": 1.4, "mass_kg": 90}]
    masses = compute({**lime(), "weighed": weighed})["masses"]
    for name in ("as_sound_kg", "low_kg", "high_kg"):
        assert sum(piece[name] for piece in masses["pieces"]) == pytest.approx(masses["whole"][name], abs=0.01)
    first = masses["pieces"][0]
    assert first["error_percent"] == pytest.approx(100 * (first["as_sound_kg"] / 60 - 1), abs=0.01)
    assert first["low_kg"] < first["high_kg"] < first["as_sound_kg"]


def test_without_a_density_there_is_no_mass_and_the_answer_says_why() -> None:
    found = compute({"cuts": lime()["cuts"]})
    assert found["masses"] is None
    assert any("density" in note for note in found["notes"])


def test_bark_belongs_to_the_mass() -> None:
    thin, thick = (
        rebuilt(*({"height_m": h, "bark_cm": bark} for h in (0.5, 1.5)), green_density_kg_m3=800.0).masses
        for bark in (0.0, 2.0)
    )
    assert thin is not None
    assert thick is not None
    assert thin.whole.as_sound_kg == pytest.approx(thick.whole.as_sound_kg)


def test_the_answer_tells_everything_in_order_from_below() -> None:
    found = compute(lime())
    assert [cut["uid"] for cut in found["cuts"]] == [f"cut-{n}" for n in range(8)]
    assert all(low["height_m"] < high["height_m"] for low, high in pairwise(found["cuts"]))
    assert found["method"] == "stem_rebuilt_from_cuts"
