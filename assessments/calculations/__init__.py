"""Every stateless calculation in one registry: name, schemas, example, cautions; read, run, and refused alike.

The REST interface, `manage.py calculate` and the pages all come through here.
"""

import json
from typing import Any, Final

from assessments.methods.policy import Policy
from assessments.methods.problems import MethodProblem
from inventory.problems import FieldProblem, Invalid, Missing, Refusal

from . import decay_rule, pieces, risks, section, stem_load, wind, worth
from .kind import ADVICE, Kind, Worked

__all__ = ["ADVICE", "KINDS", "Kind", "NotJson", "Worked", "kind", "parse", "picture", "run"]

KINDS: Final[dict[str, Kind]] = {
    one.name: one
    for one in (
        section.KIND, stem_load.KIND, pieces.LOG_MASS, pieces.SUPPORT, risks.ROOT_ZONE, risks.DECAY_GROWTH,
        risks.LIKELIHOOD, risks.RISK, worth.APPRAISAL, worth.PRESENT_VALUE, worth.GROWTH, worth.INFORMATION_VALUE,
    )
}  # fmt: skip


class NotJson(Refusal):
    """What was sent cannot be read as JSON."""

    kind = "unreadable"
    title = "The body cannot be read"


def kind(name: str) -> Kind:
    """Give a kind by its name. Raises Missing, naming those there are."""
    if name not in KINDS:
        raise Missing(f"there is no calculation of that name; there are {', '.join(KINDS)}")
    return KINDS[name]


def run(one: Kind, request: Any, policy: Policy | None = None) -> Worked:
    """Run a calculation on a parsed request. Raises Invalid naming each wrong field by JSON pointer.

    `policy`: the city's, whose wind and whose threshold of decay stand in where the request says nothing of them; the
    answer's notes say so.

    >>> words = {"likelihood_of_failure": "probable", "likelihood_of_impact": "high", "consequences": "severe"}
    >>> run(kind("risk"), words).answer["risk"]
    'high'
    """
    filled, said = _with_city(one, request, policy) if policy else (request, [])
    try:
        worked = one.work(filled)
        if said:
            worked.answer["notes"] = [*worked.answer["notes"], *said]
        return worked
    except MethodProblem as problem:
        raise _invalid(problem) from problem


def _with_city(one: Kind, request: Any, policy: Policy) -> tuple[Any, list[str]]:
    filled, of_wind = wind.with_city_wind(one.name, request, policy)
    filled, of_decay = decay_rule.with_city_rule(one.name, filled, policy)
    return filled, of_wind + of_decay


def picture(worked: Worked) -> str | None:
    """Draw an answer as SVG; None where there is nothing to draw. Raises Invalid as `run` does."""
    try:
        return None if worked.draw is None else worked.draw()
    except MethodProblem as problem:
        raise _invalid(problem) from problem


def _invalid(problem: MethodProblem) -> Invalid:
    return Invalid.fields(FieldProblem(f"#{field.pointer}", field.detail) for field in problem.fields)


def parse(text: str) -> Any:
    """Read JSON; NaN, Infinity and 1e400 are let through, so that the method can name the field that holds them.

    Raises NotJson for what is no JSON, has a member twice, is nested too deeply or holds half a surrogate pair.
    """
    try:
        found = json.loads(text, object_pairs_hook=_once)
        if "\\ud" in text.lower():
            json.dumps(found, ensure_ascii=False).encode()
    except RecursionError as error:
        raise NotJson("the JSON is nested too deeply") from error
    except ValueError as error:
        raise NotJson(f"it is not valid JSON: {str(error)[:200]}") from error
    return found


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"member {twice[:40]!r} stands there twice")
    return found
