"""Rules of options and decisions: what stays at risk, what a decision must say, what it commits to."""

import json
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

from django.db.models import Prefetch, QuerySet

from assessments.methods import risk
from assessments.methods.harm import MAX_FRAME_YEARS
from assessments.methods.options.propose import months_on
from assessments.models import Decision, Option, OptionEstimate, required_check
from assessments.option_records import DecisionRecord
from assessments.records import AskedCheck
from inventory.problems import FieldProblem

Problems = Iterator[FieldProblem]

# A tree that is felled keeps no defect.
REMOVING: Final = ("remove_and_replant",)
# Whoever keeps a tree at such a risk, or at one that nobody stated, signs for it until a day. Project's choice.
SIGNED_FOR: Final = ("moderate", "high", "extreme", "")
# No longer than the longest time for which a risk is rated.
LONGEST_YEARS: Final = MAX_FRAME_YEARS
# More on the table than this helps nobody to choose, and each is worked out with every change. Project's choice.
MOST_ON_TABLE: Final = 24


def key(kind: str, parameters: Mapping[str, Any]) -> str:
    """What tells an option of an inspection from the others: its kind, and what is set of it."""
    said = {name: _plain(value) for name, value in parameters.items() if value is not None}
    if not said:
        return kind
    return f"{kind} {json.dumps(said, sort_keys=True, separators=(',', ':'))}"[:300]


def _plain(value: Any) -> Any:
    """One spelling of what is set: 15.0 is 15, and places are a set."""
    if isinstance(value, list) and all(isinstance(item, int | float) for item in value):
        return sorted({_plain(item) for item in value})
    return int(value) if isinstance(value, float) and value.is_integer() else value


def says_something(text: str) -> bool:
    """Whether a text holds a letter or a digit: signs that no line shows are no words."""
    return any(sign.isalnum() for sign in text)


def with_estimates(rows: QuerySet[Option]) -> QuerySet[Option]:
    """Options with what was said of them, the newest first, and their inspection and tree."""
    estimates = Prefetch("estimates", OptionEstimate.objects.order_by("-pk"))
    return rows.select_related("inspection__tree", "added_by").prefetch_related(estimates)


def newest(option: Option) -> OptionEstimate | None:
    """What was said of an option last, None where no method said anything."""
    return next(iter(option.estimates.all()), None)


def said(option: Option) -> Mapping[str, Any]:
    """The newest estimate as JSON, empty where there is none."""
    found = newest(option)
    return found.result if found else {}


def residual(option: Option) -> list[dict[str, Any]]:
    """The words of risk that remain by rating, those that the arborist states among them."""
    return list(said(option).get("residual", ()))


def residual_risk(option: Option) -> str:
    """The worst risk that remains, empty where nothing says so."""
    left = residual(option)
    if option.kind in REMOVING and not left:
        return "low"
    return risk.worst([risk.rate(one["failure"], one["impact"], one["consequences"]) for one in left])


def must_be_signed(option: Option) -> bool:
    """Whether choosing the option keeps a tree with a risk that somebody must accept in words, until a day."""
    return option.kind not in REMOVING and residual_risk(option) in SIGNED_FOR


def checks_of(option: Option, record: DecisionRecord) -> tuple[AskedCheck, ...]:
    """The checks that a decision asks for: those it names, else those that the option commits to."""
    if record.checks is not None:
        return record.checks
    return tuple(
        AskedCheck(one["kind"], date.fromisoformat(one["due_on"]), one["why"])
        for one in said(option).get("checks", ())
        if one["due_on"] >= record.decided_on.isoformat()
    )


def decision_problems(
    option: Option, record: DecisionRecord, checks: tuple[AskedCheck, ...], today: date
) -> list[FieldProblem]:
    """Everything that is wrong with a decision by itself, with JSON pointers into what was sent."""
    return [
        *_texts(record),
        *_days(option, record, today),
        *_acceptance(option, record),
        *_checks(record, checks),
    ]


def _texts(record: DecisionRecord) -> Problems:
    for name, detail in (
        ("decided_by", "say who decided"),
        ("office", "say for which office"),
        ("why", "say why this was decided"),
    ):
        if not says_something(getattr(record, name)):
            yield FieldProblem(f"#/{name}", detail)


def _days(option: Option, record: DecisionRecord, today: date) -> Problems:
    if record.decided_on > today:
        yield FieldProblem("#/decided_on", f"{record.decided_on.isoformat()} lies in the future")
    seen = option.inspection.inspected_on
    if record.decided_on < seen:
        yield FieldProblem("#/decided_on", f"lies before the inspection of {seen.isoformat()} that it rests on")
    for name in ("ends_on", "act_by"):
        day = getattr(record, name)
        if day is not None and day < record.decided_on:
            yield FieldProblem(f"#/{name}", "lies before the decision")


def _acceptance(option: Option, record: DecisionRecord) -> Problems:
    signed = must_be_signed(option)
    if signed and not says_something(record.accepted_risk):
        stays = residual_risk(option) or "unstated"
        yield FieldProblem("#/accepted_risk", f"the risk that stays is {stays}: say in words what is accepted")
    if not (signed or record.accepted_risk.strip()):
        return
    if record.ends_on is None:
        yield FieldProblem("#/ends_on", "say until when the risk is accepted")
    elif record.ends_on > _longest(record.decided_on):
        detail = f"a risk is accepted for {LONGEST_YEARS} years at most, the longest time that it is rated for"
        yield FieldProblem("#/ends_on", detail)


def _longest(day: date) -> date:
    return months_on(day, 12 * LONGEST_YEARS)


def _checks(record: DecisionRecord, checks: tuple[AskedCheck, ...]) -> Problems:
    for place, one in enumerate(checks):
        pointer = f"#/checks/{place}"
        if one.kind not in required_check.ASKED_KINDS:
            yield FieldProblem(f"{pointer}/kind", f"must be one of {', '.join(required_check.ASKED_KINDS)}")
        if not says_something(one.why):
            yield FieldProblem(f"{pointer}/why", "say why it must be seen again")
        if one.due_on < record.decided_on:
            yield FieldProblem(f"{pointer}/due_on", "is due before the decision that asks for it")


def end_reason(decision: Decision) -> str:
    """Why a tree is due when the conditions of a decision lapse."""
    what = "the risk was accepted" if decision.accepted_risk else "the decision holds"
    return f"until this day {what} ({decision.decided_by}, {decision.decided_on.isoformat()}): decide anew"


def snapshot(option: Option) -> dict[str, Any]:
    """The option as it is now, as JSON: what a decision keeps of it."""
    found = newest(option)
    return {
        "kind": option.kind,
        "key": option.key,
        "parameters": option.parameters,
        "note": option.note,
        "act_by": option.act_by.isoformat() if option.act_by else None,
        "own_cost": str(option.own_cost) if option.own_cost is not None else None,
        "own_crew_hours": option.own_crew_hours,
        "own_residual": option.own_residual,
        "own_why": option.own_why,
        "version": option.version,
        "residual": residual(option),
        "residual_risk": residual_risk(option),
        "estimate": found
        and {
            "methods": found.methods,
            "rate_card_version": found.rate_card_version,
            "computed_at": found.computed_at.isoformat(),
            "result": found.result,
        },
    }
