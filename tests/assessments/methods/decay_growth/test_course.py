"""Laws of decay over time: order of cautious and hopeful inputs, both regimes, determinism."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.decay_growth import Measured, Request, assess
from assessments.methods.decay_growth.course import draw

FEW = settings(max_examples=25, deadline=None)
REQUESTS = st.builds(
    Request,
    diameter_cm=st.floats(20, 150),
    position=st.sampled_from(["stem", "limb"]),
    measured=st.lists(
        st.builds(Measured, st.floats(0, 30), st.floats(0.1, 3), st.sampled_from([0.0, 2.0])), min_size=1, max_size=1
    ).map(tuple),
    response_growth=st.sampled_from(["", "none", "some", "good"]),
    vitality=st.sampled_from(["", "none", "low", "normal", "high"]),
    rot=st.sampled_from(["white", "brown", "soft", "unknown"]),
    walling=st.sampled_from(["strong", "moderate", "weak"]),
    draws=st.just(300),
    seed=st.integers(0, 5),
)


def chances(request: Request, **changed: Any) -> np.ndarray[Any, np.dtype[np.float64]]:
    found = assess(replace(request, **changed)).chance_percent
    assert found is not None
    return found


@given(REQUESTS)
@FEW
def test_a_chance_once_run_is_not_taken_back_and_the_band_is_in_order(request: Request) -> None:
    assert (np.diff(chances(request)) >= 0).all()
    course = draw(request)
    assert ((course.t_over_r >= 0) & (course.t_over_r <= 1)).all()
    low, middle, high = np.quantile(course.t_over_r, (0.1, 0.5, 0.9), axis=0)
    assert (low <= middle).all()
    assert (middle <= high).all()


@given(REQUESTS)
@FEW
def test_walling_off_better_never_brings_the_threshold_nearer(request: Request) -> None:
    strong, moderate, weak = (chances(request, walling=word) for word in ("strong", "moderate", "weak"))
    assert (strong <= moderate).all()
    assert (moderate <= weak).all()


@given(REQUESTS, st.floats(0.1, 10))
@FEW
def test_a_thicker_wall_never_brings_the_threshold_nearer(request: Request, more: float) -> None:
    thicker = (replace(request.measured[0], sound_wall_cm=request.measured[0].sound_wall_cm + more),)
    assert (chances(request, measured=thicker) <= chances(request)).all()


@given(REQUESTS)
@FEW
def test_response_growth_and_vigour_never_bring_the_threshold_nearer(request: Request) -> None:
    none, some, good = (chances(request, response_growth=word) for word in ("none", "some", "good"))
    assert (good <= some).all()
    assert (some <= none).all()
    narrow, wide = (chances(request, ring_width_mm=width) for width in (1.0, 4.0))
    assert (wide <= narrow).all()


@given(REQUESTS, st.floats(0, 3), st.floats(0, 5))
@FEW
def test_a_wider_weakened_zone_never_lessens_the_chance(request: Request, allowance: float, more: float) -> None:
    assert (chances(request, allowance_cm=allowance) <= chances(request, allowance_cm=allowance + more)).all()


def test_brown_and_soft_rot_weaken_more_than_is_seen_and_white_rot_does_not() -> None:
    request = Request(60.0, "stem", (Measured(10.0, 0.0),), walling="strong")
    now = {rot: assess(replace(request, rot=rot)).course for rot in ("white", "brown", "soft")}
    walls = {rot: float(course.t_over_r[:, 0].mean()) for rot, course in now.items() if course is not None}
    assert walls["white"] == pytest.approx(10 / 30)
    assert walls["brown"] < walls["white"]
    assert walls["soft"] < walls["white"]


def test_without_breach_rings_are_added_and_t_over_r_improves() -> None:
    course = draw(Request(60.0, "stem", (Measured(10.0, 0.0),), ring_width_mm=4.0))
    contained = course.t_over_r[~course.breached]
    assert len(contained) > 100
    assert (np.diff(contained, axis=1) > 0).all()
    # 4 mm a year for 10 years: (10 + 4) / (30 + 4), rings scattering about their median.
    assert float(np.median(contained[:, 10])) == pytest.approx(14 / 34, rel=0.02)


def test_decay_wider_than_the_stem_when_it_was_wounded_has_passed_wall_4() -> None:
    """CODIT: 60 cm now, 4 mm rings, wounded 20 years ago: 44 cm then; 52 cm of decay are beyond it."""
    wounded = Request(60.0, "stem", (Measured(4.0, 0.1),), ring_width_mm=4.0, wound_years=20.0, walling="strong")
    assert draw(wounded).breached.mean() > 0.99
    within = replace(wounded, measured=(Measured(12.0, 0.1),))
    assert draw(within).breached.mean() < 0.5


def test_contained_decay_takes_no_more_than_the_stem_of_the_time_of_wounding() -> None:
    course = draw(Request(60.0, "stem", (Measured(12.0, 0.1),), ring_width_mm=4.0, wound_years=20.0, horizon_years=60))
    held = course.decay_cm[~course.breached]
    assert float(np.median(held[:, -1])) == pytest.approx(22.0, abs=1.0)


def test_a_wall_that_stayed_speaks_for_containment_and_one_that_shrank_against_it() -> None:
    def breached(before: float) -> float:
        request = Request(60.0, "stem", (Measured(10.0, 0.5), Measured(before, 0.5, 10.0)), ring_width_mm=2.0)
        return float(draw(request).breached.mean())

    alone = float(draw(Request(60.0, "stem", (Measured(10.0, 0.5),), ring_width_mm=2.0)).breached.mean())
    assert breached(8.0) < alone < breached(15.0)


@given(REQUESTS)
@FEW
def test_one_seed_gives_one_answer(request: Request) -> None:
    assert (chances(request) == chances(request)).all()


def test_another_seed_gives_nearly_the_same_answer() -> None:
    request = Request(60.0, "stem", (Measured(11.0),), draws=10_000)
    assert chances(request) == pytest.approx(chances(request, seed=2), abs=2.5)


def test_a_course_without_a_measurement_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="measured"):
        draw(Request(60.0, "stem"))
