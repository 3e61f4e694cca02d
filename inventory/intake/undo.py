"""Takes a load back, while nothing builds on it: its trees go, the load stays as undone, history tells of both."""

import uuid
from typing import Any

from django.db import connection, models
from django.utils import timezone

from inventory import events
from inventory.history import Author
from inventory.intake.load import LOAD_LOCK
from inventory.intake.merge import back, untouched
from inventory.intake.progress import Progress, silent
from inventory.intake.settled_acts import settled_acts
from inventory.models import IntakeLoad, IntakeMerge, Measurement, Site, Tree
from inventory.problems import Conflict, Missing
from inventory.statements import statement


def undo(author: Author, uid: uuid.UUID, progress: Progress = silent) -> IntakeLoad:
    """Delete what a load brought in, and put back what it changed where it was a merge.

    Raises Missing, Conflict that names what was built on it since, or Cancelled.
    """
    with author.acting("intake undone") as act, connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOAD_LOCK])
        load = IntakeLoad.objects.select_for_update().filter(uid=uid).first()
        if load is None:
            raise Missing(f"there is no load {uid}")
        if load.state == "undone":
            raise Conflict("this load was undone already")
        merge = IntakeMerge.objects.filter(load=load).first()
        _require_nothing_built(load, merge, progress)
        _take_back(load, merge, act, progress)
        load.state, load.undone_at, load.undone_by_id = "undone", timezone.now(), author.user_id
        load.save(update_fields=["state", "undone_at", "undone_by"])
        events.record(author, "intake.undone", "intake_load", load.uid, data={"counts": load.counts})
    return load


def _require_nothing_built(load: IntakeLoad, merge: IntakeMerge | None, progress: Progress) -> None:
    progress(0, None, "looking for what builds on it")
    # Whoever is about to edit one of the trees, or to record something on it, waits until this is done.
    untouched.lock_load(load.pk, merge)
    built = builds_on(load) | (back.changed_since(merge) if merge else {})
    if built:
        told = ", ".join(f"{count:,} {what}" for what, count in built.items())
        raise Conflict(f"the load cannot be undone: on its trees there are {told}")


def _take_back(load: IntakeLoad, merge: IntakeMerge | None, act: uuid.UUID, progress: Progress) -> None:
    measured = back.measured(merge) if merge else []
    _delete(load, progress)
    if merge:
        back.put_back(merge, measured, progress)
        merge.state, merge.undo_act = "undone", act
        merge.save(update_fields=["state", "undo_act"])


def builds_on(load: IntakeLoad) -> dict[str, int]:
    """What was written since on the trees and sites of a load, and how much of each; empty where nothing was."""
    found = {
        "trees changed since": _changed("tree", load),
        "sites changed since": _changed("site", load),
    }
    for relation in _relations():
        rows = _rows(relation, load)
        if relation.on_delete in (models.PROTECT, models.RESTRICT):
            found[str(relation.related_model._meta.verbose_name_plural)] = rows.count()
    return {what: count for what, count in found.items() if count}


def _changed(table: str, load: IntakeLoad) -> int:
    """How many rows of a load were changed since; neither settling nor a merge that was put back counts."""
    with connection.cursor() as cursor:
        sql = statement("inventory", "changed_by_hand").replace("table_name", table)
        cursor.execute(sql, {"load": load.pk, "undone": back.undone_acts() + settled_acts()})
        return int(cursor.fetchone()[0])


def _relations() -> list[Any]:
    """Every foreign key to a tree or a site, whichever app it is of: this room knows none of them by name."""
    # Hidden ones too: those that a model declares without a way back, as the events do.
    fields = [field for model in (Tree, Site) for field in model._meta.get_fields(include_hidden=True)]
    return [field for field in fields if field.auto_created and (field.one_to_many or field.one_to_one)]


def _rows(relation: Any, load: IntakeLoad) -> "models.QuerySet[Any]":
    """The rows of a relation that point to this load, without those that the load itself brought in."""
    rows = relation.related_model._base_manager.filter(**{f"{relation.field.name}__intake_load": load})
    if relation.related_model in (Measurement, Tree):
        rows = rows.exclude(intake_load=load)
    return rows  # type: ignore[no-any-return]


def _delete(load: IntakeLoad, progress: Progress) -> None:
    for relation in _relations():
        progress(0, None, "taking back")
        if relation.on_delete is models.CASCADE:
            _rows(relation, load)._raw_delete("default")
        elif relation.on_delete is models.SET_NULL:
            _rows(relation, load).update(**{relation.field.name: None})
    for model in (Measurement, Tree, Site):
        progress(0, None, f"taking {model._meta.verbose_name_plural} back")
        model.objects.filter(intake_load=load)._raw_delete("default")
