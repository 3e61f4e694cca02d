"""What is sent of options and decisions, read strictly into records."""

from decimal import Decimal
from typing import Any, Final

from rest_framework import serializers

from api.http.fields import Body, Day, Number, Text, Uid, Word
from api.rest.inspection_bodies import AskedCheckBody
from assessments.methods import risk
from assessments.option_records import DecisionRecord, OptionRecord, Residual
from assessments.records import AskedCheck

MOST_COST: Final = 1e9


def _many(body: Any, most: int, **options: Any) -> Any:
    """A list of parts that may be left out or null."""
    return body(many=True, required=False, allow_null=True, max_length=most, **options)


class ResidualBody(Body):
    """The risk that remains of one rating of the inspection, as the arborist judges."""

    rating = Uid()
    failure = Word(risk.FAILURE)
    impact = Word(risk.IMPACT)
    consequences = Word(risk.CONSEQUENCES)


class OptionEdit(Body):
    """What the arborist states of an option; a member left out stays, null goes back to the method's figure."""

    note = Text(required=False, allow_blank=True)
    act_by = Day(required=False, allow_null=True)
    own_cost = Number(
        required=False, allow_null=True, min_value=0, max_value=MOST_COST, help_text="In the municipality's currency."
    )
    own_crew_hours = Number(required=False, allow_null=True, min_value=0, max_value=100_000)
    own_residual = _many(ResidualBody, 200)
    own_why = Text(required=False, allow_blank=True, help_text="Why it differs; needed with any member own_*.")
    dropped_why = Text(required=False, allow_blank=True, help_text="Drops it with a reason; empty: takes it back.")


class OptionBody(OptionEdit):
    """An option that the arborist adds; the client makes the `uid`."""

    dropped_why = None  # type: ignore[assignment]
    uid = Uid()
    kind = Text(max_length=60, help_text="A kind of GET /api/v1/option-kinds.")
    parameters = serializers.DictField(required=False, default=dict)


def changes(data: dict[str, Any]) -> dict[str, Any]:
    """The members of a checked edit as the service takes them."""
    found = dict(data)
    if found.get("own_cost") is not None:
        found["own_cost"] = Decimal(str(found["own_cost"])).quantize(Decimal("0.01"))
    if found.get("own_residual") is not None:
        found["own_residual"] = tuple(Residual(**one) for one in found["own_residual"])
    return found


def option_record(data: dict[str, Any]) -> OptionRecord:
    """The record of a checked option."""
    return OptionRecord(**changes(data))


class DecisionBody(Body):
    """Who decided for an option, when and why. The client makes the `uid`."""

    uid = Uid()
    option = Uid(help_text="The option that was chosen, of an inspection of this tree.")
    decided_on = Day()
    decided_by = Text(max_length=200, help_text="Name of the owner or who acts for it.")
    office = Text(max_length=200)
    why = Text()
    conditions = Text(required=False, allow_blank=True, default="")
    accepted_risk = Text(
        required=False,
        allow_blank=True,
        default="",
        help_text="Where a known defect is kept: the risk that is accepted, in words.",
    )
    ends_on = Day(required=False, allow_null=True, default=None, help_text="Last day; then it is to be decided anew.")
    act_by = Day(required=False, allow_null=True, default=None)
    checks = _many(
        AskedCheckBody,
        50,
        default=None,
        help_text="Checks that it commits to; left out or null: those of the option.",
    )


def decision_record(data: dict[str, Any]) -> DecisionRecord:
    """The record of a checked decision, without its option."""
    said = {name: value for name, value in data.items() if name != "option"}
    checks = said.pop("checks")
    return DecisionRecord(**said, checks=None if checks is None else tuple(AskedCheck(**one) for one in checks))
