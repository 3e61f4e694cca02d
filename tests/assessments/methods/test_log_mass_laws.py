"""Laws of log mass that hold for any log, and of the volume rules against geometry."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.log_mass import Log, pieces
from assessments.methods.log_volume import frustum_m3, huber_m3, newton_m3, smalian_m3
from assessments.methods.problems import MethodProblem

DIAMETER = st.floats(5, 200)
SECTIONS = st.lists(st.tuples(DIAMETER, st.floats(0, 0.2)), min_size=2, max_size=8)


def log_of(sections: list[tuple[float, float]], scale: float = 1.0, void: float = 1.0) -> Log:
    return Log.of(
        [(n * scale, d * scale, void * share * np.pi / 4 * 25 * scale**2) for n, (d, share) in enumerate(sections)]
    )


@given(SECTIONS, st.floats(0, 1), st.floats(0, 1))
def test_a_larger_void_never_adds_mass(sections: list[tuple[float, float]], a: float, b: float) -> None:
    small, large = sorted((a, b))
    assert log_of(sections, void=large).volume_m3 <= log_of(sections, void=small).volume_m3 + 1e-12


@given(SECTIONS, st.floats(0.1, 10))
def test_volume_grows_with_the_cube_of_size(sections: list[tuple[float, float]], scale: float) -> None:
    assert log_of(sections, scale).volume_m3 == pytest.approx(log_of(sections).volume_m3 * scale**3, rel=1e-9)


@given(SECTIONS)
def test_a_sound_log_is_the_sum_of_its_frustums(sections: list[tuple[float, float]]) -> None:
    diameters = np.array([d for d, _ in sections])
    whole = frustum_m3(diameters[:-1], diameters[1:], 1.0).sum()
    assert log_of(sections, void=0).volume_m3 == pytest.approx(whole, rel=1e-9)


@given(SECTIONS, st.floats(0, 1))
def test_volume_is_what_fine_slices_add_up_to(sections: list[tuple[float, float]], share: float) -> None:
    log = log_of(sections)
    top = share * (len(sections) - 1)
    z = np.linspace(0, top, 4001)
    areas = np.pi / 4 * np.interp(z, log.heights_m, log.diameters_cm) ** 2 - np.interp(z, log.heights_m, log.voids_cm2)
    assert float(log.volume_below_m3(top)) == pytest.approx(np.trapezoid(areas, z) / 1e4, rel=1e-5, abs=1e-9)


@given(SECTIONS, st.floats(1, 5000), st.floats(0, 1))
def test_no_piece_reaches_the_limit_and_no_wood_is_lost(
    sections: list[tuple[float, float]], limit: float, margin: float
) -> None:
    log = log_of(sections)
    try:
        found = pieces(log, 900.0, margin, limit)
    except MethodProblem as problem:
        assert problem.fields[0].pointer == "/limit_kg"  # noqa: PT017
        return
    assert all(piece.upper_kg < limit for piece in found)
    assert sum(piece.mass_kg for piece in found) == pytest.approx(900 * log.volume_m3, rel=1e-9)


@given(st.floats(100, 2000), st.floats(100, 2000))
def test_mass_is_volume_times_density(a: float, b: float) -> None:
    log = log_of([(40, 0), (30, 0.1)])
    (first,), (second,) = pieces(log, a, 0.15, None), pieces(log, b, 0.15, None)
    assert first.mass_kg / a == pytest.approx(second.mass_kg / b)


@given(DIAMETER, DIAMETER, st.floats(0.1, 20))
def test_all_three_rules_agree_for_a_paraboloid(lower: float, upper: float, length: float) -> None:
    middle = float(np.sqrt((lower**2 + upper**2) / 2))
    volume = float(smalian_m3(lower, upper, length))
    assert float(huber_m3(middle, length)) == pytest.approx(volume)
    assert float(newton_m3(lower, middle, upper, length)) == pytest.approx(volume)


@given(DIAMETER, DIAMETER, st.floats(0.1, 20))
def test_newton_is_exact_for_a_cone(lower: float, upper: float, length: float) -> None:
    volume = float(newton_m3(lower, (lower + upper) / 2, upper, length))
    assert volume == pytest.approx(float(frustum_m3(lower, upper, length)))


@given(DIAMETER, DIAMETER, st.floats(0.1, 20))
def test_feet_and_inches_give_the_same_wood_as_metres(lower: float, upper: float, length: float) -> None:
    """0.005454154 d^2 is the area in square feet of d inches; 1 ft3 is 0.0283168 m3 exactly 0.3048 cubed."""
    feet = 0.005454154 * (lower**2 + upper**2) / 2 * length
    assert float(smalian_m3(lower * 2.54, upper * 2.54, length * 0.3048)) == pytest.approx(feet * 0.3048**3, rel=1e-6)
