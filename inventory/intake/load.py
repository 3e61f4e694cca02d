"""One load of a foreign inventory, all or nothing: verdicts first, then COPY, one event, one row that tells of it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from django.db import connection
from psycopg.types.json import Jsonb

from inventory import calendar, events
from inventory.history import Author
from inventory.intake import against, rows, taxa
from inventory.intake.checks import BY_NAME
from inventory.intake.convert import convert
from inventory.intake.examine import Examination, examine
from inventory.intake.facts import Facts
from inventory.intake.mapping import Mapping, write
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source
from inventory.models import IntakeLoad, IntakeSurvey
from inventory.problems import Conflict, Invalid

# Any number that nothing else in this database locks: one load at a time.
LOAD_LOCK = 7_316_002
Refused = Literal["skip", "stop"]


@dataclass(frozen=True)
class Outcome:
    """A load, and whether it was there before: the same file under the same mapping changes nothing."""

    load: IntakeLoad
    already: bool


def judge(source: Source, mapping: Mapping, progress: Progress = silent) -> Examination:
    """The verdict of every row against this inventory. Raises Invalid or Conflict; writes nothing."""
    table = convert(source, mapping, progress)
    facts = Facts(table, taxa.from_database(), calendar.today())
    against.require_metric_fit(facts)
    against.require_day(mapping, facts)
    facts.same, facts.other = against.compare(facts)
    return examine(facts, progress)


def load(
    author: Author,
    source: Source,
    mapping: Mapping,
    *,
    refused: Refused = "skip",
    notes: Sequence[str] | None = None,
    progress: Progress = silent,
) -> Outcome:
    """Bring the accepted rows of a file into the inventory; keep the others with their reasons and cells.

    `notes`: what a survey said of the file, kept with the load (None: what the last survey of this content said).

    `refused="stop"` loads nothing where any row is refused. Raises Invalid where the file or a row is wrong,
    Conflict where the file is loaded already under another mapping, Cancelled.
    """
    with author.acting(f"intake of {source.name}"), connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOAD_LOCK])
        before = _before(source, mapping)
        if before:
            return Outcome(before, already=True)
        examination = judge(source, mapping, progress)
        _require_rows(examination, refused)
        made = record(author, source, mapping, examination.counts(), notes)
        measured_on = mapping.measured_on or examination.facts.today
        rows.write(made, examination, measured_on, progress)
        keep_verdicts(made, examination, source, progress)
        events.record(author, "intake.loaded", "intake_load", made.uid, data={"counts": made.counts})
    return Outcome(made, already=False)


def _before(source: Source, mapping: Mapping) -> IntakeLoad | None:
    """The load of this very file that is in force. Raises Conflict where its mapping was another one."""
    found = IntakeLoad.objects.filter(file_sha256=source.sha256, state="loaded").first()
    if found and found.mapping != write(mapping):
        raise Conflict(
            f"this file was loaded on {found.loaded_at:%Y-%m-%d} under another mapping (load {found.uid}): "
            "undo that load first"
        )
    return found


def _require_rows(examination: Examination, refused: Refused) -> None:
    counts = examination.counts()
    if not counts["rows"]:
        raise Invalid.field("#/file", "the file has a heading and no rows")
    reasons = Counter({r: n for r, n in counts["reasons"].items() if BY_NAME[r].severity == "refuse"})
    told = "; ".join(f"{BY_NAME[reason].title.lower()}: {number:,}" for reason, number in reasons.most_common(3))
    if counts["refused"] == counts["rows"]:
        raise Invalid.field("#/file", f"every row is refused ({told}): is the mapping right? Nothing was loaded")
    if refused == "stop" and counts["refused"]:
        raise Invalid.field("#/file", f"{counts['refused']:,} rows are refused ({told}). Nothing was loaded")


def record(
    author: Author, source: Source, mapping: Mapping, counts: dict[str, Any], notes: Sequence[str] | None
) -> IntakeLoad:
    """Write the row that tells of a load."""
    if notes is None:
        surveyed = IntakeSurvey.objects.filter(file_sha256=source.sha256).first()
        notes = surveyed.notes if surveyed else []
    made = IntakeLoad.objects.create(
        file_name=source.name,
        file_sha256=source.sha256,
        mapping=write(mapping),
        counts=counts,
        notes=list(notes),
        loaded_by_id=author.user_id,
    )
    made.refresh_from_db()
    return made


def keep_verdicts(made: IntakeLoad, examination: Examination, source: Source, progress: Progress) -> None:
    """Keep each row that was warned of or refused, with its reasons and cells."""
    total = int((examination.verdicts > 0).sum())
    if not total:
        return
    with connection.cursor() as cursor:
        statement = "COPY intake_verdict (load_id, line, verdict, reasons, details, cells) FROM STDIN"
        with cursor.copy(statement) as copy:
            for number, row in enumerate(examination.rows(source)):
                copy.write_row((made.pk, row.line, row.verdict, row.reasons, row.details, Jsonb(row.cells)))
                if number % 10_000 == 0:
                    progress(number, total, "keeping verdicts")
