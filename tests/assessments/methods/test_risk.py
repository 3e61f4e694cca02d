"""Words and codes of risk: scalar and array forms agree, wrong words are refused."""

from itertools import product

import numpy as np
import pytest

from assessments.methods import risk


def test_arrays_of_codes_give_what_the_words_give() -> None:
    combinations = list(product(range(1, 5), repeat=3))
    failure, impact, consequences = np.array(combinations, np.uint8).T
    rated = risk.rate_codes(failure, impact, consequences)
    likelihood = risk.failure_and_impact_codes(failure, impact)
    for place, (f, i, c) in enumerate(combinations):
        words = risk.word(risk.FAILURE, f), risk.word(risk.IMPACT, i), risk.word(risk.CONSEQUENCES, c)
        assert risk.word(risk.RISK, int(rated[place])) == risk.rate(*words)
        assert risk.word(risk.LIKELIHOOD, int(likelihood[place])) == risk.failure_and_impact(*words[:2])


def test_both_matrices_rise_along_rows_and_columns() -> None:
    for matrix in (risk.LIKELIHOOD_MATRIX, risk.RISK_MATRIX):
        assert np.all(np.diff(matrix.astype(int), axis=0) >= 0)
        assert np.all(np.diff(matrix.astype(int), axis=1) >= 0)


@pytest.mark.parametrize("unknown", range(3))
def test_an_unknown_word_leaves_the_rating_unknown(unknown: int) -> None:
    codes = [4, 4, 4]
    codes[unknown] = 0
    assert risk.rate_codes(*codes) == 0


@pytest.mark.parametrize("wrong", [-1, 5])
def test_a_code_outside_the_scale_is_refused_by_name(wrong: int) -> None:
    with pytest.raises(ValueError, match="impact"):
        risk.rate_codes([1], [wrong], [1])
    with pytest.raises(ValueError, match="outside"):
        risk.word(risk.RISK, wrong)


def test_a_word_of_another_scale_is_refused() -> None:
    with pytest.raises(ValueError, match="not one of"):
        risk.rate("likely", "high", "severe")


def test_every_word_comes_back_from_its_code() -> None:
    for words in (risk.FAILURE, risk.OCCUPANCY, risk.IMPACT, risk.LIKELIHOOD, risk.CONSEQUENCES, risk.RISK):
        assert [risk.word(words, risk.code(words, word)) for word in ("", *words)] == ["", *words]


def test_the_rating_of_a_tree_is_its_worst() -> None:
    assert risk.worst(["low", "extreme", "moderate"]) == "extreme"
    assert risk.worst([]) == ""


def test_a_static_target_is_always_there() -> None:
    assert risk.target_occupancy("static", "rare") == "constant"
    assert risk.target_occupancy("movable", "rare") == "rare"
    with pytest.raises(ValueError, match="floating"):
        risk.target_occupancy("floating", "rare")


@pytest.mark.parametrize("words", [("", "full", "unknown"), ("rare", "open", "unknown"), ("rare", "full", "up")])
def test_an_unknown_occupancy_exposure_or_direction_is_refused(words: tuple[str, str, str]) -> None:
    with pytest.raises(ValueError, match="not one of"):
        risk.impact_from(*words)


def test_the_tables_cannot_be_changed_by_a_caller() -> None:
    with pytest.raises(ValueError, match="read-only"):
        risk.RISK_MATRIX[1, 1] = 4
    with pytest.raises(ValueError, match="read-only"):
        risk.RATING_CUBE[1, 1, 1] = 4
