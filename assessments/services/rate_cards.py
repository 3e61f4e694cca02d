"""The rate card: each version is kept, the newest one is in force."""

from collections.abc import Mapping
from typing import Any, Final

from django.db import connection, transaction

from assessments.methods import rate_card as methods
from assessments.methods.problems import MethodProblem
from assessments.models import RateCard
from inventory import events, queries
from inventory.history import Author
from inventory.problems import FieldProblem, Invalid

# Any number that nothing else in this database locks.
RATE_CARD_LOCK: Final = 7_316_013


def adopt_rate_card(author: Author, data: Mapping[str, Any], why: str) -> RateCard:
    """Store a new version of the card, in the currency of the municipality. The service numbers it.

    Options keep what an older card said of them until they are proposed anew. Raises Invalid, naming the wrong value,
    or where no reason is given.
    """
    if not why.strip():
        raise Invalid.field("#/why", "say why the rate card is changed")
    with transaction.atomic():
        _lock()
        newest = RateCard.objects.order_by("-version").values_list("version", flat=True).first()
        version = (newest or 0) + 1
        numbered = {**data, "version": str(version)}
        _check(numbered)
        card = RateCard.objects.create(version=version, data=numbered, why=why, adopted_by_id=author.user_id)
        events.record(author, "rate_card.adopted", "rate_card", data={"version": version, "why": why})
    return card


def _lock() -> None:
    """One adoption at a time."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [RATE_CARD_LOCK])


def _check(data: Mapping[str, Any]) -> None:
    try:
        card = methods.RateCard.from_data(data)
    except MethodProblem as problem:
        raise Invalid.fields(FieldProblem(f"#/rate_card{one.pointer}", one.detail) for one in problem.fields) from None
    currency = queries.municipality().currency
    if card.currency != currency:
        raise Invalid.field("#/rate_card/currency", f"the municipality counts in {currency}")
