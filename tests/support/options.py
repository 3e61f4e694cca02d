"""Builders for options and decisions: an option with a made-up estimate, and records with the least that is allowed."""

import uuid
from datetime import date
from typing import Any

from assessments import services
from assessments.models import Decision, Inspection, Option, OptionEstimate
from assessments.option_records import DecisionRecord
from inventory.history import SERVICE, Author
from inventory.models import Tree
from tests.support import inspections
from tests.support.inspections import TODAY, WORDS


def option(
    inspection: Inspection, kind: str = "retain_and_monitor", stays: str = "low", *, key: str = "", **result: Any
) -> Option:
    """An option of an inspection after which a risk class stays for its first target, with an estimate of ours."""
    failure, impact, consequences = WORDS[stays]
    target = inspection.targets.order_by("pk").first()
    words = {"failure": failure, "impact": impact, "consequences": consequences}
    residual = [{"target": str(target.uid), **words}] if target else []
    with SERVICE.acting("options proposed"):
        made = Option.objects.create(inspection=inspection, kind=kind, key=key or kind, source="method")
        OptionEstimate.objects.create(
            option=made, methods="test/1", rate_card_version=0, result={"residual": residual} | result
        )
    return made


def chosen(tree: Tree, stays: str = "low", *, on: date = TODAY, risk: str = "high", **result: Any) -> Option:
    """An option of a new rated inspection of a tree."""
    return option(inspections.inspected(tree, inspections.rated(risk, on)), stays=stays, **result)


def record(on: date = TODAY, **fields: Any) -> DecisionRecord:
    """A decision by the head of parks."""
    return DecisionRecord(
        uid=fields.pop("uid", None) or uuid.uuid4(),
        decided_on=on,
        decided_by=fields.pop("decided_by", "Maren Holt"),
        office=fields.pop("office", "head of parks"),
        why=fields.pop("why", "the lime is to be kept"),
        **fields,
    )


def decided(option: Option, author: Author = SERVICE, today: date = TODAY, **fields: Any) -> Decision:
    """A recorded decision for an option."""
    return services.take_decision(author, option, record(**fields), today)[0]
