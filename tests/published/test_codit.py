"""CODIT (Shigo): contained decay takes no more than the stem of the time of wounding. The example is worked by hand."""

import pytest

from assessments.methods.decay_growth.course import age_limit_cm


def test_the_stem_that_was_there_when_it_was_wounded() -> None:
    """60 cm now, rings of 4 mm, wounded 20 years ago: 44 cm; fully hollow to there t/R 0.267, W loss 28.9 %."""
    then = float(age_limit_cm(60.0, 0.4, 20.0))
    assert then == pytest.approx(44.0)
    assert (60 - then) / 60 == pytest.approx(0.267, abs=5e-4)
    assert 100 * (then / 60) ** 4 == pytest.approx(28.9, abs=0.05)
