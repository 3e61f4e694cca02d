"""Value of information of a further diagnosis: least expected loss now, less its expectation after the reading.

Loss = cost + money per harm x harm. Textbook decision analysis (preposterior analysis, Raiffa and Schlaifer 1961);
shown for a tenth, once and ten times the exchange rate, and called undetermined where the sign changes between them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from .harm import MONEY_PER_DEATH
from .problems import MethodProblem, number
from .request import Fields

METHOD: Final = "value_of_information"
VERSION: Final = 1

MULTIPLES: Final = (0.1, 1.0, 10.0)
VERDICTS: Final = ("worthwhile", "not_worthwhile", "undetermined")
MOST: Final = 30
SUM_TOLERANCE: Final = 1e-6
MOST_MONEY: Final = 1e9
FIELDS: Final = ("states", "actions", "diagnosis", "money_per_harm")
NOTES: Final = (
    "Loss is cost plus money per harm times harm; the harm of each state, the prior and the instrument's error are "
    "judgements that the answer rests on.",
    "Only the decision for which it is asked counts: what a reading is worth for later decisions is left out.",
    "Only costs and harm are weighed: what the tree itself is worth, as appraised or by its canopy, is left out.",
)


@dataclass(frozen=True)
class Action:
    """What could be done: its cost in money, and its harm in each state of the tree (expected deaths, one a state)."""

    name: str
    cost: float
    harm: tuple[float, ...]


@dataclass(frozen=True)
class Problem:
    """The states the tree may be in, how probable each is thought now (sums to 1), and what could be done."""

    states: tuple[str, ...]
    prior: tuple[float, ...]
    actions: tuple[Action, ...]

    def __post_init__(self) -> None:
        if not self.actions or len(self.prior) != len(self.states):
            raise ValueError("actions: at least one is needed, and a prior for each state")
        if abs(sum(self.prior) - 1) > SUM_TOLERANCE or min(self.prior) < 0:
            raise ValueError("prior: must be 0 or more and sum to 1")
        if any(len(action.harm) != len(self.states) for action in self.actions):
            raise ValueError("harm: must have one figure for each state")


@dataclass(frozen=True)
class Diagnosis:
    """A further diagnosis: cost, its readings, and `chance[state][reading]`, each row summing to 1: its error."""

    name: str
    cost: float
    readings: tuple[str, ...]
    chance: tuple[tuple[float, ...], ...]
    error: str = ""

    def __post_init__(self) -> None:
        for row in self.chance:
            if len(row) != len(self.readings) or abs(sum(row) - 1) > SUM_TOLERANCE or min(row) < 0:
                raise ValueError("chance: each state needs a chance for each reading, 0 or more, summing to 1")


@dataclass(frozen=True)
class Planned:
    """One reading: how probable it is, what would then be done, and the expected loss then."""

    reading: str
    chance: float
    action: str
    loss: float


@dataclass(frozen=True)
class Value:
    """The value at one exchange rate, in money. `gross` is before the cost of the diagnosis and never negative."""

    money_per_harm: float
    action_now: str
    loss_now: float
    loss_after: float
    gross: float
    net: float
    plan: tuple[Planned, ...]

    @property
    def changes_the_action(self) -> bool:
        """Whether any reading would lead to something else than is best now."""
        return any(one.action != self.action_now for one in self.plan if one.chance > 0)


@dataclass(frozen=True)
class Study:
    """Values at a tenth, once and ten times the exchange rate, and the verdict: a word of VERDICTS."""

    diagnosis: Diagnosis
    values: tuple[Value, ...]
    verdict: str
    says: str
    method: str = METHOD
    version: int = VERSION


def value(problem: Problem, diagnosis: Diagnosis, money_per_harm: float) -> Value:
    """Give the value of a diagnosis at one exchange rate, by Bayes' rule over its readings.

    >>> fell = Action("fell", 1000, (0.0, 0.0))
    >>> keep = Action("keep", 0, (0.0, 0.004))
    >>> sure = Diagnosis("open it", 100, ("sound", "hollow"), ((1.0, 0.0), (0.0, 1.0)))
    >>> value(Problem(("sound", "hollow"), (0.5, 0.5), (fell, keep)), sure, 1e6).net
    400.0
    """
    losses = [[action.cost + money_per_harm * harm for harm in action.harm] for action in problem.actions]
    name_now, loss_now = _best(problem, losses, problem.prior)
    plan, loss_after = [], 0.0
    for place, reading in enumerate(diagnosis.readings):
        joint = [prior * row[place] for prior, row in zip(problem.prior, diagnosis.chance, strict=True)]
        action, loss = _best(problem, losses, joint)
        loss_after += loss
        chance = sum(joint)
        plan.append(Planned(reading, chance, action, loss / chance if chance > 0 else 0.0))
    # Below zero only by rounding.
    gross = max(loss_now - loss_after, 0.0)
    return Value(money_per_harm, name_now, loss_now, loss_after, gross, gross - diagnosis.cost, tuple(plan))


def _best(problem: Problem, losses: Sequence[Sequence[float]], weights: Sequence[float]) -> tuple[str, float]:
    """Give the action of least loss under weights that need not sum to 1, and that loss; the first of equals."""
    sums = [sum(w * loss for w, loss in zip(weights, row, strict=True)) for row in losses]
    place = min(range(len(sums)), key=sums.__getitem__)
    return problem.actions[place].name, sums[place]


def study(problem: Problem, diagnosis: Diagnosis, money_per_harm: float = MONEY_PER_DEATH) -> Study:
    """Value a diagnosis at a tenth, once and ten times the exchange rate. Raises ValueError where shapes differ."""
    if len(diagnosis.chance) != len(problem.states):
        raise ValueError("chance: must have one row for each state")
    values = tuple(value(problem, diagnosis, multiple * money_per_harm) for multiple in MULTIPLES)
    pays = [one.net > 0 for one in values]
    verdict = "worthwhile" if all(pays) else "undetermined" if any(pays) else "not_worthwhile"
    return Study(diagnosis, values, verdict, _said(verdict, values, diagnosis))


def _said(verdict: str, values: Sequence[Value], diagnosis: Diagnosis) -> str:
    low, high = min(one.net for one in values), max(one.net for one in values)
    if verdict == "worthwhile":
        return f"Worth its cost at each of the three exchange rates: by {low:.0f} to {high:.0f}."
    if verdict == "not_worthwhile":
        if not any(one.changes_the_action for one in values):
            return "Not worth its cost: no reading would change what is best to do."
        return f"Not worth its cost of {diagnosis.cost:.0f} at any of the three exchange rates."
    return f"Undetermined: from {low:.0f} to {high:.0f}, the sign changes with what a life is set at."


def normal_instrument(
    name: str, cost: float, values: Sequence[float], error_sd: float, edges: Sequence[float], unit: str = ""
) -> Diagnosis:
    """Make a diagnosis that reads a number with a normal error: `values` true in each state, `edges` split readings.

    Raises ValueError for an error that is not above 0, or edges that do not rise.

    >>> found = normal_instrument("drill", 300, (10.0, 20.0), 5.0, (15.0,), "cm")
    >>> [round(chance, 4) for chance in found.chance[0]]
    [0.8413, 0.1587]
    """
    if error_sd <= 0 or any(b <= a for a, b in pairwise(edges)):
        raise ValueError("error_sd: must be above 0, and edges must rise")
    bounds = [-math.inf, *edges, math.inf]
    chance = tuple(
        tuple(_below(b, true, error_sd) - _below(a, true, error_sd) for a, b in pairwise(bounds)) for true in values
    )
    names = tuple(_range(a, b, unit) for a, b in pairwise(bounds))
    return Diagnosis(name, cost, names, chance, f"normal, standard deviation {error_sd:g} {unit}".strip())


def _below(bound: float, mean: float, sd: float) -> float:
    return 0.5 * math.erfc((mean - bound) / (sd * math.sqrt(2)))


def _range(low: float, high: float, unit: str) -> str:
    if math.isinf(low):
        return "any" if math.isinf(high) else f"below {high:g} {unit}".strip()
    return f"from {low:g} {unit}".strip() if math.isinf(high) else f"{low:g} to {high:g} {unit}".strip()


def word_instrument(name: str, cost: float, words: Sequence[str], hit: float) -> Diagnosis:
    """Make a diagnosis that reads an ordered word: right with chance `hit`, else a neighbour, evenly.

    >>> word_instrument("drill", 300, ("improbable", "possible", "probable"), 0.8).chance[1]
    (0.1, 0.8, 0.1)
    """
    if not 0 < hit <= 1:
        raise ValueError("hit: must be more than 0 and at most 1")
    return Diagnosis(name, cost, tuple(words), spread(len(words), hit), f"right in {100 * hit:g} % of readings")


def spread(count: int, hit: float) -> tuple[tuple[float, ...], ...]:
    """Give rows (count, count): `hit` on the place itself, the rest evenly on its neighbours."""
    rows = []
    for place in range(count):
        beside = [other for other in (place - 1, place + 1) if 0 <= other < count]
        miss = round((1 - hit) / len(beside), 12) if beside else 0.0
        row = [miss if other in beside else 0.0 for other in range(count)]
        row[place] = 1 - sum(row) if not beside else hit
        rows.append(tuple(row))
    return tuple(rows)


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a value of information from a JSON request. Raises MethodProblem that names the wrong fields."""
    fields = Fields(request, "", FIELDS)
    states = fields.items("states", MOST, _state, least=2)
    if abs(sum(prior for _, prior in states) - 1) > SUM_TOLERANCE:
        raise fields.wrong("states", "must have priors that sum to 1")
    actions = fields.items("actions", MOST, lambda item, at: _action(item, at, len(states)), least=1)
    fields.needed("diagnosis")
    diagnosis = _diagnosis(fields, len(states))
    rate = fields.maybe("money_per_harm", 0, MOST_MONEY, above=True)
    problem = Problem(tuple(name for name, _ in states), tuple(prior for _, prior in states), actions)
    return as_json(study(problem, diagnosis, MONEY_PER_DEATH if rate is None else rate))


