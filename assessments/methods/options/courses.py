"""Risk and cost over the years of an option, and the residual risk of each rating by the published matrices."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from assessments.methods import risk
from assessments.methods.harm import MAPS, harm_codes
from assessments.methods.money import PresentValue

from .contract import Case, CostYear, Effect, Rated, Residual, RiskYear

METHOD: Final = "option_courses"
VERSION: Final = 1

_PROBABLE: Final = risk.code(risk.FAILURE, "probable")


def words_after(rated: Rated, effect: Effect, year: int) -> tuple[str, str, str]:
    """Give failure, impact and consequences of a rating in a year of an option in which the effect holds.

    What is gone is improbable to fail; imminent failure does not fall by steps: it has begun.
    """
    if effect.words is not None:
        return effect.words
    failure = rated.failure
    if effect.gone:
        failure = "improbable"
    elif failure != "imminent":
        code = risk.code(risk.FAILURE, failure) - effect.steps[year]
        failure = risk.word(risk.FAILURE, min(max(code, 1), _PROBABLE))
    return failure, effect.impact or rated.impact, rated.consequences


def residuals(case: Case, effects: Sequence[Effect]) -> tuple[Residual, ...]:
    """Give the residual risk of each rating right after the action, and when it is more again."""
    return tuple(
        _residual(case, place, rated, effect)
        for place, (rated, effect) in enumerate(zip(case.ratings, effects, strict=True))
    )


def _residual(case: Case, place: int, rated: Rated, effect: Effect) -> Residual:
    words = words_after(rated, effect, 0)
    after = risk.rate(*words)
    by_year = [_risk_of(rated, effect, year) for year in range(len(effect.steps))]
    codes = [risk.code(risk.RISK, word) for word in by_year]
    first = risk.code(risk.RISK, after)
    worse = next((year for year, code in enumerate(codes) if code > first), None)
    later = risk.word(risk.RISK, max(codes, default=first)) if worse is not None else after
    return Residual(
        place, rated.part, case.targets[rated.target].label, *words, rated.risk, after, worse, later, effect.why
    )


def _risk_of(rated: Rated, effect: Effect, year: int) -> str:
    """Give the risk that a year ends with: that before, where the effect does not hold the year out."""
    return risk.rate(*words_after(rated, effect, year)) if effect.share[year] >= 1 else rated.risk


def harm_by_year(
    case: Case, effects: Sequence[Effect], failures: Mapping[int, str] | None = None
) -> npt.NDArray[np.float64]:
    """Give the expected harm as an array (3, years): the low, central and high map by year of the horizon.

    `failures`: words to take instead of the decided likelihood of failure, by place of the rating.
    """
    years = case.assumptions.horizon_years
    total = np.zeros((len(MAPS), years))
    for place, (rated, effect) in enumerate(zip(case.ratings, effects, strict=True)):
        stands = rated if not failures or place not in failures else _with_failure(rated, failures[place])
        total += _harm(case, stands, effect, years)
    return total


def _with_failure(rated: Rated, failure: str) -> Rated:
    return Rated(rated.part, rated.target, failure, rated.impact, rated.consequences, rated.finding)


def _codes(words: tuple[str, str, str]) -> tuple[int, int, int]:
    scales = (risk.FAILURE, risk.IMPACT, risk.CONSEQUENCES)
    failure, impact, consequences = (risk.code(scale, word) for scale, word in zip(scales, words, strict=True))
    return failure, impact, consequences


def _harm(case: Case, rated: Rated, effect: Effect, years: int) -> npt.NDArray[np.float64]:
    before = np.array([_codes((rated.failure, rated.impact, rated.consequences))] * years)
    after = np.array([_codes(words_after(rated, effect, year)) for year in range(years)])
    share = np.asarray(effect.share)
    worse = _worsening(case, rated, years)
    still = 0.0 if effect.gone else 1.0
    return np.stack(
        [
            share * still * _worsened(case, rated, after, worse, which)
            + (1 - share) * _worsened(case, rated, before, worse, which)
            for which in MAPS
        ]
    )


def _worsened(
    case: Case, rated: Rated, codes: npt.NDArray[np.int_], chance: npt.NDArray[np.float64], which: str
) -> npt.NDArray[np.float64]:
    """Give harm by year, failure one category higher (at most probable) with the chance that decay has come so far."""
    failure, impact, consequences = codes.T
    worse = np.where(failure < _PROBABLE, failure + 1, failure)
    frame = np.full(len(codes), case.frame_years)
    people = np.full(len(codes), int(case.targets[rated.target].people))
    as_is, as_worse = (harm_codes(one, impact, consequences, frame, people, which) for one in (failure, worse))
    return np.asarray((1 - chance) * as_is + chance * as_worse)


def _worsening(case: Case, rated: Rated, years: int) -> npt.NDArray[np.float64]:
    """Give the chance by year that the threshold of the rating's finding has been crossed; 0 where none is known."""
    known = () if rated.finding is None else case.tree.decay_chance.get(rated.finding, ())
    if not known:
        return np.zeros(years)
    return np.array([known[min(year, len(known) - 1)] for year in range(years)])


def risk_years(harm: npt.NDArray[np.float64]) -> tuple[RiskYear, ...]:
    """Give the course of risk from an array (3, years)."""
    return tuple(RiskYear(year, *(float(value) for value in column)) for year, column in enumerate(harm.T))


def cost_years(present: PresentValue) -> tuple[CostYear, ...]:
    """Give the course of cost over the horizon, year 0 being now."""
    rows, so_far = [], float(present.now)
    for year in range(present.horizon_years + 1):
        flows = [flow for flow in present.flows if flow.year == year]
        so_far += sum(float(flow.discounted) for flow in flows)
        cost = sum(float(flow.amount) for flow in flows) + (float(present.now) if year == 0 else 0.0)
        rows.append(CostYear(year, cost, round(so_far, 2)))
    return tuple(rows)
