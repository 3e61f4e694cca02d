"""Laws of the stem load that hold for any tree: wind, reduction, decay, rotation, scale."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.stem_load import check
from assessments.methods.stem_load.check import after_reduction
from assessments.methods.stem_load.contract import read

from .trees import HOLLOW, TREE

few = settings(max_examples=25, deadline=None)


def safety(request: dict[str, Any]) -> list[float]:
    result = check(read(request))
    return [row.safety[1] for row in result.rows]


@few
@given(TREE, st.floats(1, 60), st.floats(1, 60))
def test_a_stronger_gust_never_raises_a_safety_factor(tree: dict[str, Any], a: float, b: float) -> None:
    slow, fast = sorted((a, b))
    calm, storm = (safety(tree | {"wind": {"v10_m_s": v, "exponent": 0.2}}) for v in (slow, fast))
    assert all(s <= c * (1 + 1e-9) for c, s in zip(calm, storm, strict=True))


@few
@given(TREE, st.floats(5, 60))
def test_at_the_critical_gust_the_safety_factor_is_one(tree: dict[str, Any], speed: float) -> None:
    given_tree = read(tree | {"wind": {"v10_m_s": speed, "exponent": 0.2}})
    gust = check(given_tree).critical_gust_m_s(given_tree)[1]
    if not 1 <= gust <= 120:
        return
    at = check(read(tree | {"wind": {"v10_m_s": gust, "exponent": 0.2}}))
    assert min(row.safety[1] for row in (*at.rows, at.weakest)) == pytest.approx(1, rel=1e-6)


@few
@given(TREE, st.floats(5, 60), st.floats(0, 360))
def test_at_the_critical_gust_of_a_hollow_section_the_factor_is_one(
    tree: dict[str, Any], speed: float, toward: float
) -> None:
    hollow = {
        "sections": [{"height_m": 1.0, "section": HOLLOW | {"draws": 0}}],
        "bark_cm": 1.5,
        "dbh_cm": 60,
        "height_m": 20,
    }
    wind = {"exponent": 0.2, "toward_deg": toward}
    first = check(read(tree | hollow | {"wind": wind | {"v10_m_s": speed}}))
    gust = first.rows[0].speed_ratio[1] * speed
    if not 1 <= gust <= 120:
        return
    at = check(read(tree | hollow | {"wind": wind | {"v10_m_s": gust}}))
    assert at.rows[0].safety[1] == pytest.approx(1, rel=1e-6)


@few
@given(TREE, st.floats(0, 99), st.floats(0, 99))
def test_more_loss_never_raises_a_safety_factor(tree: dict[str, Any], a: float, b: float) -> None:
    less, more = sorted((a, b))
    sound, weak = (safety(tree | {"sections": [{"height_m": 1, "loss_percent": loss}]})[0] for loss in (less, more))
    assert weak <= sound * (1 + 1e-9)


@few
@given(TREE, st.floats(0, 360))
def test_turning_tree_section_and_wind_together_changes_nothing(tree: dict[str, Any], turn: float) -> None:
    def turned(by: float) -> dict[str, Any]:
        section = HOLLOW | {
            "readings": [
                reading | {"azimuth_deg": (reading["azimuth_deg"] + by) % 360} for reading in HOLLOW["readings"]
            ],
            "draws": 0,
        }
        lean, offset = (tree[name] | {"azimuth_deg": (tree[name]["azimuth_deg"] + by) % 360}
                        for name in ("lean", "crown_offset"))  # fmt: skip
        return tree | {
            "lean": lean, "crown_offset": offset, "dbh_cm": 60, "bark_cm": 1.5, "height_m": 20,
            "sections": [{"height_m": 1.3, "section": section}],
            "wind": {"v10_m_s": 30, "exponent": 0.2, "toward_deg": by % 360},
        }  # fmt: skip

    # The section's own grid of azimuths does not turn with it: a thousandth.
    assert safety(turned(turn)) == pytest.approx(safety(turned(0.0)), rel=2e-3)


@few
@given(TREE)
def test_the_worst_side_is_at_least_as_bad_as_any_side(tree: dict[str, Any]) -> None:
    worst = safety(tree)
    for toward in (0, 77, 180, 300):
        one = safety(tree | {"wind": {"toward_deg": toward}})
        assert all(w <= o * (1 + 1e-9) for w, o in zip(worst, one, strict=True))


@few
@given(TREE)
def test_the_band_holds_the_best_estimate(tree: dict[str, Any]) -> None:
    for row in check(read(tree)).rows:
        low, best, high = row.safety
        assert 0 < low < best < high


@few
@given(TREE, st.floats(0, 90), st.floats(0, 90))
def test_a_reduction_never_lowers_the_critical_gust_of_an_upright_tree(
    tree: dict[str, Any], length: float, width: float
) -> None:
    upright = {name: value for name, value in tree.items() if name not in ("lean", "crown_offset")}
    cut = {"length_percent": length, "width_percent": width, "years": [0, 2, 100]}
    whole = read(upright | {"reduction": cut})
    before = check(whole).critical_gust_m_s(whole)[1]
    after = [after_reduction(whole, years).critical_gust_m_s(whole)[1] for years in (0, 2, 100)]
    assert all(gust >= before * (1 - 2e-3) for gust in after)
    assert after[0] >= after[1] * (1 - 2e-3)
    # 100 years at half a metre a year bring any of these crowns back.
    assert after[2] == pytest.approx(before, rel=2e-3)
