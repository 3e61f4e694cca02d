"""Options in: proposed by the methods, added, edited and dropped by the arborist; estimates and comparison beside."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Final

from assessments import cases, inputs, options
from assessments.cases import Terms
from assessments.methods import options as methods
from assessments.methods import rate_card
from assessments.methods.options import Case
from assessments.methods.problems import MethodProblem
from assessments.models import Inspection, Option, OptionEstimate, RateCard
from assessments.option_records import OptionRecord
from assessments.option_studies import Studied, compared, studied
from assessments.records import fingerprint
from inventory import events
from inventory.history import Author
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.problems import Conflict, FieldProblem, Invalid, Stale

EDITABLE: Final = ("note", "act_by", "own_cost", "own_crew_hours", "own_residual", "own_why", "dropped_why")
_POINTERS: Final = {
    "/own/cost_now": "#/own_cost",
    "/own/crew_hours": "#/own_crew_hours",
    "/own/residual": "#/own_residual",
    "/settings": "#/parameters",
    "/kind": "#/kind",
}


def terms(today: date, access: str = "ordinary") -> Terms:
    """By what options are worked out now: the rate card and the policy in force."""
    card = RateCard.objects.first()
    rates = rate_card.RateCard.from_data(card.data) if card else rate_card.default_rate_card()
    return Terms(rates, card.version if card else 0, inputs.policy_in_force()[1], today, access)


def propose_options(author: Author, inspection: Inspection, today: date, access: str = "") -> list[Option]:
    """Propose the alternatives that an inspection allows and work all out anew; nothing is preselected.

    What was proposed before is kept with what the arborist made of it, and what was dropped stays dropped. The same
    facts, rate card and day add nothing. `access`: a word of the rate card, else as before. Raises Invalid for another
    word, Conflict for a tree that no longer stands.
    """
    if access and access not in rate_card.ACCESS:
        raise Invalid.field("#/access", f"must be one of {', '.join(rate_card.ACCESS)}")
    with author.acting("options proposed"):
        whole = _held(inspection)
        by = terms(today, access or _access(whole))
        case = cases.case_of(whole, by)
        rows = _rows(whole)
        known = {row.key for row in rows}
        new = [one for one in methods.propose(case) if options.key(one.kind, {}) not in known]
        made = [
            Option(
                uid=uuid.uuid5(whole.uid, f"option/{one.kind}"),
                inspection=whole,
                kind=one.kind,
                key=options.key(one.kind, {}),
                source="method",
            )
            for one in new
        ]
        Option.objects.bulk_create(made)
        _study(whole, case, _rows(whole), by.rate_card_version)
        data = {"proposed": [one.kind for one in new]}
        events.record(author, "options.proposed", "inspection", whole.uid, tree_id=whole.tree_id, data=data)
    return _rows(whole)


def add_option(author: Author, inspection: Inspection, record: OptionRecord, today: date) -> tuple[Option, bool]:
    """Add an option of the arborist's; return it and whether it is new.

    The same uid and content give the stored one for ever. Raises Invalid naming what is wrong, Conflict for a uid with
    other content, an option that is there already, or a tree that no longer stands.
    """
    with author.acting("option added"):
        whole = _held(inspection, stands=False)
        sha256 = fingerprint(whole.uid, record)
        stored = Option.objects.filter(uid=record.uid).first()
        if stored is not None:
            return _same(stored, sha256), False
        _stands(whole)
        rows = _rows(whole)
        row = Option(
            uid=record.uid,
            content_sha256=sha256,
            inspection=whole,
            kind=record.kind,
            key=options.key(record.kind, record.parameters),
            parameters=dict(record.parameters),
            source="arborist",
            added_by_id=author.user_id,
        )
        _put(row, {name: getattr(record, name) for name in EDITABLE if name != "dropped_why"}, whole)
        if row.key in {one.key for one in rows}:
            raise Conflict(f"the option {row.key} is there already")
        _room(rows)
        by = terms(today, _access(whole))
        case = cases.case_of(whole, by)
        _built(case, row, whole)
        row.save(force_insert=True)
        _study(whole, case, _rows(whole), by.rate_card_version)
        events.record(author, "option.added", "option", row.uid, tree_id=whole.tree_id, data={"key": row.key})
    return row, True


def _same(stored: Option, sha256: str) -> Option:
    if stored.content_sha256 != sha256:
        raise Conflict(f"option {stored.uid} is recorded already with other content")
    return stored


def edit_option(author: Author, option: Option, changes: Mapping[str, Any], *, version: int, today: date) -> Option:
    """State something of an option in place of the method, with a reason, or drop it or take it back.

    What the method said stays beside it. Raises Stale where it was changed since, Invalid naming what is wrong.
    """
    unknown = sorted(set(changes) - set(EDITABLE))
    if unknown:
        raise Invalid.field(f"#/{unknown[0]}", "cannot be changed here")
    why = changes.get("dropped_why") or changes.get("own_why") or "option edited"
    with author.acting(str(why)[:500]):
        whole = _held(option.inspection)
        row = Option.objects.select_for_update().get(pk=option.pk)
        if row.version != version:
            raise Stale(f"you read version {version}; it is now version {row.version}")
        if row.dropped_why and changes.get("dropped_why") == "":
            _room(_rows(whole))
        _put(row, changes, whole)
        by = terms(today, _access(whole))
        case = cases.case_of(whole, by)
        _built(case, row, whole)
        row.save(update_fields=[*changes])
        _study(whole, case, _rows(whole), by.rate_card_version)
        kind = "option.dropped" if changes.get("dropped_why") else "option.edited"
        data = {"key": row.key, "fields": sorted(changes)}
        events.record(author, kind, "option", row.uid, tree_id=whole.tree_id, data=data)
    return row


def _held(inspection: Inspection, *, stands: bool = True) -> Inspection:
    """The inspection whole, its tree locked: of two who change its options, the later one sees the earlier one's."""
    Tree.objects.select_for_update(no_key=True).get(pk=inspection.tree_id)
    whole = cases.inspected(inspection.pk)
    if stands:
        _stands(whole)
    return whole


