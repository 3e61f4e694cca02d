"""A merge: as a dry run that changes nothing of the inventory, or written in one transaction that can be undone."""

from typing import Any

from django.db import connection, transaction

from inventory import calendar, events
from inventory.history import Author
from inventory.intake import against, taxa, trial
from inventory.intake.convert import convert
from inventory.intake.examine import Examination, examine
from inventory.intake.facts import Facts
from inventory.intake.load import LOAD_LOCK, keep_verdicts, record
from inventory.intake.mapping import Mapping
from inventory.intake.mapping import write as as_toml
from inventory.intake.merge import listing, notices, plan, write
from inventory.intake.merge.choices import DEFAULT, Choices
from inventory.intake.merge.plan import Plan
from inventory.intake.progress import Progress, silent
from inventory.intake.read import Source
from inventory.models import IntakeMerge
from inventory.problems import Invalid


def planned(
    source: Source,
    mapping: Mapping,
    choices: Choices = DEFAULT,
    *,
    anyway: bool = False,
    progress: Progress = silent,
) -> Plan:
    """Judge a file and compare it with the inventory; write nothing. `anyway`: even if hardly anything matches.

    Raises Invalid where the file is wrong, empty or no file of this city, Conflict without a species catalogue.
    """
    examination = _judged(source, mapping, progress)
    if not len(examination.verdicts):
        raise Invalid.field("#/file", "the file has a heading and no rows")
    day = (mapping.measured_on or examination.facts.today).toordinal()
    return plan.make(examination, choices, day, anyway, progress)


def _judged(source: Source, mapping: Mapping, progress: Progress) -> Examination:
    """The verdicts of the rows by themselves: what stands here already is the merge's to say."""
    facts = Facts(convert(source, mapping, progress), taxa.from_database(), calendar.today())
    against.require_metric_fit(facts)
    against.require_day(mapping, facts)
    return examine(facts, progress)


def check(
    author: Author,
    source: Source,
    mapping: Mapping,
    choices: Choices = DEFAULT,
    *,
    anyway: bool = False,
    progress: Progress = silent,
) -> IntakeMerge:
    """A dry run: keep what was found, row by row, beside the inventory. Raises Invalid, Conflict, Cancelled."""
    found = planned(source, mapping, choices, anyway=anyway, progress=progress)
    with transaction.atomic():
        trial.forget()
        made = _record(author, source, mapping, choices, found)
        listing.keep(made, found, progress)
    return made


def merge(
    author: Author,
    source: Source,
    mapping: Mapping,
    choices: Choices = DEFAULT,
    *,
    anyway: bool = False,
    progress: Progress = silent,
) -> IntakeMerge:
    """Write what the choices take, all or nothing. Raises Invalid, Conflict, Cancelled.

    What the merge brings in hangs on a load of its own; `undo` of that load puts everything back.
    """
    with author.acting(f"merge of {source.name}") as act, connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOAD_LOCK])
        found = planned(source, mapping, choices, anyway=anyway, progress=progress)
        load = record(author, source, mapping, _load_counts(found), None)
        made = _record(author, source, mapping, choices, found, state="merged", load=load, act=act)
        write.write(found, load, mapping.measured_on or found.both.facts.today, progress)
        listing.keep(made, found, progress)
        keep_verdicts(load, found.examination, source, progress)
        news = {"counts": made.counts, "merge": str(made.uid)}
        events.record(author, "intake.merged", "intake_load", load.uid, data=news)
    return made


def _record(
    author: Author, source: Source, mapping: Mapping, choices: Choices, found: Plan, **more: Any
) -> IntakeMerge:
    made = IntakeMerge.objects.create(
        file_name=source.name,
        file_sha256=source.sha256,
        mapping=as_toml(mapping),
        choices=choices.as_dict(),
        counts=plan.counts(found),
        notices=[notice.as_dict() for notice in notices.notices(found, mapping)],
        made_by_id=author.user_id,
        **more,
    )
    made.refresh_from_db()
    return made


def _load_counts(found: Plan) -> dict[str, Any]:
    """The counts of a load, of what the merge brings in; and those of the merge."""
    counts = found.examination.counts()
    rows = found.of_kind("appeared")
    rows = rows[found.rows_taken[rows]]
    vacant = int(found.both.facts.is_state("vacant")[rows].sum())
    merged = plan.counts(found)
    return counts | {
        "same": merged["kinds"]["same"],
        "trees": len(rows) - vacant,
        "vacant_sites": vacant,
        "merge": merged,
    }