def _state(item: object, pointer: str) -> tuple[str, float]:
    one = Fields(item, pointer, ("name", "prior"))
    return one.text("name"), one.number("prior", 0, 1)


def _numbers(fields: Fields, name: str, count: int | None, least: float, most: float) -> tuple[float, ...]:
    found = fields.items(name, MOST, lambda item, at: number(item, at, least, most), least=1)
    if count is not None and len(found) != count:
        raise fields.wrong(name, f"must have one figure for each of the {count} states")
    return found


def _action(item: object, pointer: str, states: int) -> Action:
    one = Fields(item, pointer, ("name", "cost", "harm"))
    return Action(one.text("name"), one.number("cost", 0, MOST_MONEY), _numbers(one, "harm", states, 0, 1000))


def _diagnosis(fields: Fields, states: int) -> Diagnosis:
    one = fields.inner("diagnosis", ("name", "cost", "readings", "values", "error_sd", "edges", "unit"))
    name, cost = one.text("name"), one.number("cost", 0, MOST_MONEY)
    if one.has("readings"):
        given = [other for other in ("values", "error_sd", "edges") if one.has(other)]
        if given:
            raise one.wrong(given[0], "is given beside readings: give one form")
        return _by_readings(one, name, cost, states)
    values = _numbers(one, "values", states, -1e6, 1e6)
    edges = _numbers(one, "edges", None, -1e6, 1e6)
    if any(b <= a for a, b in pairwise(edges)):
        raise one.wrong("edges", "must rise")
    unit = one.text("unit", 20) if one.has("unit") else ""
    return normal_instrument(name, cost, values, one.number("error_sd", 0, 1e6, above=True), edges, unit)


