"""What the fit learns, what it refuses to pool, and that it does not hang on order or names."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.methods.calibration import Estimate, Row, correct, fit
from assessments.methods.calibration.rows import fraction, logit, spread_of
from assessments.methods.problems import MethodProblem


def biased(trees: int, shift: float, reason: str = "random_sample", sign: str = "seam", seed: int = 1) -> list[Row]:
    """Trees of six cuts whose truth lies `shift` logits above the estimate, with a little noise."""
    rng = np.random.default_rng(seed)
    found = []
    for tree in range(trees):
        for x in rng.normal(-0.4, 0.7, 6):
            y = x + shift + rng.normal(0, 0.2)
            found.append(Row(f"{reason}{sign}{tree}", float(fraction(x)), float(fraction(y)), reason, sign, spread=0.3))
    return found


def effect(rows: list[Row], factor: str, level: str = "") -> float:
    return next(one.mean for one in fit(rows).effects if (one.factor, one.level) == (factor, level))


def test_an_estimate_too_low_by_a_fixed_shift_is_moved_up_by_it() -> None:
    found = correct(fit(biased(60, 0.6)), Estimate(0.3, 0.3, "seam"))
    assert found.applied
    assert float(logit(found.figure.best) - logit(0.3)) == pytest.approx(0.6, abs=0.1)


def test_a_sign_that_misleads_is_told_from_one_that_does_not() -> None:
    rows = biased(40, 0.5, sign="cavity") + biased(40, -0.5, sign="fruiting_body", seed=2)
    assert effect(rows, "sign", "cavity") > 0.2
    assert effect(rows, "sign", "fruiting_body") < -0.2


def test_the_effect_of_a_rare_sign_is_drawn_to_the_whole() -> None:
    many, few = biased(40, 0.0, sign="cavity"), biased(40, 0.5, sign="seam", seed=2)
    apart = [effect(rows, "sign", "seam") - effect(rows, "sign", "cavity") for rows in (many + few[:6], many + few)]
    assert 0 < apart[0] < apart[1] < 0.5


def test_storm_failures_are_listed_but_change_nothing() -> None:
    rows, failures = biased(20, 0.3), biased(30, -1.5, reason="storm_failure")
    without, with_them = fit(rows), fit(rows + failures)
    assert np.array_equal(without.points.mean, with_them.points.mean)
    stratum = next(one for one in with_them.strata if one.reason == "storm_failure")
    assert (stratum.trees, stratum.pooled) == (30, False)
    assert stratum.mean_error == pytest.approx(-1.5, abs=0.1)
    assert any("30 storm failures" in note for note in with_them.notes)


def test_eight_cuts_of_one_tree_teach_less_than_eight_trees() -> None:
    one_tree = [Row("a", 0.3, 0.45, "utility") for _ in range(8)]
    eight = [Row(str(n), 0.3, 0.45, "utility") for n in range(8)]

    def width(rows: list[Row]) -> float:
        intercept = fit(rows).effects[0]
        return intercept.high95 - intercept.low95

    assert width(eight) < width(one_tree)


def test_a_note_asks_for_a_random_sample_where_only_trees_judged_weak_were_opened() -> None:
    assert any("random sample" in note for note in fit(biased(6, 0.1, reason="predicted_weakness")).notes)
    assert not any("random sample" in note for note in fit(biased(6, 0.1, reason="utility")).notes)


def test_sound_sections_and_hollows_without_a_figure_are_not_regressed() -> None:
    rows = [Row("a", 1.0, 0.4, "pest"), Row("a", 0.4, 1.0, "pest"), Row("b", None, 0.4, "pest")]
    found = fit(rows)
    assert (found.cuts, found.trees) == (0, 0)
    assert found.presence.predictive_value.trees == 2


@settings(max_examples=15, deadline=None)
@given(st.randoms(use_true_random=False))
def test_the_order_of_the_rows_and_the_names_of_the_trees_mean_nothing(random: object) -> None:
    rows = biased(8, 0.4)
    names = {row.tree: f"x{place}" for place, row in enumerate(reversed(rows))}
    mixed = [Row(names[r.tree], r.estimated, r.found, r.reason, r.sign, spread=r.spread) for r in rows]
    random.shuffle(mixed)  # type: ignore[attr-defined]
    one, other = fit(rows), fit(mixed)
    estimate = Estimate(0.35, 0.3, "seam")
    assert correct(one, estimate).figure.low95 == pytest.approx(correct(other, estimate).figure.low95, abs=0.004)
    assert one.effects[1].mean == pytest.approx(other.effects[1].mean, abs=0.01)


@pytest.mark.parametrize(
    ("change", "field"),
    [({"estimated": 1.2}, "/estimated"), ({"found": float("nan")}, "/found"), ({"spread": 0.0}, "/spread"),
     ({"reason": "curiosity"}, "/reason")],
)  # fmt: skip
def test_a_row_that_makes_no_sense_is_refused_by_name(change: dict[str, object], field: str) -> None:
    with pytest.raises(MethodProblem) as refused:
        Row(**{"tree": "a", "estimated": 0.3, "found": 0.3, "reason": "pest", **change})  # type: ignore[arg-type]
    assert refused.value.fields[0].pointer == field


def test_a_spread_is_read_off_an_interval_on_the_logit_scale() -> None:
    low, high = (float(fraction(-0.5 + z * 0.4)) for z in (-1.2815516, 1.2815516))
    assert spread_of(low, high) == pytest.approx(0.4, abs=1e-6)
    assert spread_of(0.3, 0.3) == 0.05
