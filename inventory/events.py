"""Domain events: recorded with the change they tell of, stamped in order after commit, read by position."""

import uuid
from typing import Any

from django.db import connection, transaction

from inventory.history import Author
from inventory.models import Event
from inventory.statements import statement

# Any number that nothing else in this database locks.
STAMP_LOCK = 7_316_001


def record(
    author: Author,
    kind: str,
    subject: str,
    subject_uid: uuid.UUID | None = None,
    *,
    tree_id: int | None = None,
    data: dict[str, Any] | None = None,
) -> Event:
    """Write the news of the current transaction. `kind` is `noun.verb`, as in `inspection.recorded`."""
    return Event.objects.create(
        kind=kind,
        subject=subject,
        subject_uid=subject_uid,
        tree_id=tree_id,
        data=data or {},
        actor_id=author.user_id,
        request=author.request,
    )


def stamp() -> int:
    """Give every committed event that has none its position; return how many were stamped.

    Ids are given before commit, so a lower id may appear later: a reader by id would miss it. Positions are
    given after commit, by one writer at a time, so a reader by position misses none.
    """
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [STAMP_LOCK])
        cursor.execute(statement("inventory", "stamp_events"))
        return int(cursor.rowcount)


def since(position: int, limit: int = 500) -> list[Event]:
    """Return the events after a position, in order, `limit` at most."""
    return list(Event.objects.filter(position__gt=position).order_by("position")[:limit])
