"""Keeps what a survey and a check said: the notes of a survey by the file's content, the verdicts of a dry run."""

import uuid
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.db import connection, models, transaction
from django.db.models import QuerySet
from django.utils import timezone
from psycopg.types.json import Jsonb

from inventory.history import Author
from inventory.intake import mapping as mappings
from inventory.intake import queries
from inventory.intake.examine import Examination
from inventory.intake.mapping import Mapping
from inventory.intake.progress import Progress
from inventory.intake.read import Source
from inventory.intake.survey import Survey
from inventory.models import IntakeCheck, IntakeCheckRow, IntakeMerge, IntakeSurvey
from inventory.problems import Missing

# Dry runs are scratch: the newest so many stay, for so long (the project's choice).
NEWEST = 20
KEPT_FOR = timedelta(days=14)


def keep_notes(survey: Survey, sha256: str) -> None:
    """Keep what a survey found out, for the load of the same content."""
    IntakeSurvey.objects.update_or_create(
        file_sha256=sha256, defaults={"notes": notes(survey), "surveyed_at": timezone.now()}
    )


def notes(survey: Survey) -> list[str]:
    """What a survey has to say, line by line: each column with its evidence, then what a person should look at."""
    told = [f"{column.heading}: {column.role}. {column.evidence}" for column in survey.columns if column.evidence]
    return [*told, *(f"look at: {doubt}" for doubt in survey.doubts)]


@transaction.atomic
def keep_check(
    author: Author, source: Source, mapping: Mapping, examination: Examination, progress: Progress
) -> IntakeCheck:
    """Keep the verdicts of a dry run, row by row where a check had something to say. Raises Cancelled."""
    forget()
    made = IntakeCheck.objects.create(
        file_name=source.name,
        file_sha256=source.sha256,
        mapping=mappings.write(mapping),
        counts=examination.counts(),
        checked_by_id=author.user_id,
    )
    made.refresh_from_db()
    statement = "COPY intake_check_row (of_id, line, verdict, reasons, details, cells) FROM STDIN"
    with connection.cursor() as cursor, cursor.copy(statement) as copy:
        for number, row in enumerate(examination.rows(source, least=0)):
            copy.write_row((made.pk, row.line, row.verdict, row.reasons, row.details, Jsonb(row.cells)))
            if number % 10_000 == 0:
                progress(number, None, "keeping verdicts")
    return made


def forget() -> None:
    """Drop the dry runs that are old, or that many newer ones follow."""
    _drop(IntakeCheck, _stale(IntakeCheck.objects.order_by("-pk").values_list("pk", "checked_at")))
    merges = IntakeMerge.objects.filter(state="checked").order_by("-pk")
    _drop(IntakeMerge, _stale(merges.values_list("pk", "made_at")))


def _stale(newest_first: Iterable[tuple[int, datetime]]) -> list[int]:
    """The keys of those to drop; one more is about to come."""
    oldest = timezone.now() - KEPT_FOR
    return [pk for place, (pk, made) in enumerate(newest_first) if place >= NEWEST - 1 or made < oldest]


def _drop(model: type[models.Model], keys: Sequence[int]) -> None:
    """Delete dry runs with their rows, without reading the rows."""
    if not keys:
        return
    for relation in model._meta.related_objects:
        rows: QuerySet[Any] = relation.related_model._base_manager.filter(**{f"{relation.field.name}__in": keys})
        rows._raw_delete(rows.db)
    model._base_manager.filter(pk__in=keys)._raw_delete("default")


def checks() -> QuerySet[IntakeCheck]:
    """All dry runs that are kept, the newest first."""
    return IntakeCheck.objects.select_related("checked_by")


def check(uid: uuid.UUID) -> IntakeCheck:
    """One dry run. Raises Missing."""
    found = checks().filter(uid=uid).first()
    if found is None:
        raise Missing(f"there is no check {uid}, or it was dropped for newer ones")
    return found


def rows(of: IntakeCheck, verdict: str = "", reason: str = "") -> QuerySet[IntakeCheckRow]:
    """The rows of a dry run of which a check had something to say, in the order of the file."""
    found = IntakeCheckRow.objects.filter(of=of).order_by("pk")
    if verdict:
        found = found.filter(verdict=verdict)
    return found.filter(reasons__contains=[reason]) if reason else found


def columns(of: IntakeCheck) -> list[str]:
    """The columns of the file in the order of its mapping, then those that it left out."""
    first = IntakeCheckRow.objects.filter(of=of).order_by("pk").first()
    return queries.in_order(of.mapping, first.cells if first else {})
