"""Attributed, append-only history: the only way to write a tracked row is inside `acting()`.

A statement trigger copies each inserted, changed or deleted row to an event table and refuses the write where
no actor is set, so COPY, bulk and raw SQL are attributed like everything else. Append-only is the GRANT.
"""

import itertools
import json
import uuid
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from typing import TypeVar

import pghistory
import pghistory.models
import pgtrigger
from django.contrib.gis.db.models import GeometryField
from django.db import connection, models, transaction

M = TypeVar("M", bound=type[models.Model])
# Tells the acts of one transaction apart in time: they share its instant, and come from one process.
_numbers = itertools.count(1)


class HistoryRow(pghistory.models.Event):
    """Base of every event table: a 64-bit key, no index but the ones that history is asked by."""

    pgh_id = models.BigAutoField(primary_key=True)

    class Meta:
        abstract = True


def track(model_name: str, table: str) -> Callable[[M], M]:
    """Decorate a model so that its rows keep their history in `table`.

    Statement-level triggers; generated columns are left out; foreign keys and points carry no index there.
    """

    def wrap(model: M) -> M:
        kept = [f.name for f in model._meta.local_fields if not isinstance(f, models.GeneratedField)]
        event_model = pghistory.create_event_model(
            model,
            pghistory.InsertEvent(trigger_name="keep_insert"),
            pghistory.UpdateEvent(trigger_name="keep_update"),
            pghistory.DeleteEvent(trigger_name="keep_delete"),
            fields=kept,
            abstract=False,
            model_name=model_name,
            base_model=HistoryRow,
            level=pgtrigger.Statement,
            context_field=pghistory.ContextForeignKey(null=False, related_name="+", related_query_name="+"),
            obj_field=pghistory.ObjForeignKey(related_name="past", related_query_name="past"),
            meta={"db_table": table, "indexes": []},
        )
        _drop_indexes(event_model)
        return model

    return wrap


def _drop_indexes(event_model: type[models.Model]) -> None:
    """History is read by object and by act only; every other index would slow each write."""
    for field in event_model._meta.local_fields:
        if isinstance(field, GeometryField):
            field.spatial_index = False
        elif not field.name.startswith("pgh_"):
            field.db_index = False  # type: ignore[attr-defined]


def versioned(*generated: str) -> pgtrigger.Trigger:
    """The one trigger that bumps `version` on every change of a row; an update that changes nothing bumps nothing.

    `generated`: the row's generated columns, which a BEFORE trigger cannot see.
    """
    return pgtrigger.Trigger(
        name="bump_version",
        when=pgtrigger.Before,
        operation=pgtrigger.Update,
        condition=pgtrigger.AnyChange(exclude=list(generated)) if generated else pgtrigger.AnyChange(),
        func="NEW.version := OLD.version + 1; RETURN NEW;",
    )


@dataclass(frozen=True)
class Author:
    """Who writes: a user (None: the service itself) and the request that asked for it."""

    user_id: int | None
    request: str = ""

    def acting(self, why: str, mark: str = "") -> AbstractContextManager[uuid.UUID]:
        """Open the transaction in which this author writes, for the given reason; `mark` as in `acting`."""
        return acting(self.user_id, why, self.request, mark)


SERVICE = Author(user_id=None)


@contextmanager
def acting(user_id: int | None, why: str, request: str = "", mark: str = "") -> Iterator[uuid.UUID]:
    """Open a transaction whose writes are attributed to `user_id` (None: the service itself), with the reason.

    `mark`: by which code knows its own acts again, never a user's words, as the reason may be.
    Nested calls open a savepoint and attribute their own writes; the outer act is restored afterwards.
    Raises ValueError where no reason is given.
    """
    if not why.strip():
        raise ValueError("why: say why this is written")
    act = uuid.uuid4()
    about = {"user": user_id, "why": why, "request": request, "number": next(_numbers)}
    with transaction.atomic():
        before = _swap(str(act), json.dumps(about | ({"mark": mark} if mark else {})))
        yield act
        # After an exception the transaction or savepoint is rolled back, and with it this setting.
        _swap(*before)


def _swap(act: str, about: str) -> tuple[str, str]:
    """Set the act of this transaction and return the one that was set before."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT coalesce(current_setting('pghistory.context_id', true), ''),"
            " coalesce(current_setting('pghistory.context_metadata', true), '')"
        )
        before = cursor.fetchone()
        cursor.execute(
            "SELECT set_config('pghistory.context_id', %s, true), set_config('pghistory.context_metadata', %s, true)",
            [act, about],
        )
    return str(before[0]), str(before[1])
