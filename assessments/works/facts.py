"""The facts of an item as its rules want them, and the answer to a fact that was sent before."""

import uuid
from typing import TypeVar

from django.db import IntegrityError

from assessments.works import rules
from assessments.works.models import ItemReport, OrderItem, Verification
from inventory.history import Author
from inventory.problems import Conflict

Fact = TypeVar("Fact", ItemReport, Verification)


def reported(item: OrderItem) -> list[rules.Reported]:
    """All reports of an item."""
    rows = item.reports.values_list("outcome", "worked_at", "disputed")
    return [rules.Reported(outcome, at, bool(disputed)) for outcome, at, disputed in rows]


def judged(item: OrderItem) -> list[rules.Judged]:
    """All verdicts on an item."""
    return [rules.Judged(*row) for row in item.verifications.values_list("verdict", "verified_at")]


def known(model: type[Fact], uid: uuid.UUID, content_sha256: str) -> Fact | None:
    """The stored fact of this uid. Raises Conflict where it says something else."""
    found = model._default_manager.filter(uid=uid).first()
    if found is not None and found.content_sha256 != content_sha256:
        raise Conflict(f"uid {uid} was used for another content")
    return found


def store(fact: ItemReport | Verification) -> None:
    """Insert a fact. Raises Conflict where its uid was taken meanwhile, for another item."""
    try:
        fact.save(force_insert=True)
    except IntegrityError as error:
        if "_uid_key" in str(error):
            raise Conflict(f"uid {fact.uid} was used for another content") from error
        raise
    fact.refresh_from_db(fields=["received_at"])


def person_id(author: Author) -> int:
    """The person who states a fact. Raises ValueError for the service itself: facts have an author."""
    if author.user_id is None:
        raise ValueError("a report or verdict is a person's")
    return author.user_id
