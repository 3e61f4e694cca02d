"""A stored calibration corrects as the one it was made from; one of another version is not read."""

import json

import pytest

from assessments.methods.calibration import Estimate, as_json, correct, fit, from_json
from tests.assessments.methods.calibration.test_fit import biased


@pytest.mark.parametrize("trees", [0, 3, 30])
def test_a_calibration_comes_back_from_json_as_it_was(trees: int) -> None:
    made = fit(biased(trees, 0.4))
    again = from_json(json.loads(json.dumps(as_json(made))))
    assert again is not None
    assert (again.effects, again.strata, again.presence, again.levels) == (
        made.effects, made.strata, made.presence, made.levels,
    )  # fmt: skip
    for sign in ("seam", "cavity"):
        one, other = (correct(c, Estimate(0.3, 0.3, sign)) for c in (made, again))
        assert one.said == other.said
        assert one.figure.low95 == pytest.approx(other.figure.low95, abs=1e-5)


def test_another_version_has_to_be_fitted_again() -> None:
    stored = as_json(fit([]))
    assert from_json(stored | {"version": 0}) is None
    assert from_json(stored | {"method": "by_eye"}) is None