def _by_readings(one: Fields, name: str, cost: float, states: int) -> Diagnosis:
    readings = one.items("readings", MOST, lambda item, at: _reading(item, at, states), least=1)
    rows = tuple(zip(*(chances for _, chances in readings), strict=True))
    for place, row in enumerate(rows):
        if abs(sum(row) - 1) > SUM_TOLERANCE:
            raise MethodProblem(one.at("readings"), f"must have chances that sum to 1 in each state; state {place} not")
    return Diagnosis(name, cost, tuple(word for word, _ in readings), rows, "as given")


def _reading(item: object, pointer: str, states: int) -> tuple[str, tuple[float, ...]]:
    one = Fields(item, pointer, ("name", "chance_by_state"))
    return one.text("name"), _numbers(one, "chance_by_state", states, 0, 1)


def as_json(found: Study) -> dict[str, Any]:
    """Say a study in the contract's words; money rounded to hundredths."""
    return {
        "verdict": found.verdict,
        "says": found.says,
        "cost": found.diagnosis.cost,
        "instrument_error": found.diagnosis.error,
        "values": [_value_json(one) for one in found.values],
        "plan": [row for one in found.values for row in _plan_json(one)],
        "notes": list(NOTES),
        "method": METHOD,
        "version": VERSION,
    }


def _value_json(one: Value) -> dict[str, Any]:
    return {
        "money_per_harm": one.money_per_harm,
        "action_now": one.action_now,
        "loss_now": round(one.loss_now, 2),
        "loss_after": round(one.loss_after, 2),
        "gross": round(one.gross, 2),
        "net": round(one.net, 2),
    }


def _plan_json(one: Value) -> list[dict[str, Any]]:
    """Say what each reading would lead to at one exchange rate."""
    return [
        {
            "money_per_harm": one.money_per_harm,
            "reading": planned.reading,
            "chance": round(planned.chance, 6),
            "action": planned.action,
            "loss": round(planned.loss, 2),
        }
        for planned in one.plan
    ]