def _stands(whole: Inspection) -> None:
    if whole.tree.state not in STANDING:
        raise Conflict(f"the tree is {whole.tree.state}: there is nothing left to choose")


def _room(rows: Sequence[Option]) -> None:
    """Refuse one more option than can be set side by side. Raises Conflict."""
    if sum(not row.dropped_why for row in rows) >= options.MOST_ON_TABLE:
        raise Conflict(f"there are {options.MOST_ON_TABLE} options on the table: drop one first")


def _rows(whole: Inspection) -> list[Option]:
    return list(options.with_estimates(Option.objects.filter(inspection=whole)).order_by("pk"))


def _access(whole: Inspection) -> str:
    """How the tree is reached, as it was said last."""
    said = OptionEstimate.objects.filter(option__inspection=whole).order_by("-pk").values_list("result", flat=True)
    last = said.first()
    return str(last.get("access", "ordinary")) if last else "ordinary"


def _put(row: Option, changes: Mapping[str, Any], whole: Inspection) -> None:
    """Set what the arborist states. Raises Invalid where it states something without a reason."""
    for name, value in changes.items():
        if name == "own_residual" and value is not None:
            value = [{**asdict(one), "rating": str(one.rating)} for one in value]
        setattr(row, name, value)
    if row.act_by is not None and row.act_by < whole.inspected_on:
        raise Invalid.field("#/act_by", f"lies before the inspection of {whole.inspected_on.isoformat()}")
    stated = [name for name in ("own_cost", "own_crew_hours", "own_residual") if getattr(row, name) is not None]
    if stated and not options.says_something(row.own_why):
        raise Invalid.field("#/own_why", f"say why {stated[0]} differs from what the method says")
    known = {str(one.uid) for one in whole.ratings.all()}
    wrong = [place for place, one in enumerate(row.own_residual or ()) if one["rating"] not in known]
    if wrong:
        raise Invalid.field(f"#/own_residual/{wrong[0]}/rating", "there is no such rating of this inspection")


def _built(case: Case, row: Option, whole: Inspection) -> Studied:
    """Work one option out. Raises Invalid in the words of what was sent."""
    try:
        return studied(case, row, whole)
    except MethodProblem as problem:
        raise Invalid.fields(FieldProblem(_pointer(one.pointer), one.detail) for one in problem.fields) from problem


def _pointer(pointer: str) -> str:
    for mine, sent in _POINTERS.items():
        if pointer.startswith(mine):
            return sent + pointer[len(mine) :]
    return f"#{pointer}"


def _study(whole: Inspection, case: Case, rows: Sequence[Option], number: int) -> None:
    """Keep what the methods say of each option on the table and of all together, where it is news."""
    on_table = [row for row in rows if not row.dropped_why]
    found = [studied(case, row, whole) for row in on_table]
    news = [
        OptionEstimate(option=row, methods=one.methods, rate_card_version=number, result=one.result)
        for row, one in zip(on_table, found, strict=True)
        if (last := options.newest(row)) is None or (last.result, last.rate_card_version) != (one.result, number)
    ]
    OptionEstimate.objects.bulk_create(news)
    row = compared(whole, case, found)
    row.rate_card_version = number
    before = whole.option_comparisons.order_by("-pk").first()
    if before is None or (before.result, before.methods) != (row.result, row.methods):
        row.save(force_insert=True)
