"""Options worked out: what the methods say of each, with and without the arborist's figures, and of all together."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from assessments.methods import information, options
from assessments.methods.options import Case, Choice
from assessments.methods.options import Option as Built
from assessments.methods.options.compare import METHOD as COMPARING
from assessments.methods.options.compare import VERSION as COMPARING_VERSION
from assessments.models import Inspection, Option, OptionComparison

# What the method said where the arborist states something else.
_SAID: Final = ("cost_now", "crew_hours", "present_value", "risk", "residual")
METHODS: Final = (
    f"{options.METHOD}/{options.VERSION} {COMPARING}/{COMPARING_VERSION} {information.METHOD}/{information.VERSION}"
)


@dataclass(frozen=True)
class Studied:
    """One option worked out: the row, the method's own object, and all that is kept of it as JSON."""

    row: Option
    built: Built
    result: dict[str, Any]

    @property
    def methods(self) -> str:
        """The methods that it rests on, each with its version."""
        return " ".join(self.built.methods)


def choice_of(row: Option, whole: Inspection, *, own: bool = True) -> Choice:
    """The choice of a row; ratings are named by their place. Raises MethodProblem."""
    place = {str(one.uid): number for number, one in enumerate(whole.ratings.all())}
    stated: dict[str, Any] = {}
    if own and row.own_cost is not None:
        stated["cost_now"] = float(row.own_cost)
    if own and row.own_crew_hours is not None:
        stated["crew_hours"] = row.own_crew_hours
    if own and row.own_residual:
        stated["residual"] = [{**one, "rating": place[one["rating"]]} for one in row.own_residual]
    return options.read_choice(row.kind, row.parameters, stated)


def studied(case: Case, row: Option, whole: Inspection) -> Studied:
    """Work an option out as the arborist has it; beside it what the method alone says. Raises MethodProblem."""
    built = options.build(case, choice_of(row, whole))
    result = _with_uids(options.as_json(built), whole)
    result["access"] = case.site.access
    result["currency"] = case.rates.currency
    if row.own_cost is not None or row.own_crew_hours is not None or row.own_residual:
        alone = _with_uids(options.as_json(options.build(case, choice_of(row, whole, own=False))), whole)
        result["method_said"] = {name: alone[name] for name in _SAID}
    return Studied(row, built, result)


def _with_uids(said: dict[str, Any], whole: Inspection) -> dict[str, Any]:
    """Name each rating by its uid, and its target's, beside its place."""
    ratings = list(whole.ratings.all())
    targets = {one.pk: str(one.uid) for one in whole.targets.all()}
    residual = [
        {
            **one,
            "rating_uid": str(ratings[one["rating"]].uid),
            "target_uid": targets[ratings[one["rating"]].target_id],
        }
        for one in said["residual"]
    ]
    return {**said, "residual": residual}


def compared(whole: Inspection, case: Case, found: Sequence[Studied]) -> OptionComparison:
    """All options side by side, none selected, and what a further diagnosis is worth; a row not yet saved."""
    rows = options.compared_as_json([one.built for one in found])
    uids = [str(one.row.uid) for one in found]
    side_by_side = [
        {**row, "option": uid, "key": one.row.key, "dominated_by": [uids[place] for place in row["dominated_by"]]}
        for row, uid, one in zip(rows, uids, found, strict=True)
    ]
    study = options.value_of_diagnosis(case, [one.built for one in found]) if found else None
    result = {
        "options": side_by_side,
        "information": information.as_json(study) if study else None,
        "currency": case.rates.currency,
        "risk": case.risk,
    }
    return OptionComparison(inspection=whole, methods=METHODS, result=result)
