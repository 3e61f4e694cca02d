"""The value of an advanced diagnosis for a case: its options as actions, the likelihood of failure as what is unknown.

Prior and instrument error are the project's choice, in the frame of the published spread: 18 assessors gave two or more
categories to at least 83 % of 30 trees (Okun et al. 2023).
"""

from collections.abc import Sequence
from typing import Final

from assessments.methods import harm, risk
from assessments.methods.information import Action, Problem, Study, spread, study, word_instrument

from . import courses
from .catalogue import ENTRIES
from .contract import Case, Option
from .propose import rate_of

METHOD: Final = "diagnosis_of_a_case"
VERSION: Final = 2

# Failure that has begun is seen, not measured: it is no state of the unknown.
STATES: Final = risk.FAILURE[:3]
# The chance that the decided category is the true one, the rest falling on its neighbours.
DECIDED_RIGHT: Final = 0.6
READING_RIGHT: Final = 0.8


def rated_places(case: Case) -> tuple[int, ...]:
    """Give the ratings that a diagnosis could change: those of the worst finding that hides what lies inside.

    Ratings of the same finding on other targets go with it. Empty: there is nothing to diagnose.
    """
    wanted = ENTRIES["advanced_diagnosis"].findings
    open_ = [
        (place, rated)
        for place, rated in enumerate(case.ratings)
        if rated.finding is not None and case.findings[rated.finding].kind in wanted and rated.failure in STATES
    ]
    if not open_:
        return ()
    worst = max(open_, key=lambda one: (risk.code(risk.RISK, one[1].risk), STATES.index(one[1].failure)))[1].finding
    return tuple(place for place, rated in open_ if rated.finding == worst)


def value_of_diagnosis(
    case: Case,
    options: Sequence[Option],
    *,
    decided_right: float = DECIDED_RIGHT,
    reading_right: float = READING_RIGHT,
    money_per_harm: float = harm.MONEY_PER_DEATH,
) -> Study | None:
    """Value an advanced diagnosis before choosing among options; None where there is nothing to diagnose or choose.

    The loss of an option in a state: its present value plus money per harm times its harm over the horizon there.
    """
    places = rated_places(case)
    actions = [option for option in options if option.changes != "knowledge"]
    if not places or not actions:
        return None
    decided = max(STATES.index(case.ratings[place].failure) for place in places)
    problem = Problem(
        STATES,
        spread(len(STATES), decided_right)[decided],
        tuple(
            Action(option.says, float(option.present.total), tuple(_harm(case, option, places, s) for s in STATES))
            for option in actions
        ),
    )
    instrument = word_instrument("advanced diagnosis", _cost(case, options), STATES, reading_right)
    return study(problem, instrument, money_per_harm)


def _cost(case: Case, options: Sequence[Option]) -> float:
    """Give what the diagnosis costs: as its own option has it, what the arborist set included, else by the card."""
    offered = [option.cost_now for option in options if option.kind == "advanced_diagnosis"]
    return offered[0] if offered else rate_of(case, "diagnose").cost


def _harm(case: Case, option: Option, places: Sequence[int], state: str) -> float:
    by_year = courses.harm_by_year(case, option.effects, dict.fromkeys(places, state))
    return float(by_year[harm.MAPS.index("central")].sum())
